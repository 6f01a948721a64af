"""Sliders over a live picture, and the box that tells itself in words."""

from __future__ import annotations

import asyncio
import base64
import io
import math
import re
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from html import escape
from itertools import count
from pathlib import Path

import ipywidgets as widgets
from PIL import Image
from traitlets import Unicode

from mechlib.draw.live import LivePicture
from mechlib.errors import MechError
from mechlib.panels.slider_names import name_sliders
from mechlib.ranges import Choice, Range

_NAME = re.compile(r"^\w+(?= is )|[A-Za-z]+(?:_[A-Za-z]+)+")  # of a parameter: no words look so
PROSE = "prose"  # a way to break lines, see ``framed``
REST_S = 0.07  # hands off for so long: time for the sharp picture, which takes about 0.05 s more
DRAG_S = 0.3  # changes closer together come from one drag; where the page is slow, it takes longer to rest
PATIENCE = 1.5  # times as long as between the last two of them


class Told(widgets.VBox):
    """A box of widgets whose text form is plain words, and which keeps an unexpected error in ``error``.

    ``text`` is what stands for the box where no widgets are shown: in a notebook read without a kernel,
    and where a test compares outputs.  ``words`` is a line that a screen reader reads out when it changes.

    >>> box = Told("How many teeth are out?")
    >>> box
    How many teeth are out?
    >>> with box.watched():
    ...     1 / 0
    >>> box.error
    ZeroDivisionError('division by zero')
    """

    def __init__(self, text: str, children=()):
        self.text = text
        self.error: Exception | None = None
        self.words = widgets.HTML()
        super().__init__(children)

    def say(self, text: str) -> None:
        """Show ``text`` in the line of words."""
        self.words.value = spoken(text)

    @contextmanager
    def watched(self) -> Iterator[None]:
        """Run a block; an error in it is shown and kept in ``error``, since a notebook would only log it."""
        try:
            yield
        except Exception as error:
            self.error = error
            self.say(f"This panel has a fault of its own ({type(error).__name__}: {error}).")

    def _ipython_display_(self) -> None:
        """Name its sliders for those who can't see them, and leave the showing to what shows any box."""
        if _has_slider(self):
            name_sliders()
        raise NotImplementedError

    def __repr__(self) -> str:
        return self.text

    def _repr_mimebundle_(self, **kwargs) -> dict:
        return {**super()._repr_mimebundle_(**kwargs), "text/plain": self.text}


class Panel(Told):
    """Sliders and lists over a live picture, its finding in a sentence below, and a way to save it.

    ``picture`` is the live picture; ``controls`` gives the Range or Choice of each value that can be moved,
    in the order shown; they start at the picture's values.  ``name`` is offered as the file name for saving.
    While a slider moves the picture is drawn at page pixels, once it rests sharp for screens with twice as
    many.  Raises MechError if a control has no value in the picture or the value is outside its range.

    ``panel.controls`` holds the widgets by name, ``panel.ranges`` what was given,
    ``panel.error`` an unexpected error (None if all is well).

    >>> from types import SimpleNamespace as Bag
    >>> scene = Bag(
    ...     create=lambda figure, result: Bag(moving=figure.add_subplot(ylim=(0, 10)).plot([0], [0], "o")),
    ...     update=lambda artists, result: artists.moving[0].set_ydata([result.up]),
    ... )
    >>> def screw(turns):
    ...     return Bag(up=2 * turns, sentence=lambda: f"The nut stands {2 * turns} mm up.")
    >>> picture = LivePicture(screw, scene, {"turns": 1}, (300, 200))
    >>> panel = Panel(picture, {"turns": Range("turns of the screw", 0, 5, 1, 1)})
    >>> panel.controls["turns"].value = 3
    >>> panel
    The nut stands 6 mm up.
    """

    def __init__(self, picture: LivePicture, controls: dict[str, Range | Choice], name: str = "picture"):
        super().__init__(picture.sentence)
        self.picture, self.ranges = picture, controls
        self._labels = {name: control.label for name, control in controls.items()}
        self.controls = _widgets(controls, picture.values)
        for control in self.controls.values():
            control.observe(self._changed, "value")
        width, height = picture.size_px
        self.image = Picture(
            format="png", width=str(width), height=str(height), layout={"max_width": "100%", "height": "auto"}
        )
        self.file_name, self.save_button, self.note, row = _save_row(name)
        self.save_button.on_click(self._save)
        self._resting: asyncio.TimerHandle | None = None
        self._shown_s = -math.inf
        self._show(picture.frame())
        self.children = (*self.controls.values(), self.image, self.words, row)

    def say(self, text: str) -> None:
        """Show ``text`` below the picture; it is the picture's description and the panel's text form too."""
        super().say(text)
        self.text = self.image.tooltip = text

    def _changed(self, _) -> None:
        with self.watched():
            self._show(self.picture.set(**{name: each.value for name, each in self.controls.items()}))

    def _show(self, frame: bytes) -> None:
        with self.image.hold_sync():  # one message, or the page would decode the picture twice
            self.image.value = frame
            self.say(by_label(self.picture.sentence, self._labels))
        apart_s, self._shown_s = time.monotonic() - self._shown_s, time.monotonic()
        if self._resting:
            self._resting.cancel()
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # a plain script: nobody is looking
            return
        self._resting = loop.call_later(_rest_s(apart_s), self._sharpen)

    def _sharpen(self) -> None:
        with self.watched():
            self.image.value = self.picture.frame(scale=2)

    def _save(self, _) -> None:
        with self.watched():
            try:
                saved = self.picture.save(unused(Path(self.file_name.value.strip())))
                self.note.value = spoken(f"Saved as {saved}.")
            except (MechError, OSError) as refused:
                self.note.value = spoken(f"Not saved: {refused}.")

    def _repr_mimebundle_(self, **kwargs) -> dict:
        """Return the picture too, for a notebook read where no kernel runs."""
        return {**super()._repr_mimebundle_(**kwargs), "image/png": _stored(self.picture.frame())}


