"""Planted truth on seeds that nothing was settled by, within bounds, and the README's table of it.

The generators are those of the command that prints the table; they share no code with the meters.
"""

import ast
import runpy
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
SCRIPT = HERE.parent / "bench" / "accuracy.py"
README = (HERE.parent.parent / "README.md").read_text("utf-8")
MADE: Mapping[str, Any] = runpy.run_path(str(SCRIPT), run_name="accuracy")
BOUNDS = {one.name: one.bound for one in MADE["QUANTITIES"]}
TRIALS = {trial.__name__: trial for trial in MADE["TRIALS"]}


def rows() -> list[list[str]]:
    """The cells of the README's table."""
    inside = README.partition("<!-- printed by: accuracy -->")[2].partition("\n\n")[0]
    lines = [line for line in inside.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


@pytest.mark.parametrize("seed", MADE["UNSEEN"][-2:])
@pytest.mark.parametrize("name", TRIALS)
def test_unseen_seeds_lie_within_bounds(name: str, seed: int) -> None:
    errors = TRIALS[name](seed)
    assert errors
    assert {what: error for what, error in errors.items() if error > BOUNDS[what]} == {}


def test_the_two_kinds_of_seeds_have_none_in_common() -> None:
    assert not set(MADE["TUNED"]) & set(MADE["UNSEEN"])


def test_a_miss_is_beyond_every_bound() -> None:
    assert all(MADE["off"](None, 0.0) > bound for bound in BOUNDS.values())


def test_the_readme_has_a_row_for_each_quantity_and_none_beyond_its_bound() -> None:
    assert [row[:2] for row in rows()] == [[one.name, one.planted] for one in MADE["QUANTITIES"]]
    for name, _, *errors in rows():
        for error in errors:
            assert float(error.split()[0]) <= BOUNDS[name]


def test_what_makes_the_sound_knows_nothing_of_how_it_is_measured() -> None:
    """Only what is called to measure is taken from the meters; no kernel, filter or window."""
    tree = ast.parse(SCRIPT.read_text("utf-8"))
    taken = {
        (node.module, alias.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and str(node.module).startswith("tailsout.measure")
        for alias in node.names
    }
    assert taken == {
        ("tailsout.measure.echo", "Echoes"),
        ("tailsout.measure.line_up", "read_line_up"),
        ("tailsout.measure.onepass", "Measured"),
        ("tailsout.measure.onepass", "measure"),
        ("tailsout.measure.passes.align", "align"),
        ("tailsout.measure.passes.sound", "Sound"),
    }
