"""The boxes of the form for a transport's file: one for each thing that is asked, with its note beside it."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import contextmanager
from html import escape

import ipywidgets as widgets

from mechlib.bench.own_asked import Field, Section
from mechlib.bench.own_draft import Draft
from mechlib.bench.own_typed import KINDS
from mechlib.bench.own_values import Names
from mechlib.bench.own_words import place_words, places
from mechlib.panels.base import offer

NOTHING = "—"
ANY = "doesn't matter"
LABEL, WIDE = "17em", "37.5em"
MOST_LINES = 14


class Box:
    """One field of one table: its widgets, and what is said beside them.

    ``row`` is the number of its table in the list (None where there is one table only), and moves up when a
    table before it is taken out.  ``changed`` is called after a value was put into the draft.
    """

    def __init__(
        self, draft: Draft, section: Section, row: int | None, field: Field, changed: Callable[[], None]
    ):
        self.draft, self.section, self.row, self.field = draft, section, row, field
        self.changed = changed
        self._quiet = False
        self.note = widgets.HTML(layout={"margin": "0 0 0 1em", "width": "auto"})
        self.entry = self.made()
        self.widget = widgets.HBox([self.entry, self.note], layout={"align_items": "flex-start"})
        self.entry.layout.flex = f"0 0 {WIDE}"
        self.note.layout.flex = "1 1 0"

    @property
    def value(self):
        """What stands in the draft."""
        return self.draft.value(self.section, self.row, self.field)

    def made(self) -> widgets.Widget:
        """Make the widget."""
        raise NotImplementedError

    def show(self, names: Names) -> None:
        """Bring the widget in line with the draft; ``names`` are those to choose from."""
        raise NotImplementedError

    def say(self, remarks) -> None:
        """Show what is wrong here, or else how to find the value."""
        words = [f"{'○' if remark.open else '✗'} {remark.words}" for remark in remarks]
        if not words:
            self.note.value = f'<span style="color: #595959">{escape(self.field.help)}</span>'
        else:
            self.note.value = f"<strong>{escape(' / '.join(words))}</strong>"

    def put(self, value) -> None:
        """Put a value into the draft, if it is another than there is."""
        if not self._quiet and value != self.value:
            self.draft.put(self.section, self.row, self.field, value)
            self.changed()

    @contextmanager
    def quietly(self):
        """What the block sets in widgets isn't taken for an entry."""
        before, self._quiet = self._quiet, True
        try:
            yield
        finally:
            self._quiet = before

    def look(self, **layout) -> dict:
        """The label and its look, for a widget."""
        label = self.field.label
        return {
            "description": label,
            "tooltip": f"{label}: {self.field.help}",
            "style": {"description_width": LABEL},
            "layout": {"width": WIDE, **layout},
        }


class Typed(Box):
    """A box to type in, of one line or of a line for each entry; it shows what was understood."""

    def __init__(self, *given, unit: Callable[[], str]):
        self.unit = unit
        super().__init__(*given)

    def made(self) -> widgets.Text | widgets.Textarea:
        if KINDS[self.field.kind].lines:
            made = widgets.Textarea(continuous_update=False, rows=2, **self.look(height="auto"))
        else:
            made = widgets.Text(continuous_update=False, **self.look())
        made.observe(self._typed, "value")
        return made

    def show(self, names: Names | None) -> None:
        text = KINDS[self.field.kind].show(self.value, self.field.unit)
        with self.quietly():
            if self.entry.value != text:
                self.entry.value = text
            if KINDS[self.field.kind].lines:
                self.entry.rows = min(max(2, text.count("\n") + 2), MOST_LINES)

    def _typed(self, change) -> None:
        if not self._quiet and change["new"] != KINDS[self.field.kind].show(self.value, self.field.unit):
            unit = self.field.unit if self.field.kind == "number" else self.unit()
            self.put(KINDS[self.field.kind].read(change["new"], unit).value)
            self.show(None)  # the same value, typed in another way


class Chosen(Box):
    """A list to choose one word from."""

    def made(self) -> widgets.Dropdown:
        made = widgets.Dropdown(options=[NOTHING], **self.look())
        made.observe(lambda change: self.put(None if change["new"] == NOTHING else change["new"]), "value")
        return made

    def show(self, names: Names) -> None:
        with self.quietly():
            _offer(
                self.entry,
                [NOTHING, *names.choices(self.field)],
                NOTHING if self.value is None else self.value,
            )


class Ticked(Box):
    """One box to tick."""

    def made(self) -> widgets.Checkbox:
        made = widgets.Checkbox(indent=True, **self.look())
        made.observe(lambda change: self.put(True if change["new"] else None), "value")
        return made

    def show(self, names: Names) -> None:
        with self.quietly():
            self.entry.value = self.value is True


