"""The table of rules in DEVELOPERS.md is that of the code."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from tailsout.rules import RULES


@pytest.fixture(scope="module")
def made() -> ModuleType:
    """The command that writes it."""
    path = Path(__file__).with_name("rule_table.py")
    spec = importlib.util.spec_from_file_location("rule_table", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_table_is_that_of_the_code(made: ModuleType) -> None:
    """Run `python tests/house/rule_table.py` where it is not."""
    assert made.standing(made.DEVELOPERS.read_text("utf-8")) == made.table()


def test_every_rule_has_its_line(made: ModuleType) -> None:
    lines = made.table().splitlines()
    assert len(lines) == len(RULES) + 3
    assert all(sum(f"| {rule.name} |" in line for line in lines) == 1 for rule in RULES)


def test_a_page_without_a_place_for_it(made: ModuleType) -> None:
    with pytest.raises(ValueError, match="substring not found"):
        made.standing("# For whoever carries this on\n")
