"""The exercises by page are those that the pages show, in their order."""

from test_every_exercise import LESSONS, SHOWN, code_of, sets_of

from mechlib.teaching.by_page import EXERCISES


def test_they_are_what_each_page_shows():
    shown = {}
    for page in LESSONS:
        sets = {name: exercises for name, (_, exercises) in sets_of(page.file).items()}
        places = SHOWN.findall("\n".join(code_of(page.file)))
        shown[page.number] = tuple(sets[name][int(place)] for name, place in places)
    assert shown == EXERCISES
