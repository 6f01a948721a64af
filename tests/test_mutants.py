"""The tests notice small faults in the mathematics: a share of sixty in each run, and what puts them in."""

import ast
import json
import os
import subprocess
import sys
from pathlib import Path

import mutants
import pytest
from share import times

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork a process")

SOURCE = '''
def shift(a: int, b=2):
    """Doc 5."""
    if not 0 < a <= b or a < 1e-9:
        raise ValueError(f"{a + 7} is too much")
    check_number("a", a, 3, 4)
    return max(a, -b) * 0.5 - len("x" + say(9))

def sentence(a):
    return a + 1
'''
CHANGED = """
2 -> 3
not 0 < a <= b or a < 1e-09 -> not 0 < a <= b and a < 1e-09
0 < a <= b -> 0 <= a <= b
0 < a <= b -> 0 >= a <= b
0 < a <= b -> 0 < a < b
0 < a <= b -> 0 < a > b
0 -> 1
a < 1e-09 -> a >= 1e-09
max(a, -b) * 0.5 - len('x' + say(9)) -> max(a, -b) * 0.5 + len('x' + say(9))
max(a, -b) * 0.5 -> max(a, -b) / 0.5
max -> min
-b -> b
0.5 -> 1.5
""".strip().splitlines()


def in_a_python_of_its_own(*arguments: str) -> subprocess.CompletedProcess:
    """Run Python in the folder of the tests, where forks are safe: nothing else runs in it."""
    plain = {name: value for name, value in os.environ.items() if name != "PYTHONWARNINGS"}
    command = [sys.executable, *arguments]
    return subprocess.run(command, cwd=mutants.TESTS, env=plain, capture_output=True, text=True)


@needs_fork
def test_the_tests_notice_small_faults():
    number = times(3, 60)
    run = in_a_python_of_its_own("mutants.py", "--count", str(number))
    assert run.returncode == 0, run.stdout + run.stderr
    assert run.stdout.count(" noticed ") + len(mutants.EQUIVALENT.keys() & mutants.drawn(number, 1)) == number


def test_every_excuse_is_of_a_mutant_that_can_be_drawn_and_has_a_reason():
    every = mutants.drawn(10**6, 1)
    assert len(every) > 1000 and mutants.drawn(60, 1) == every[:60]
    assert set(mutants.EQUIVALENT) <= set(every)
    assert all(reason.strip() for reason in mutants.EQUIVALENT.values())


def test_mathematics_is_changed_and_wording_is_not():
    found = mutants.mutants(ast.parse(SOURCE), "mechlib/a.py")
    changes = [mutant.name.removeprefix("mechlib/a.py, shift: ").split(" in ")[0] for mutant in found]
    assert sorted(changes) == sorted(CHANGED)


def test_a_mutant_differs_from_the_module_in_one_place():
    original = ast.unparse(ast.parse(SOURCE))
    for number in range(len(CHANGED)):
        tree = ast.parse(SOURCE)
        list(mutants.mutants(tree, "mechlib/a.py"))[number].make()
        lines = zip(ast.unparse(tree).splitlines(), original.splitlines(), strict=True)
        assert sum(new != old for new, old in lines) == 1


@needs_fork
@pytest.mark.parametrize(("check", "passes"), [("degrees_per_tooth(36) == 10", False), ("True", True)])
def test_a_test_that_looks_notices_and_one_that_does_not_look_does_not(check, passes, tmp_path):
    test = tmp_path / "test_it.py"
    test.write_text(f"from mechlib.bench import degrees_per_tooth\n\ndef test_it():\n    assert {check}\n")
    code = (
        "import json, mutants, sys\n"
        "names = mutants.drawn(10**6, 1, 'bench/tooth_offset')\n"
        "work = [([sys.argv[1]], name) for name in names if ', degrees_per_tooth: ' in name]\n"
        "print(json.dumps([end.passed for end in mutants.outcomes(work, 2)]))"
    )
    run = in_a_python_of_its_own("-c", code, str(test))
    outcomes = json.loads(run.stdout)
    assert set(outcomes) == {passes}, run.stderr


@needs_fork
def test_what_a_test_notices_that_fails_anyway_does_not_count(tmp_path):
    test = tmp_path / "test_it.py"
    test.write_text("def test_good():\n    assert True\n\ndef test_bad():\n    assert False\n")
    code = (
        "import mutants, sys\n"
        "mutants.its_tests = lambda path: [sys.argv[1]]\n"
        "mutants.survivors(mutants.drawn(1, 1), 1)"
    )
    run = in_a_python_of_its_own("-c", code, str(test))
    assert " noticed " in run.stdout and run.returncode == 1
    assert "without any mutant these fail" in run.stderr and "test_it.py::test_bad" in run.stderr


def test_each_module_has_its_own_tests():
    gears, cams = mutants.ROOT / "mechlib" / "gears", mutants.ROOT / "mechlib" / "cams"
    assert [Path(file).name for file in mutants.its_tests(cams / "laws.py")] == ["test_cams_laws.py"]
    assert [Path(file).name for file in mutants.its_tests(gears / "spur.py")] == ["test_gears_spur.py"]
    with pytest.raises(RuntimeError, match="no tests"):
        mutants.its_tests(mutants.ROOT / "mechlib" / "handbook" / "compare.py")
