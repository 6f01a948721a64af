"""The exercise engine: seeded numbers, answers told apart, what can't be judged sent back."""

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mechlib.errors import MechError
from mechlib.teaching import Exercise, Number, OneOf, Slip
from mechlib.teaching.solenoid import SOLENOID
from mechlib.teaching.substitute import SUBSTITUTE

SEEDS = range(200)


def sum_of(**changes) -> Exercise:
    made = Exercise(
        "Sum",
        "{a} and {b} mm, end to end?",
        {"a": range(1, 9), "b": range(1, 9)},
        (Number("Length", "mm", 0.05, 0, 100),),
        lambda n: n.a + n.b + 0.12,
        (Slip("taken away", lambda n: abs(n.a - n.b), "you took one from the other."),),
    )
    return dataclasses.replace(made, **changes)


def test_the_same_seed_draws_the_same_and_what_is_drawn_is_frozen():
    assert sum_of().draw(5) == sum_of().draw(5)
    assert len({sum_of().draw(seed).question for seed in SEEDS}) > 40
    with pytest.raises(dataclasses.FrozenInstanceError):
        sum_of().draw(5).right = (1,)
    with pytest.raises(TypeError):
        sum_of().draw(5).numbers["a"] = 1
    for seed in (-1, 1.5, "1", None, True, 10**10):
        with pytest.raises(MechError, match="seed"):
            sum_of().draw(seed)


def test_answers_that_coincide_are_drawn_again_and_given_up_at_last():
    same = Slip("times", lambda n: n.a * n.b + 0.05, "you multiplied.")
    seen = {tuple(sum_of(slips=(same,)).draw(seed).numbers.values()) for seed in range(2000)}
    assert (2, 2) not in seen and (2, 3) in seen  # 2 + 2 = 2 · 2, within what is taken for equal
    twins = (same, dataclasses.replace(same, name="product", feedback="that is the product."))
    for slips in (twins, (Slip("none", lambda n: n.a + n.b + 0.2, "…"),)):
        with pytest.raises(MechError, match="1000 draws"):
            sum_of(slips=slips).draw(1)


def test_two_slips_of_which_the_same_is_said_need_no_telling_apart():
    times = Slip("times", lambda n: n.a * n.b, "you multiplied.")
    drawn = sum_of(slips=(times, dataclasses.replace(times, name="product"))).draw(1)
    assert drawn.check(str(drawn.slips[1].answers[0])).words == "you multiplied."
    far = Slip("far", lambda n: 83.4, "too far."), Slip("as far", lambda n: 83.42, "too far.")
    assert sum_of(slips=far).draw(1).check("83.48").words == "too far."  # near both, to a thousandth
    right = Slip("none", lambda n: n.a + n.b + 0.12, "")  # nothing said: yet never the right answer
    with pytest.raises(MechError, match="1000 draws"):
        sum_of(slips=(right,)).draw(1)


def test_in_a_sum_of_what_is_told_nothing_is_rounded_but_to_whole_numbers():
    told = Number("Stop angle", "°", 0.06, -100, 500, exact=True)
    turn = dataclasses.replace(sum_of(), fields=(told,), right=lambda n: 235.3, slips=()).draw(1)
    found = {text: turn.check(text).kind for text in ("235.3", "235", "235.5", "235.1", "235.6", "235.7")}
    assert found == {
        "235.3": "right", "235": "rounding", "235.7": "unrecognised",
        **dict.fromkeys(("235.5", "235.1", "235.6"), "slip in adding"),
    }  # fmt: skip
    words = "Not yet: that is the way, with a small slip in adding; go over the sum."
    assert turn.check("235.5").sentence() == words
    loose = dataclasses.replace(told, exact=False)
    rounded = dataclasses.replace(sum_of(), fields=(loose,), right=lambda n: 235.3, slips=()).draw(1)
    assert rounded.check("235.5").kind == "rounding"


def test_beside_a_sum_a_root_may_be_rounded_and_a_wrong_side_is_no_slip_in_adding():
    fields = (dataclasses.replace(sum_of().fields[0], label="Sum", exact=True), sum_of().fields[0])
    two = dataclasses.replace(sum_of(), fields=fields, right=lambda n: (20.4, 14.17), slips=()).draw(1)
    assert [two.check(typed).kind for typed in (["20.4", "14"], ["20.5", "14.17"], ["20.5", "14"])] == [
        "rounding", "slip in adding", "slip in adding"
    ]  # fmt: skip
    assert two.check(["20.5", "14"]).words.startswith("Sum: that is the way, with a small slip")
    assert two.check(["20.5", "9"]).kind == "unrecognised"
    side = dataclasses.replace(sum_of(), fields=(fields[0], OneOf("Side", ("a", "b"))), slips=())
    sided = dataclasses.replace(side, right=lambda n: (20.4, "a")).draw(1)
    assert [sided.check(["20.5", side]).kind for side in "ab"] == ["slip in adding", "unrecognised"]


