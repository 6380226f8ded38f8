"""The program's own text and modules, for the tests of the house rules."""

import ast
import importlib
import pkgutil
from collections.abc import Mapping
from pathlib import Path
from types import ModuleType

import pytest

import tailsout

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "tailsout"


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


@pytest.fixture(scope="session")
def sources() -> Mapping[str, str]:
    """Every module's text by its path below the package, as `bag/disk.py`."""
    paths = sorted(SOURCE.rglob("*.py"))
    return {path.relative_to(SOURCE).as_posix(): path.read_text("utf-8") for path in paths}


@pytest.fixture(scope="session")
def trees(sources: Mapping[str, str]) -> Mapping[str, ast.Module]:
    return {path: ast.parse(text) for path, text in sources.items()}


@pytest.fixture(scope="session")
def modules() -> tuple[ModuleType, ...]:
    """Every module, imported; `__main__` would run the command line."""
    found = pkgutil.walk_packages(tailsout.__path__, "tailsout.")
    names = sorted(one.name for one in found if not one.name.endswith("__main__"))
    return tuple(importlib.import_module(name) for name in names)