class ListedPanel(Panel):
    """A panel with text below its picture, of fixed height, to select and copy: what ``listed`` gives."""

    label = ""  # what the text is, for those who can't see it
    height = "9em"
    font = "inherit"
    wrap = "pre-wrap"  # as in ``framed``

    def __init__(self, picture: LivePicture, controls: dict[str, Range | Choice], name: str = "picture"):
        self._text = widgets.HTML(layout={"width": "auto"})
        super().__init__(picture, controls, name)
        *above, row = self.children
        self.children = (*above, self._text, row)

    @property
    def listed(self) -> str:
        """The text as it stands, line by line; each such panel has its own."""
        return self.text

    def _show(self, frame: bytes) -> None:
        super()._show(frame)
        wrap = "pre" if self.font == "monospace" and self.wrap != PROSE else self.wrap
        self._text.value = framed(self.label, self.listed, f"height: {self.height}", wrap, self.font)


class Picture(widgets.Image):
    """An image whose ``tooltip`` is its description for those who can't see it.

    The image widget has no alternative text; the page takes its tooltip instead, as the standard has it (W3C,
    "Accessible Name and Description Computation 1.2", 2I), but fails on it unless the widget has a
    ``description``, empty.
    """

    description = Unicode("").tag(sync=True)


def by_label(text, labels: Mapping[str, str]) -> str:
    """Return what is said with the labels of controls in place of the names that a MechError has for them.

    ``text``: words or an error; ``labels``: by name.  What else is said stays as it is.

    >>> by_label("arm_mm is 3 mm: it must be less than rod_mm", {"arm_mm": "length of the arm"})
    '“length of the arm” is 3 mm: it must be less than rod_mm'
    """
    return _NAME.sub(lambda found: f"“{labels[found[0]]}”" if found[0] in labels else found[0], str(text))


def spoken(text: str) -> str:
    """Return the HTML of a line that is read out when it changes; the text can't hold mark-up.

    >>> spoken("lift < 2 mm")
    '<div role="status" aria-live="polite">lift &lt; 2 mm</div>'
    """
    return f'<div role="status" aria-live="polite">{escape(text)}</div>'


def line(text: str) -> widgets.HTML:
    """A line of words that stay as they are; the text can't hold mark-up."""
    return widgets.HTML(f"<div>{escape(text)}</div>")


def headed(title: str, words: str = "") -> widgets.HTML:
    """A heading, and words below it."""
    below = f"<div>{escape(words)}</div>" if words else ""
    return widgets.HTML(f'<h3 style="margin: 0.4em 0 0.2em">{escape(title)}</h3>{below}')


def framed(
    label: str, text: str, size: str = "max-height: 14em", wrap: str = "pre-wrap", font: str = "monospace"
) -> str:
    """Text to select and copy, in a frame that scrolls; ``label`` is what it is, for those who can't see it.

    ``size`` and ``font`` are of CSS; ``wrap``: "pre" for tables, whose lines aren't broken, ``PROSE`` for
    sentences and tables one after the other: the lines that have columns aren't broken.

    >>> framed("rows", "a < b")[-14:]
    'a &lt; b</pre>'
    """
    told = escape(text)
    if wrap == PROSE:
        broken = '<span style="white-space: pre-wrap">{}</span>'
        lines = (one if "  " in one.strip() else broken.format(one) for one in told.splitlines())
        wrap, told = "pre", "\n".join(lines)
    return (
        f'<pre tabindex="0" role="region" aria-label="{escape(label)}" style="{size}; overflow: auto; '
        f"font-family: {font}; white-space: {wrap}; word-break: normal; overflow-wrap: anywhere; "
        f'line-height: 1.4; margin: 0; padding: 0.4em; border: 1px solid #8C8C8C">{told}</pre>'
    )