def test_an_answer_between_two_roundings_is_drawn_again():
    half = sum_of(right=lambda n: n.a / 20, slips=())  # 0.05, 0.15, … to one decimal: a must be even
    assert {half.draw(seed).numbers["a"] for seed in SEEDS} == {2, 4, 6, 8}
    coarse = sum_of(right=lambda n: -n.a / 2, slips=(), fields=(Number("Length", "mm", 0.6, -100, 100),))
    assert {coarse.draw(seed).numbers["a"] for seed in SEEDS} == {2, 4, 6, 8}
    two = sum_of(right=lambda n: n.a / 20, slips=(), fields=(Number("Length", "mm", 0.012, 0, 100),))
    assert {two.draw(seed).numbers["a"] for seed in SEEDS} == set(range(1, 9))
    counted = sum_of(right=lambda n: n.a, slips=(), fields=(Number("Teeth", "", 0, 0, 100, whole=True),))
    assert {counted.draw(seed).numbers["a"] for seed in SEEDS} == set(range(1, 9))
    with pytest.raises(MechError, match="between two roundings"):
        sum_of(right=lambda n: n.a + 0.05, slips=()).draw(1)


@pytest.mark.parametrize("answer", [math.nan, math.inf, -1, 101, "3", None])
def test_an_exercise_whose_own_answer_makes_no_sense_is_refused(answer):
    bad = (
        sum_of(right=lambda n: answer)
        if answer is not None
        else sum_of(fields=(OneOf("which", ("yes", "no")),), right=lambda n: "perhaps", slips=())
    )
    with pytest.raises(MechError, match="computed answer"):
        bad.draw(1)


def test_choices_that_coincide_are_seen_too():
    which = sum_of(fields=(OneOf("which", ("yes", "no")),), right=lambda n: "yes")
    with pytest.raises(MechError, match="1000 draws"):
        dataclasses.replace(which, slips=(Slip("same", lambda n: "yes", "…"),)).draw(1)
    drawn = dataclasses.replace(which, slips=(Slip("other", lambda n: "no", "think again."),)).draw(1)
    assert [drawn.check(word).kind for word in ("yes", "no", "", "perhaps")] == [
        "right",
        "other",
        "empty",
        "no such choice",
    ]


def test_rounding_is_told_from_a_slip():
    drawn = sum_of().draw(1)
    right = drawn.right[0]
    assert [drawn.check(f"{right + by:.2f}").kind for by in (0, 0.05, -0.05)] == ["right"] * 3
    assert [drawn.check(f"{right + by:.2f}").kind for by in (-0.12, 0.2, -0.2)] == ["rounding"] * 3
    assert drawn.check(f"{right + 0.6:.2f}").kind == "unrecognised"
    coarse = sum_of(right=lambda n: n.a + n.b + 0.42).draw(1)
    assert coarse.check(f"{coarse.right[0] - 0.42:.0f}").kind == "rounding"
    assert coarse.check(f"{coarse.right[0] + 0.58:.0f}").kind == "unrecognised"  # rounded the wrong way
    teeth = (Number("Teeth", "teeth", 0, 0, 100, whole=True),)
    whole = sum_of(fields=teeth, right=lambda n: n.a + n.b).draw(1)
    assert whole.check(f"{whole.right[0]:.0f} teeth").right
    assert whole.check(f"{whole.right[0] + 0.2:.1f}").kind == "not whole"
    with pytest.raises(MechError, match="2 answers"):
        drawn.check(["1", "2"])


def test_rounding_is_never_said_of_a_nought_nor_of_what_is_more_than_a_tenth_off():
    small = (Number("Ratio", "", 0.00006, -400, 400),)
    for right, rounded, other in (
        (0.0518, ("0.05", "0.052"), ("0", "0.0", "0.1", "0.06", "0.04", "-0.05")),
        (0.497, ("0.5", "0.50"), ("0", "1", "0.4")),
        (2 / 9, ("0.2", "0.22"), ("0", "0.3", "1")),
        (-0.4, (), ("0", "-0.5", "0.4")),
        (0.0, (), ("0.0002", "0.1")),
    ):
        drawn = sum_of(fields=small, right=lambda n, right=right: right, slips=()).draw(1)
        found = [[drawn.check(text).kind for text in texts] for texts in (rounded, other)]
        assert found == [["rounding"] * len(rounded), ["unrecognised"] * len(other)], right


def ratio(right: float, *slips: float):
    """An exercise with these answers, drawn; its slips are called 0, 1 ..."""
    named = tuple(Slip(str(at), lambda n, slip=slip: slip, f"as {at}.") for at, slip in enumerate(slips))
    fields = (Number("Ratio", "", 0.00006, -400, 400),)
    return sum_of(fields=fields, right=lambda n: right, slips=named).draw(1)


def test_a_slip_is_known_from_three_figures_on():
    upside_down = ratio(0.05176, 19.32026)
    for typed in ("19.3203", "19.320", "19.32", "19.3", "19.33"):
        assert upside_down.check(typed).kind == "0", typed
    for typed in ("19", "19.4", "19.35", "-19.32"):
        assert upside_down.check(typed).kind == "unrecognised", typed
    assert ratio(1, 104.49).check("104").kind == "0"  # three figures, and more than a thousandth off


