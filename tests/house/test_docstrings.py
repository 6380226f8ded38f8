"""Every module says what it is for in a few lines, everything public what it does."""

import ast
from collections.abc import Iterator, Mapping

MOST_LINES = 12


def bare(tree: ast.Module) -> Iterator[str]:
    """Name what lacks a docstring: the module, public functions, classes and their methods."""
    if not ast.get_docstring(tree):
        yield "the module"
    yield from _bare_in(tree, "")


def _bare_in(tree: ast.Module | ast.ClassDef, within: str) -> Iterator[str]:
    for node in tree.body:
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            continue
        if node.name.startswith("_"):
            continue
        if not ast.get_docstring(node):
            yield within + node.name
        if isinstance(node, ast.ClassDef):
            yield from _bare_in(node, f"{node.name}.")


def test_everything_public_has_a_docstring(trees: Mapping[str, ast.Module]) -> None:
    assert [(path, name) for path, tree in trees.items() for name in bare(tree)] == []


def test_a_modules_docstring_is_short(trees: Mapping[str, ast.Module]) -> None:
    lines = {p: len((ast.get_docstring(t) or "").splitlines()) for p, t in trees.items()}
    assert {path: count for path, count in lines.items() if count > MOST_LINES} == {}


def test_what_counts_as_bare() -> None:
    # A docstring behind an import is none.
    tree = ast.parse(
        "import os\n'''Late.'''\ndef f(): ...\ndef _g(): ...\n"
        "class C:\n    '''Said.'''\n    def m(self): ...\n    def __init__(self): ...\n"
        "class _D:\n    def m(self): ...\n"
    )
    assert list(bare(tree)) == ["the module", "f", "C.m"]
