"""The live picture: drawn once, then only what moves is drawn again.

A *scene* is a module or object with two functions::

    create(figure, result, **limits) -> artists      draws everything; artists.moving lists what moves
    update(artists, result)                          sets the moving artists to that result

``update`` adds and removes no artist and leaves nothing behind from the result before; what is not in
``moving`` doesn't depend on the result.  Axis limits come from ``limits``, never from a result.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Callable
from pathlib import Path
from types import MappingProxyType
from typing import Any, Protocol

import numpy as np
from isal import isal_zlib
from matplotlib.artist import Artist
from matplotlib.collections import Collection
from matplotlib.figure import Figure

from mechlib.draw.style import figure, look
from mechlib.errors import MechError

_ON_TOP = 1000  # added to the z-order of what moves: drawn over the background on screen, so in a file too
_NO_DATE = {".png": {}, ".svg": {"Date": None}, ".pdf": {"CreationDate": None}}
_TOLD = {".png": "Description", ".svg": "Description", ".pdf": "Subject"}


class Scene(Protocol):
    """What a picture needs to know about the thing that it shows; see the top of this module."""

    def create(self, figure: Figure, result: Any, **limits) -> Any: ...

    def update(self, artists: Any, result: Any) -> None: ...


def _compose(scene: Scene, result, size_px, limits, scale: int):
    """Return a figure with the scene on it and its artists; call it, and draw the figure, within look()."""
    made = figure(*size_px, scale=scale)
    artists = scene.create(made, result, **limits)
    for artist in artists.moving:
        artist.set_zorder(artist.get_zorder() + _ON_TOP)
    scene.update(artists, result)
    return made, artists


class _Sheet:
    """One canvas at one scale: the background as pixels, and the artists that move over it."""

    def __init__(self, scene: Scene, result, size_px, limits, scale: int):
        with look():
            self.figure, self.artists = _compose(scene, result, size_px, limits, scale)
            self.moving = _in_drawing_order(self.figure, self.artists.moving)
            for artist in self.moving:
                artist.set_animated(True)  # leaves it out of the full draw
            self.figure.canvas.draw()
        self.background = self.figure.canvas.copy_from_bbox(self.figure.bbox)
        self.scene = scene

    def frame(self, result) -> bytes:
        """Show ``result`` and return it as PNG; what an error leaves behind, the next result replaces."""
        self.scene.update(self.artists, result)
        canvas = self.figure.canvas
        canvas.restore_region(self.background)
        renderer = canvas.get_renderer()
        for artist in self.moving:
            if not _empty(artist):
                artist.draw(renderer)
        return png(np.asarray(canvas.buffer_rgba()))


def _empty(artist: Artist) -> bool:
    """Whether it is a collection with nothing in it: matplotlib takes as long to find that out as to draw."""
    return isinstance(artist, Collection) and not len(artist.get_paths())


def _in_drawing_order(made: Figure, moving) -> list[Artist]:
    """Sort artists as a full draw would: axes by axes, the figure's own last, each by z-order."""
    axes = {each: at for at, each in enumerate(sorted(made.axes, key=lambda one: one.get_zorder()))}
    return sorted(moving, key=lambda one: (axes.get(one.axes, len(axes)), one.get_zorder()))


def png(pixels: np.ndarray) -> bytes:
    """Encode red-green-blue-alpha pixels (height, width, 4; uint8) as a PNG file, without loss and fast.

    Source: W3C, "Portable Network Graphics (PNG) Specification", third edition: 5.3 chunk layout, 11.2.1
    IHDR, 9.2 filter type 0.  An image library tries five filters a row and packs with zlib; without the
    filters, and packed by ISA-L, the picture takes a tenth of the time, which decides how smoothly a slider
    runs, and is hardly larger.

    >>> png(np.zeros((2, 3, 4), np.uint8))[12:24]
    b'IHDR\\x00\\x00\\x00\\x03\\x00\\x00\\x00\\x02'
    """
    height, width, _ = pixels.shape
    rows = np.zeros((height, 1 + 4 * width), np.uint8)  # each row begins with its filter type, 0
    rows[:, 1:] = pixels.reshape(height, 4 * width)
    header = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", isal_zlib.compress(rows, 1)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", isal_zlib.crc32(kind + data))
        for kind, data in chunks
    )