def test_a_rounded_slip_is_not_guessed_at_where_another_answer_is_as_near():
    two = ratio(5, 19.32, 19.33)
    assert [two.check(typed).kind for typed in ("19.32", "19.33", "19.325", "19.3")] == [
        "0",
        "1",
        "unrecognised",
        "unrecognised",
    ]
    assert ratio(300.2, 300.4).check("300.3").kind == "unrecognised"  # a thousandth from both
    assert ratio(0.05176, 0.05211).check("0.052").kind == "rounding"
    teeth = (Number("Teeth", "teeth", 0, 0, 9000, whole=True),)
    whole = sum_of(fields=teeth, right=lambda n: 5, slips=(Slip("many", lambda n: 4000, "…"),)).draw(1)
    assert whole.check("4000").kind == "many" and whole.check("4001").kind == "unrecognised"


def speed(right: float, slip: float) -> Exercise:
    return sum_of(
        fields=(Number("Speed", "rev/min", 0.006, -4900, 4900), OneOf("sense", ("on", "back"))),
        right=lambda n: (right, "on"),
        slips=(Slip("too much", lambda n: (slip, None), "you added."),),
    )


def test_a_mark_between_thousands_is_told_where_the_number_without_it_would_be_known():
    drawn = speed(1680, -2345).draw(1)
    for typed, figures in {
        "1,680": "1680",
        "1.680": "1680",
        "1.680 rev/min": "1680",
        "−2,345": "−2345",  # a slip, with its mark
    }.items():
        said = f"“{typed}” reads as a decimal; write thousands without a sign between: {figures}."
        assert drawn.check([typed, "on"]).words == said
        assert drawn.check([typed, "on"]).kind == "thousands"
    assert "thousands without a sign between: 1680." in drawn.check(["1 680", "on"]).words
    assert "thousands without a sign between: 1680." in drawn.check(["1'680", "on"]).words
    for other in ("1,681", "1.68", "1.6800", "0.168", "9.999"):
        assert drawn.check([other, "on"]).kind == "unrecognised", other
    assert drawn.check(["1,680", "back"]).kind == "unrecognised"
    assert drawn.check(["1,680 N", "on"]).kind == "wrong unit" and drawn.check(["1680", "on"]).right


def test_three_decimals_mean_what_they_did_where_the_decimal_is_right_or_a_slip():
    assert speed(1.68, 1680).draw(1).check(["1.680", "on"]).right
    assert speed(1680, 1.68).draw(1).check(["1,680", "on"]).kind == "too much"


def test_what_the_label_says_of_a_unit_may_be_written():
    def judged(label, unit, typed):
        box = (Number(label, unit, 0.05, 0, 999),)
        return sum_of(fields=box, right=lambda n: 173.4, slips=()).draw(1).check(typed)

    right = [("Rise", "°C", "173.4 K"), ("Rise", "°C", "173,4 ° C"), ("In modules", "", "173.4 modules")]
    right += [("Winding", "°C", f"173.4 {written}") for written in ("°", "degrees", "deg", "°C", "Celsius")]
    assert all(judged(*each).right for each in right)
    wrong = [("Winding", "°C", "173.4 K"), ("Rise", "mm", "173.4 K"), ("In modules", "mm", "173.4 modules")]
    wrong += [("Angle", "°", "173.4 °C"), ("Speed", "rev/min", "173.4°")]
    wrong += [("In modules", "", "173.4 mm"), ("Ratio", "", "173.4 modules"), ("Rise", "°C", "173.4 modules")]
    assert all(judged(*each).kind == "wrong unit" for each in wrong)


def test_just_the_rise_of_the_lessons_counts_in_kelvins_and_just_one_plain_number_in_modules():
    boxes = [box for each in (*SOLENOID, *SUBSTITUTE) for box in each.fields if isinstance(box, Number)]
    assert [box.label for box in boxes if not box.read("21 K").kind] == ["Rise"]
    assert [box.label for box in boxes if not box.read("0.1 modules").kind] == ["In modules"]


def test_a_minus_where_only_a_size_is_asked_for_is_named():
    size = sum_of()
    assert size.draw(1).check("−3,2 mm").words.endswith("expected is 0 to 100 mm, without a minus sign.")
    assert size.draw(1).check("101 mm").words.endswith("expected is 0 to 100 mm.")
    signed = sum_of(fields=(Number("Length", "mm", 0.05, -10, 100),))
    assert signed.draw(1).check("−11").words.endswith("expected is −10 to 100 mm.")


@given(st.one_of(st.text(), st.floats(), st.integers(), st.none()))
def test_no_answer_makes_check_raise(answer):
    feedback = sum_of().draw(1).check(answer)
    assert feedback.sentence().startswith("Right." if feedback.right else "Not yet: ")
    assert feedback.right == (feedback.kind == "right")
