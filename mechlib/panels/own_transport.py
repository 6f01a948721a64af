"""The form in which a technician enters a machine: pages of boxes, what is wrong beside each, the file."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from pathlib import Path

import ipywidgets as widgets

from mechlib.bench.own_asked import Page, Section
from mechlib.bench.own_draft import Draft, values_from
from mechlib.bench.own_form import PAGES
from mechlib.bench.own_values import names_in, value_at
from mechlib.bench.own_words import in_words
from mechlib.errors import MechError
from mechlib.panels.base import Told, framed, headed
from mechlib.panels.own_fields import box_for
from mechlib.panels.own_files import Files
from mechlib.say import listing
from mechlib.transports.model import Transport

UNITS = {"teeth of the main gear": "teeth", "degrees (°)": "deg", "turns of the hand shaft": "turns"}
_INITIAL, _AUTO = {"description_width": "initial"}, {"width": "auto"}


class Rows:
    """The boxes of one table, with what not everybody needs behind a button."""

    def __init__(self, page: PageBox, section: Section, row: int | None):
        self.page, self.section, self.row = page, section, row
        self.boxes = {}
        self.head, self.note = widgets.HTML(), widgets.HTML()
        self.more_button = widgets.Button(
            description="More…", tooltip="What not everybody needs", layout=_AUTO
        )
        self.more_button.on_click(lambda _: self.open(not self.opened))
        self.remove_button = widgets.Button(description=f"Remove this {section.one}", layout=_AUTO)
        self.remove_button.on_click(lambda _: page.remove(self))
        self.opened = False
        self.plain, self.hidden = widgets.VBox(), widgets.VBox()
        buttons = [self.more_button] if any(field.more for field in section.fields) else []
        buttons += [self.remove_button] if section.one else []
        children = [
            self.head,
            self.note,
            self.plain,
            self.hidden,
            *([widgets.HBox(buttons)] if buttons else []),
        ]
        self.widget = widgets.VBox(children)
        if section.one:
            self.widget.layout = {"border": "1px solid #8C8C8C", "padding": "0.3em", "margin": "0.3em 0"}
        self._fill(self.plain, more=False)

    def _fill(self, place: widgets.VBox, more: bool) -> None:
        form = self.page.form
        for field in self.section.fields:
            if field.more == more:
                unit = form.unit
                self.boxes[field.key] = box_for(form.draft, self.section, self.row, field, form.changed, unit)
        place.children = [self.boxes[field.key].widget for field in self.section.fields if field.more == more]

    def open(self, opened: bool) -> None:
        """Show what not everybody needs, or hide it; it is made when it is first asked for."""
        if opened and not self.hidden.children:
            self._fill(self.hidden, more=True)
        self.opened = opened
        self.hidden.layout.display = None if opened else "none"
        self.more_button.description = "Less" if opened else "More…"
        self.show()

    def show(self) -> None:
        """Bring every box in line with the draft."""
        form = self.page.form
        names, remarks = names_in(form.draft.values), form.draft.checked.remarks
        here = [r for r in remarks if (r.table, r.row) == (self.section.table, self.row)]
        hidden = {field.key for field in self.section.fields if field.more}
        if not self.opened and any(r.key in hidden for r in here):
            self.open(True)
            return
        for key, box in self.boxes.items():
            box.row = self.row
            box.show(names)
            box.say([r for r in here if r.key == key])
        own = [f"{'○' if r.open else '✗'} {r.words}" for r in here if r.key not in self.boxes]
        self.note.value = f"<strong>{escape(' / '.join(own))}</strong>" if own else ""
        if self.section.one:
            table = form.draft.tables(self.section)[self.row]
            title = f"{self.section.one} {self.row + 1}: {table.get('name') or 'no name yet'}"
            self.head.value = f"<strong>{escape(title)}</strong>"


class PageBox(Told):
    """One page of the form; its text form is what is filled in on it, line by line."""

    def __init__(self, form: OwnTransport, page: Page):
        super().__init__("")
        self.form, self.page = form, page
        self.rows: dict[str, list[Rows]] = {section.table: [] for section in page.sections}
        self.lists = {section.table: widgets.VBox() for section in page.sections}
        self.add_buttons = {}
        children = []
        for section in page.sections:
            children += [headed(section.title, section.words)]
            children += [self.lists[section.table]]
            if section.one:
                add = widgets.Button(description=f"Add a{'n' * (section.one[0] in 'aeiou')} {section.one}")
                add.layout = {"width": "auto", "align_self": "flex-start"}
                add.on_click(self._adder(section))
                self.add_buttons[section.table] = add
                children += [add]
        self.children = (*children, self.words)
        self.show()

    def _adder(self, section: Section) -> Callable:
        def add(_) -> None:
            self.form.draft.add(section)
            self.form.changed()
            if (boxes := self.rows[section.table][-1].boxes) and (first := next(iter(boxes.values()))):
                first.entry.focus()

        return add

    def remove(self, rows: Rows) -> None:
        """Take a table out; one that is out already, pressed a second time, changes nothing."""
        with self.form.watched():
            if rows not in self.rows[rows.section.table]:
                return
            self.form.draft.remove(rows.section, rows.row)
            self.rows[rows.section.table].remove(rows)
            self.form.changed()

    def show(self) -> None:
        """Bring the page in line with the draft."""
        for section in self.page.sections:
            rows, wanted = self.rows[section.table], len(self.form.draft.tables(section))
            del rows[wanted:]
            while len(rows) < wanted:
                rows.append(Rows(self, section, len(rows) if section.one else None))
            if section.one:
                for number, one in enumerate(rows):
                    one.row = number
            if (children := tuple(one.widget for one in rows)) != self.lists[section.table].children:
                self.lists[section.table].children = children
            for one in rows:
                one.show()
        self.text = self._filled_in()
        self.say(self.form.on_page(self.page))

    def _filled_in(self) -> str:
        values = self.form.draft.values
        names, lines = names_in(values), []
        for section in self.page.sections:
            for number, table in enumerate(self.form.draft.tables(section), 1):
                told = (
                    (field.label, in_words(value_at(table, field), field, names)) for field in section.fields
                )
                head = f"{section.one} {number}" if section.one else section.title
                lines += [head, *([f"  {label}: {words}" for label, words in told if words] or ["  empty"])]
        return "\n".join(lines) or f"{self.page.name}: none"


class OwnTransport(Told):
    """The form: a button for each page, the page, what is wrong, and a row that saves the file.

    ``draft`` holds what is filled in.  ``page(name)`` is one page by itself, to be shown elsewhere as well;
    ``transport()`` is the machine, once nothing is wrong.
    """

    def __init__(self, draft: Draft):
        super().__init__("")
        self.draft = draft
        self.pages: dict[str, PageBox] = {}
        self.units = widgets.Dropdown(
            options=list(UNITS), description="angles without a unit are", style=_INITIAL, layout=_AUTO
        )
        self.page_buttons = {page.name: widgets.Button(layout=_AUTO) for page in PAGES}
        for name, button in self.page_buttons.items():
            button.on_click(lambda _, name=name: self.turn_to(name))
        self.place, self.remarks = widgets.VBox(), widgets.HTML(layout={"width": "auto"})
        self.files = Files(self)
        undo = widgets.Button(description="Undo", tooltip="Take the last change back")
        undo.on_click(lambda _: self._undo())
        self.undo_button = undo
        wrapped = {"flex_flow": "row wrap"}
        self.children = (
            *self.files.above,
            widgets.HBox([self.units, undo], layout=wrapped),
            widgets.HBox(list(self.page_buttons.values()), layout=wrapped),
            self.place,
            self.words,
            self.remarks,
            *self.files.below,
        )
        self.shown = PAGES[0].name
        self.turn_to(self.shown)
        self.changed()

    def unit(self) -> str:
        """The unit of an angle that is typed without one."""
        return UNITS[self.units.value]

    def page(self, name: str) -> PageBox:
        """Return one page by its name; MechError if there is none of that name."""
        known = {page.name: page for page in PAGES}
        if name not in known:
            raise MechError(f"there is no page {name!r}", f"the pages are {', '.join(known)}")
        if name not in self.pages:
            self.pages[name] = PageBox(self, known[name])
        return self.pages[name]

    def turn_to(self, name: str) -> None:
        """Show another page."""
        with self.watched():
            self.shown = name
            self.place.children = (self.page(name),)
            self._mark()

    def enter(self, where: str, label: str, typed: str) -> None:
        """Fill in a box from a cell, as ``Draft.enter`` does."""
        self.draft.enter(where, label, typed, self.unit())
        self.changed()

    def told(self) -> str:
        """All that is missing or wrong, a line each, below a sentence."""
        return self.draft.checked.text()

    def transport(self) -> Transport:
        """Return the machine as it is filled in; MechError with all that is missing or wrong."""
        return self.draft.transport()

    def on_page(self, page: Page) -> str:
        """What is to be said below a page, of this page and of where else something is wrong."""
        checked = self.draft.checked
        found = checked.on(page.name)
        wrong = sum(not remark.open for remark in found)
        blank = len(found) - wrong
        told = [f"✗ {wrong} wrong"] * bool(wrong) + [f"○ {blank} to fill in"] * bool(blank)
        here = f"Page {page.name}: {', '.join(told) if told else '✓ nothing missing, nothing wrong'}."
        places = dict.fromkeys(remark.page or "what it doesn't ask for" for remark in checked.mistakes)
        places.pop(page.name, None)
        return here + (f" Elsewhere in the form: ✗ {listing(places)}." if places else "")

    def changed(self) -> None:
        """Bring everything in line with the draft."""
        with self.watched():
            for page in self.pages.values():
                page.show()
            self.text = self.draft.checked.sentence()
            self.say(self.text)
            lines = self.told().splitlines()[1:]
            self.remarks.value = (
                framed("what is missing or wrong", "\n".join(lines), "max-height: 11em") if lines else ""
            )
            self._mark()
            self.files.show()

    def _mark(self) -> None:
        for name, button in self.page_buttons.items():
            found = self.draft.checked.on(name)
            mark = "" if not found else " ✗" if any(not remark.open for remark in found) else " ○"
            button.description = ("▸ " if name == self.shown else "") + name + mark
            button.button_style = "info" if name == self.shown else ""

    def _undo(self) -> None:
        if self.draft.undo():
            self.changed()
        else:
            self.say("There is nothing to take back.")


def own_transport(source: str | Path = "dogwood") -> OwnTransport:
    """Return the form, filled in from a shipped transport, from a file of your own, or empty.

    ``source``: the name of a shipped transport, the path of a file, or ``own_draft.EMPTY``.  A file with
    mistakes is read as well: they are told at their boxes.  Raises MechError for a file that can't be read.

    >>> own_transport("dogwood").text[:40]
    'Dogwood is right: 2 timed parts, 2 follo'
    """
    return OwnTransport(Draft(values_from(source), source))
