"""The panel of a gear that can't be bought: tell the broken one, choose from the ranking, see it in mesh."""

from __future__ import annotations

from html import escape

import ipywidgets as widgets

from mechlib.bench.other_teeth import OtherTeeth
from mechlib.bench.substitute import NO, Substitute, Substitutes, substitutes
from mechlib.bench.substitute_form import (
    ASKED,
    BLANK,
    EXAMPLES,
    GROUPS,
    case_of,
    filled,
    mark_of,
    ring_of,
)
from mechlib.bench.substitute_pair import TURN, pair_in_mesh
from mechlib.draw import LivePicture, before_after
from mechlib.draw import substitute as scene
from mechlib.errors import MechError
from mechlib.gears.materials import CAUTION
from mechlib.panels.base import Panel, Picture, Told, drop_down, framed, spoken
from mechlib.panels.exercise import settled, typed
from mechlib.panels.gear_to_make import MakeBox
from mechlib.panels.stock import StockBox
from mechlib.ranges import Choice

OWN = "a gear of your own: empty boxes"
MOST_ROWS = 40  # of the ranking shown
MATE = "mate"
_WRAP = {"flex_flow": "row wrap"}


class SubstituteBox(Told):
    """The form, the stock list, the ranking to copy, and what is to be said of the row chosen.

    ``controls`` holds the boxes of the form by name, ``stock`` the box of the list, ``found`` the ranking
    (None where there is none), ``row_list`` the list to choose from, ``pair`` the picture's panel and
    ``make`` the box that saves (None where there is neither).  The text form is the finding.
    """

    def __init__(self, form: dict[str, str], example: str, path: str):
        super().__init__("")
        self.found: Substitutes | None = None
        self.pair: Panel | None = None
        self.make: MakeBox | None = None
        self._finding = self._marked = ""
        self.to_measure = widgets.HTML(layout={"width": "auto", "max_width": "62ch"})
        self.controls = {key: self._box(key) for key in ASKED}
        self._fill(form)
        self.example = drop_down(
            "start from", (OWN, *EXAMPLES), value=example or OWN, layout={"width": "min(100%, 34em)"}
        )
        self.example.observe(self._started, "value")
        self.look_button = widgets.Button(description="Look for a substitute")
        self.look_button.layout = {"width": "auto", "align_self": "flex-start"}
        self.look_button.on_click(settled(self.look))
        self.stock = StockBox(path)
        self.ranking = widgets.HTML(layout={"width": "auto"})
        self.row_list = widgets.Dropdown(
            options=(), description="show", tooltip="gear to show", layout={"width": "min(100%, 46em)"}
        )
        self.row_list.observe(self._picked, "value")
        self.judgement, self.place = widgets.HTML(layout={"width": "auto"}), widgets.VBox()
        self.children = (
            self.example, self._form(), self.stock, self.look_button, self.words, self.ranking,
            self.row_list, self.judgement, self.place,
        )  # fmt: skip
        self.look()
        self.stock.changed = self.look

    def _box(self, key: str) -> widgets.Widget:
        asked = ASKED[key]
        if asked.options:
            box = drop_down(asked.title, asked.options)
        else:
            box = typed(asked.label, asked.unit, settled(self.look))
        longest = max(len(one.title) for one in ASKED.values() if one.group == asked.group)
        box.style.description_width = f"{longest}ch"
        box.layout = {"width": f"{longest + 24}ch", "max_width": "100%"}
        return box

    def _form(self) -> widgets.Widget:
        groups = []
        for group in GROUPS:
            boxes = [box for key, box in self.controls.items() if ASKED[key].group == group]
            groups.append(widgets.VBox([widgets.HTML(f"<strong>{escape(group)}</strong>"), *boxes]))
        columns = (
            widgets.VBox([*groups[0:3:2], groups[5]]),
            widgets.VBox([groups[1], *groups[3:5], self.to_measure]),
        )
        return widgets.HBox(columns, layout={**_WRAP, "grid_gap": "0 2em"})

    def _fill(self, form: dict[str, str]) -> None:
        for key, text in form.items():
            self.controls[key].value = text

    def _started(self, change) -> None:
        with self.watched():
            self._fill(BLANK if change["new"] == OWN else filled(change["new"]))
            self.look()

    @property
    def form(self) -> dict[str, str]:
        """What stands in the boxes."""
        return {key: box.value for key, box in self.controls.items()}

    def look(self) -> None:
        """Rank the gears of the list, and those to be made, for the form as it is filled in."""
        with self.watched():
            wrong = self._look_at_the_mark()
            try:
                case = case_of(self.form)
                self.found = substitutes(case, self.stock.stock)
                unplaced = f" No place for its mark: {'; '.join(wrong)}." if wrong else ""
                self._finding = f"{case.sentence()} {self.found.tally()}{unplaced}"
            except MechError as refused:
                self.found = None
                self._finding = "; ".join(dict.fromkeys((*refused.problems, *wrong))) + "."
            self.say(self._finding)
            rows = self.found.rows[:MOST_ROWS] if self.found else ()
            text = self.found.text(MOST_ROWS) if rows else ""
            self.ranking.value = framed("gears, the best first", text, "max-height: 18em") if text else ""
            self.row_list.unobserve(self._picked, "value")
            self.row_list.options = [(_told(number, row), number) for number, row in enumerate(rows)]
            self.row_list.value = 0 if rows else None
            self.row_list.observe(self._picked, "value")
            self._show()

    def _look_at_the_mark(self) -> tuple[str, ...]:
        """Say what is to be measured for it, and where it goes; return what is wrong."""
        self._marked = self.to_measure.value = ""
        try:
            if ring := ring_of(self.form):
                self.to_measure.value = spoken(ring.sentence())
                mark = mark_of(self.form)
                self._marked = f" {mark.sentence()}" if mark else ""
        except MechError as refused:
            return refused.problems
        return ()

    def _picked(self, _) -> None:
        with self.watched():
            self._show()

    @property
    def row(self) -> Substitute | None:
        """The gear that is shown."""
        return (
            self.found.rows[self.row_list.value] if self.found and self.row_list.value is not None else None
        )

    def _show(self) -> None:
        row = self.row
        self.pair = self.make = None
        if row is None:
            self.text, self.place.children = f"{self._finding}{self._marked}", ()
            self.judgement.value = spoken(self._marked.strip()) if self._marked else ""
            return
        judged = row.sentence() + (self._marked if row.verdict != NO else "")
        judged += f" {CAUTION}" if row.verdict != NO and CAUTION not in judged else ""
        self.text, self.judgement.value = f"{self._finding} {judged}", spoken(judged)
        shown = []
        if row.judged and row.judged.meshes:
            self.pair = _pair_panel(row)
            shown.append(self.pair)
        if chart := _chart(row):
            shown.append(chart)
        if times := _times(row):
            shown.append(times)
        if row.stock is None and row.verdict != NO:
            self.make = self._make_box(row)
            shown.append(self.make)
        self.place.children = tuple(shown)

    def _make_box(self, row: Substitute) -> MakeBox:
        offer = row.judged.offer
        title = f"Substitute of {row.teeth} teeth"
        name, timed = f"gear_{row.teeth}_teeth", self.found.given.work.timed
        return MakeBox(row.gear, offer.bore_mm, offer.width_mm, offer.made_of, title, name, timed)

    def _repr_mimebundle_(self, **kwargs) -> dict:
        """Return the picture too, for a notebook read where no kernel runs."""
        picture = self.pair._repr_mimebundle_(**kwargs) if self.pair else {}
        return {**picture, **super()._repr_mimebundle_(**kwargs)}


