"""The invented class is made of real exercises and real slips, and is the same each time."""

from test_teaching_pages import NOTEBOOKS

from mechlib.teaching.invented_class import GUESSES, READERS, invented_class
from mechlib.teaching.pages import page_of, pages
from mechlib.teaching.records import Guess
from mechlib.teaching.slipped_tooth import SLIPPED_TOOTH
from mechlib.teaching.trains import TRAINS


def test_it_is_the_same_each_time_and_has_everything_to_show():
    table = invented_class(pages(NOTEBOOKS))
    assert table == invented_class(pages(NOTEBOOKS))
    assert [done.reader for done in table.readers] == list(READERS)
    assert table.who_rows() and table.slip_rows() and table.stop_rows() and not table.troubles
    assert {task.page[:2] for task in table.tasks} == {"01", "02"}
    assert {task.name for task in table.tasks if task.kind == "guess"} == {asked for asked, _, _ in GUESSES}
    known = {exercise.title: {slip.name for slip in exercise.slips} for exercise in SLIPPED_TOOTH + TRAINS}
    assert all({slip for slip, _ in task.slips} <= known[task.name] for task in table.tasks if task.slips)


def test_each_guess_is_asked_for_on_a_page():
    among = pages(NOTEBOOKS)
    assert all(page_of(Guess("", "", question, 1.0), among) for question, _, _ in GUESSES)


def test_how_far_each_got_is_what_was_laid_down():
    table = invented_class(pages(NOTEBOOKS))
    for reader, (reached, _, guessed) in READERS.items():
        own = [task for task in table.tasks if task.reader == reader and task.kind == "exercise"]
        guesses = [task for task in table.tasks if task.reader == reader and task.kind == "guess"]
        assert (len(own), len(guesses)) == (reached, guessed)
        assert [task.outcome for task in own] == ["right"] * (reached - 1) + ["not yet right"]