class LivePicture:
    """A picture that follows values: computes, draws what has moved, and returns the picture as a PNG file.

    ``compute(**values)`` returns a result with ``sentence()``; ``scene`` draws it (see the top of this
    module); ``values`` are the first ones; ``size_px`` is width and height in page pixels, 100 to 4000;
    ``limits`` go to the scene's ``create``.  Raises MechError if the first values can't be computed.

    ``set`` is all or nothing: values that ``compute`` refuses leave the picture as it was.

    >>> from types import SimpleNamespace as Bag
    >>> from mechlib.errors import check_number
    >>> def screw(turns):
    ...     height = 2 * check_number("turns", turns, 0, 5)
    ...     return Bag(height=height, sentence=lambda: f"The nut stands {height:g} mm up.")
    >>> def create(figure, result):
    ...     return Bag(moving=figure.add_subplot(ylim=(0, 10)).plot([0], [0], "o"))
    >>> def update(artists, result):
    ...     artists.moving[0].set_ydata([result.height])
    >>> picture = LivePicture(screw, Bag(create=create, update=update), {"turns": 1}, (300, 200))
    >>> frame = picture.set(turns=3)
    >>> picture.sentence
    'The nut stands 6 mm up.'
    >>> picture.set(turns=9) == frame, picture.sentence, dict(picture.values)
    (True, 'turns is 9: it must be from 0 to 5', {'turns': 3})
    """

    def __init__(self, compute: Callable, scene: Scene, values: dict, size_px=(980, 700), limits=None):
        self.compute, self.scene = compute, scene
        self.size_px, self.limits = tuple(size_px), dict(limits or {})
        self._values = dict(values)
        self._result = compute(**self._values)
        self._sentence = self._result.sentence()
        self._sheets = {1: self._sheet(1)}
        self._frame = self._sheets[1].frame(self._result)

    @property
    def sentence(self) -> str:
        """The finding in words; after values that can't be, the reason."""
        return self._sentence

    @property
    def values(self):
        """The values that the picture shows, read-only."""
        return MappingProxyType(self._values)

    @property
    def result(self):
        """The result that the picture shows."""
        return self._result

    @property
    def figure(self) -> Figure:
        """The figure behind the picture, to look at; change it through ``set`` only."""
        return self._sheets[1].figure

    @property
    def moving(self) -> tuple[Artist, ...]:
        """The artists that are drawn anew each time, in the order of drawing."""
        return tuple(self._sheets[1].moving)

    def set(self, **values) -> bytes:
        """Show new values (those not named stay) and return the picture as PNG.

        Where they can't be, the picture before is returned and ``sentence`` gives the reason; any other
        error is raised, and the picture is as it was.
        """
        wanted = {**self._values, **values}
        try:
            result = self.compute(**wanted)
            sentence = result.sentence()
            frame = self._sheets[1].frame(result)
        except MechError as refused:
            self._sentence = str(refused)
            return self._frame
        self._values, self._result, self._sentence, self._frame = wanted, result, sentence, frame
        return frame

    def frame(self, scale: int = 1) -> bytes:
        """Return the picture as PNG; ``scale`` 2 to 4 is drawn sharp, with as many times the pixels each way.

        Each scale has a canvas of its own, made when first asked for, so that one never disturbs another.
        """
        if scale == 1:
            return self._frame
        if scale not in self._sheets:
            self._sheets[scale] = self._sheet(scale)
        return self._sheets[scale].frame(self._result)

    def save(self, path, scale: int = 2) -> Path:
        """Write the picture to ``path`` and return it; the suffix decides: .png, .svg or .pdf.

        The sentence goes along as the file's description.  The same picture gives the same bytes.  ``scale``
        (1 to 4) counts for .png.  Raises MechError for another suffix, OSError if it can't be written.
        """
        path = Path(path)
        kind = path.suffix.lower()
        if kind not in _NO_DATE:
            raise MechError(f"the file name {path.name!r}", "it must end in .png, .svg or .pdf")
        told = {_TOLD[kind]: self._result.sentence(), **_NO_DATE[kind]}
        page = io.BytesIO()
        with look():
            made, _ = _compose(self.scene, self._result, self.size_px, self.limits, scale)
            made.savefig(page, format=kind[1:], metadata=told)
        path.write_bytes(page.getvalue())
        return path

    def _sheet(self, scale: int) -> _Sheet:
        return _Sheet(self.scene, self._result, self.size_px, self.limits, scale)