def _told(number: int, row: Substitute) -> str:
    return f"{number + 1}. {row.name}, {row.teeth} teeth, {row.size}: {row.verdict}"


def _pair_panel(row: Substitute) -> Panel:
    names = tuple(dict.fromkeys(found.mate.name for found in row.judged.meshes))
    controls = {MATE: Choice("in mesh with", names, names[0]), "turn_deg": TURN}
    start = {MATE: names[0], "turn_deg": TURN.default}
    picture = LivePicture(lambda **v: pair_in_mesh(row, **v), scene, start, scene.SIZE_PX)
    return Panel(picture, controls, name="substitute")


def _machines(row: Substitute) -> OtherTeeth | None:
    """The machine before and after, where the count is another."""
    machines = row.judged.effects.machine if row.judged else None
    return None if machines is None or machines.exact else machines


def _times(row: Substitute) -> widgets.HTML | None:
    """How long every mode change takes, before and after."""
    machines = _machines(row)
    label = "every mode change in seconds, before and after"
    return widgets.HTML(framed(label, machines.text(), "max-height: 12em", "pre")) if machines else None


def _chart(row: Substitute) -> Picture | None:
    """The chart before and after, where another count draws it anew."""
    machines = _machines(row)
    if machines is None or not machines.timed:
        return None
    size = before_after.size_px(machines)
    picture = LivePicture(lambda: machines, before_after, {}, size)
    width, height = map(str, size)
    image = Picture(format="png", width=width, height=height, layout={"max_width": "100%", "height": "auto"})
    image.value, image.tooltip = picture.frame(2), picture.sentence
    return image


def find_substitute(example: str = "", stock: str = "", **typed_in: str) -> SubstituteBox:
    """Return the panel that looks for a substitute.

    ``example``: one of ``bench.substitute_form.EXAMPLES``, "" for empty boxes; ``stock``: the path of your
    own list, "" for the invented spares bin; ``typed_in``: what stands in a box at first, by the names of
    ``bench.substitute_form.ASKED``.  Raises MechError for another example or name.

    >>> find_substitute("wheel of a take-up reel").found.best.name
    'drawer 5 box 4'
    """
    return SubstituteBox(filled(example, **typed_in), example, str(stock))
