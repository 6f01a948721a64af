"""The mark of a new gear, beside every tooth tried, and what the rest that is left over does."""

import pytest

from mechlib.bench.mark_place import mark_place
from mechlib.errors import MechError
from mechlib.transports import load
from mechlib.transports.change_table import change_table
from mechlib.transports.faults import split_gear

ALDER = load("alder")


@pytest.mark.parametrize(("mark", "first"), [(91.7, 1.2), (0.0, 2.0), (359.0, 4.9), (180.0, 2.6), (2.5, 0.1)])
def test_the_mark_goes_to_the_nearest_tooth(mark, first):
    found = mark_place(ALDER, "mode switch", mark, first)
    teeth = [(first + 5 * at) % 360 for at in range(72)]  # where every tooth of the new gear stands
    gaps = [(mark - angle + 180) % 360 - 180 for angle in teeth]
    nearest = min(range(72), key=lambda at: abs(gaps[at]))
    assert found.tooth == nearest + 1
    assert found.off_part_deg == pytest.approx(gaps[nearest])
    assert found.off_cam_deg == pytest.approx(gaps[nearest] / (80 / 72))  # 80 teeth drive 72
    assert abs(found.off_part_deg) <= 2.5 + 1e-9


def test_a_mark_between_two_teeth_can_cost_mode_changes():
    found = mark_place(ALDER, "mode switch", 92.4, 0.0)
    turned = ALDER.with_faults(split_gear("mode switch", found.off_cam_deg))
    bad = [pair for pair, cell in change_table(turned).items() if not cell.change.good]
    assert sorted(found.failing) == sorted(bad)
    assert found.off_part_deg == pytest.approx(2.4) and "ahead" in found.sentence()
    behind = mark_place(ALDER, "mode switch", 92.6, 0.0)
    assert behind.tooth == found.tooth + 1 and "behind" in behind.sentence()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: mark_place(ALDER, "no such", 0, 0), "no timed part"),
        (lambda: mark_place(ALDER, "idler cam", 0, 0), "is a sector"),
        (lambda: mark_place(ALDER, "mode switch", 361, 0), "mark_deg"),
        (lambda: mark_place(ALDER, "mode switch", 10, 5.1), "first_tooth_deg"),
    ],
)
def test_what_cannot_be_is_refused(call, words):
    with pytest.raises(MechError, match=words):
        call()