def drop_down(label: str, options=(), **look) -> widgets.Dropdown:
    """A list to choose from, with its label."""
    return widgets.Dropdown(options=tuple(options), description=label, tooltip=label, **look)


def offer(control: widgets.Dropdown, options, chosen=None) -> None:
    """Offer other things in a list: words, or pairs of words and what they stand for.

    ``chosen``, or else what was chosen before, is chosen if it is among them, else the first.

    >>> where = drop_down("where", ("here", "there"), value="there")
    >>> offer(where, ("nowhere", "there"))
    >>> where.value
    'there'
    """
    options = tuple(options)
    values = [each[1] if isinstance(each, tuple) else each for each in options]
    wanted = control.value if chosen is None else chosen
    if control.options != options:
        control.options = options
    found = wanted if wanted in values else next(iter(values), None)
    if control.value != found:
        control.value = found


class Working(widgets.IntProgress):
    """A bar that shows how far a computation is, hidden before and after."""

    def __init__(self, words: str):
        super().__init__(min=0, max=100, description=words, layout={"display": "none"})
        self.style.description_width = "initial"

    def told(self, part: float) -> None:
        """Show the part that is done, 0 to 1."""
        percent = int(100 * part)
        if percent >= self.value + 2 or percent < self.value:  # not a message for each machine
            self.layout.display = None
            self.value = percent

    def hide(self) -> None:
        """Hide it again."""
        self.layout.display = "none"


def _rest_s(apart_s: float) -> float:
    """How long hands must be off for a sharp picture, from the time between the last two changes.

    >>> _rest_s(0.02) == _rest_s(5) == REST_S, _rest_s(0.2)
    (True, 0.3)
    """
    return max(REST_S, round(PATIENCE * apart_s, 3)) if apart_s < DRAG_S else REST_S


def _has_slider(widget: widgets.Widget) -> bool:
    """Whether a box holds a slider, however deep."""
    sliders = (widgets.IntSlider, widgets.FloatSlider)
    return isinstance(widget, sliders) or any(map(_has_slider, getattr(widget, "children", ())))


def _widgets(controls: dict[str, Range | Choice], values) -> dict[str, widgets.Widget]:
    """Return one widget for each control, labels in one column wide enough for the longest."""
    column = f"{max((len(control.title) for control in controls.values()), default=0) + 1}ch"
    made = {}
    for name, control in controls.items():
        if name not in values:
            raise MechError(f"the control {name!r}", f"the picture has only {', '.join(values)}")
        shared = {
            "value": control.check(name, values[name]),
            "description": control.title,
            "tooltip": control.title,  # without one the page shows "null" over the label
            "style": {"description_width": column},
            "layout": {"width": "min(100%, 52em)"},
        }
        if isinstance(control, Choice):
            made[name] = widgets.Dropdown(options=control.options, **shared)
            continue
        slider = widgets.IntSlider if control.whole else widgets.FloatSlider
        form = "d" if control.whole else f".{control.digits}f"
        ends = {"min": control.low, "max": control.high, "step": control.step}
        made[name] = slider(readout_format=form, **ends, **shared)
    return made


def _save_row(name: str):
    """Return the box for a file name, the button, the line for what came of it, and the row of all three."""
    file_name = widgets.Text(f"{name}.png", description="file name (.png, .svg, .pdf)")
    file_name.style.description_width = "initial"
    file_name.layout.width = "min(100%, 30em)"
    button = widgets.Button(description="Save picture")
    note = widgets.HTML()
    row = widgets.HBox([file_name, button, note], layout={"flex_flow": "row wrap"})
    return file_name, button, note, row


def unused(path: Path) -> Path:
    """Return the path, or the first of name-2, name-3… that doesn't exist: nothing is ever overwritten."""
    if not path.suffix or not path.exists():
        return path
    return next(other for at in count(2) if not (other := path.with_stem(f"{path.stem}-{at}")).exists())


def _stored(frame: bytes) -> str:
    """Return a frame packed tightly, in base64: it is kept in the notebook file."""
    tight = io.BytesIO()
    Image.open(io.BytesIO(frame)).convert("RGB").save(tight, "png", optimize=True)
    return base64.b64encode(tight.getvalue()).decode()
