"""The form's files: read in, saved, never overwritten unasked, and what isn't saved is told."""

from __future__ import annotations

import re
from html import unescape

import ipywidgets as widgets

from mechlib.bench.own_draft import EMPTY, values_from
from mechlib.panels.own_files import UNSAVED
from mechlib.panels.own_transport import own_transport
from mechlib.transports import load


def words(html: widgets.HTML) -> str:
    return unescape(re.sub(r"<[^>]*>", "", html.value))


def test_a_file_is_saved_read_and_never_overwritten_unasked(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    form = own_transport()
    files = form.files
    files.save_button.click()
    assert words(files.note) == f"Saved as my_machine.toml, in the folder {tmp_path.name}, beside this page."
    assert load("my_machine.toml") == load("dogwood")
    form.enter("part 2", "teeth", "many")
    files.save_button.click()
    assert words(files.note).endswith(" my_machine.toml holds Dogwood. my_machine-2.toml is free.")
    assert "is there already" in words(files.note)
    assert load("my_machine.toml") == load("dogwood")
    files.replace.value = True
    files.save_button.click()
    assert "with all that is missing or wrong" in words(files.note) and not files.replace.value
    assert values_from("my_machine.toml")["part"][1]["teeth"] == "many"
    files.name.value = "x.txt"
    files.save_button.click()
    assert "ends in .toml" in words(files.note)
    files.source.value = "birch"
    files.read_button.click()
    assert form.transport() == load("birch") and words(files.read_note).startswith("Read from birch.")
    files.source.value = "gone.toml"
    files.read_button.click()
    assert words(files.read_note).startswith("Not read: gone.toml") and form.transport() == load("birch")
    form.undo_button.click()
    assert form.draft.values["part"][1]["teeth"] == "many"
    files.source.value = EMPTY
    files.read_button.click()
    assert form.draft.values == values_from(EMPTY) and form.error is None


def test_what_is_not_saved_is_told(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    form = own_transport()
    assert words(form.files.note) == ""
    form.enter("The machine", "name", "Elm")
    assert words(form.files.note) == UNSAVED
    form.files.save_button.click()
    assert words(form.files.note).startswith("Saved as my_machine.toml")
    form.enter("The machine", "name", "Ash")
    assert words(form.files.note) == UNSAVED
    form.undo_button.click()
    assert words(form.files.note) == ""


def test_the_file_name_is_that_of_the_machine_in_the_form(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name in ("ash", "elm"):
        form = own_transport()
        form.enter("The machine", "name", name)
        form.draft.save(f"{name}.toml")
    form = own_transport("ash.toml")
    files = form.files
    assert files.name.value == "ash.toml"
    files.source.value = "elm.toml"
    files.read_button.click()
    assert files.name.value == "elm.toml"
    form.undo_button.click()
    assert files.name.value == "ash.toml"
    files.replace.value = True
    assert words(files.note) == "ash.toml holds ash. Saving puts this machine in its place."
    files.name.value = "elm.toml"
    assert not files.replace.value  # it was ticked for ash.toml
    files.save_button.click()
    assert "elm.toml holds elm." in words(files.note) and load("elm.toml").name == "elm"
    files.source.value = "birch"
    files.read_button.click()
    assert files.name.value == "my_machine.toml" and form.error is None


def test_file_names_that_cannot_be(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    form = own_transport()
    files = form.files
    for name, told in (
        ("n" * 300 + ".toml", "could not be written"),
        ("", "there is no file name: give one that ends in .toml, such as my.toml."),
        ("x.txt", "ends in .toml"),
    ):
        files.name.value = name
        for tick in (False, True):
            files.replace.value = tick
            files.save_button.click()
            said = words(files.note)
            assert said.startswith("Not saved: ") and told in said and "is free" not in said
    files.name.value = "n" * 250 + ".toml"  # there is no room for "-2"
    files.save_button.click()
    files.save_button.click()
    assert "is there already" in words(files.note) and "is free" not in words(files.note)
    files.name.value = "alder.toml"
    files.save_button.click()
    assert "“alder” without .toml still means the machine that comes with" in words(files.note)
    assert form.error is None


def test_the_text_of_the_file_follows():
    form = own_transport()
    assert form.files.as_text.value == ""
    form.files.show_button.click()
    assert words(form.files.as_text) == form.draft.text()
    form.enter("The machine", "name", "<Elm & Co>")
    assert words(form.files.as_text) == form.draft.text() and "<Elm" not in form.files.as_text.value
    form.files.show_button.click()
    assert form.files.as_text.value == ""