class Several(Box):
    """A box that has a widget for each of some names: it is made anew when the names are others."""

    def made(self) -> widgets.VBox:
        self.parts: dict[str, widgets.Widget] = {}
        return widgets.VBox(layout={"width": WIDE, "overflow": "visible"})

    def label(self, text: str) -> dict:
        """The look of one of its widgets."""
        return self.look() | {"description": text, "tooltip": f"{self.field.label}: {text}"}

    def parts_for(self, wanted: list[str], make: Callable[[str], widgets.Widget]) -> None:
        """Have a widget for each name that is wanted."""
        if list(self.parts) != wanted:
            self.parts = {name: make(name) for name in wanted}
            head = widgets.HTML(
                f'<div style="width: {LABEL}; text-align: right">{escape(self.field.label)}:</div>'
            )
            self.entry.children = (head, *self.parts.values())


class Codes(Several):
    """A box to tick for each contact."""

    def show(self, names: Names) -> None:
        now = self.value if isinstance(self.value, list) else []
        with self.quietly():
            self.parts_for(
                list(dict.fromkeys([*names.contacts, *(c for c in now if isinstance(c, str))])), self._one
            )
            for name, box in self.parts.items():
                box.value = name in now

    def _one(self, name: str) -> widgets.Checkbox:
        box = widgets.Checkbox(indent=True, **self.label(f"contact {name}"))
        box.observe(lambda _: self.put([name for name, box in self.parts.items() if box.value]), "value")
        return box


class Needs(Several):
    """A list for each follower: where it must stand, or that it doesn't matter."""

    def show(self, names: Names) -> None:
        self.states = dict(names.followers)
        now = self.value if isinstance(self.value, dict) else {}
        with self.quietly():
            self.parts_for(list(dict.fromkeys([*self.states, *now])), self._one)
            for name, box in self.parts.items():
                states = self.states.get(name, ())
                words = place_words(now[name], states) if name in now else ANY
                _offer(box, [ANY, *places(states)], words)

    def _one(self, name: str) -> widgets.Dropdown:
        box = widgets.Dropdown(options=[ANY], **self.label(name))
        box.observe(lambda change: self._chosen(name, change["new"]), "value")
        return box

    def _chosen(self, name: str, words: str) -> None:
        if self._quiet:
            return
        needs = dict(self.value) if isinstance(self.value, dict) else {}
        known = places(self.states.get(name, ()))
        if words == ANY:
            needs.pop(name, None)
        elif words in known:
            needs[name] = known[words]
        self.put(needs or None)


class Need(Several):
    """Two lists: a follower, and where it stands."""

    WHO, WHERE = "follower", "stands"

    def show(self, names: Names) -> None:
        self.states = dict(names.followers)
        now = self.value if isinstance(self.value, dict) else {}
        who = next(iter(now), NOTHING)
        states = self.states.get(who, ())
        with self.quietly():
            self.parts_for([self.WHO, self.WHERE], self._one)
            _offer(self.parts[self.WHO], [NOTHING, *self.states], who)
            words = place_words(now[who], states) if now and now[who] != "" else NOTHING
            _offer(self.parts[self.WHERE], [NOTHING, *places(states)], words)

    def _one(self, name: str) -> widgets.Dropdown:
        box = widgets.Dropdown(options=[NOTHING], **self.label(name))
        box.observe(lambda _: self._chosen(name), "value")
        return box

    def _chosen(self, which: str) -> None:
        if self._quiet:
            return
        who, where = (self.parts[name].value for name in (self.WHO, self.WHERE))
        known = places(self.states.get(who, ()))
        if who == NOTHING:
            self.put(None)
        elif which == self.WHO or where in known:  # another follower has other places
            self.put({who: known.get(where, "") if which == self.WHERE else ""})


CHOSEN = {"choice": Chosen, "tick": Ticked, "codes": Codes, "needs": Needs, "need": Need}


def box_for(draft: Draft, section: Section, row: int | None, field: Field, changed, unit) -> Box:
    """Make the box of a field; ``unit`` gives that of an angle typed without one."""
    if field.kind in CHOSEN:
        return CHOSEN[field.kind](draft, section, row, field, changed)
    return Typed(draft, section, row, field, changed, unit=unit)


def _offer(box: widgets.Dropdown, options: list, value) -> None:
    """Offer these words, and choose one; a word that is none of them is offered, too, at the end."""
    offer(box, dict.fromkeys([*options, str(value)]), str(value))
