"""Everything raised on purpose is one tree, and survives the way between two processes."""

import ast
import copy
import errno
import pickle
from collections.abc import Iterator, Mapping
from types import ModuleType

import pytest

from tailsout.bag.archive.source import StoppedError
from tailsout.ground.errors import (
    CutOffError,
    MaterialError,
    NoFileError,
    RefusedError,
    SurroundingsError,
    TailsoutError,
    ToldToEndError,
    UnprovedError,
    UsageError,
    from_os_error,
)
from tailsout.mapping.strict_json import StrictJsonError

EXITS = {
    TailsoutError: 4,
    MaterialError: 1,
    NoFileError: 1,
    UsageError: 2,
    RefusedError: 3,
    SurroundingsError: 4,
    UnprovedError: 4,
    CutOffError: 130,
}
BY_READERS_OF_JSON = {
    "mapping/later_events.py",
    "mapping/amendments.py",
    "mapping/bagit_profile.py",
    "mapping/checks.py",
    "mapping/kept_facts.py",
    "mapping/logbook.py",
    "mapping/receipt.py",
    "mapping/receptions.py",
    "mapping/report.py",
    "mapping/sidecar.py",
    "mapping/strict_json.py",
}


def defined(modules: tuple[ModuleType, ...]) -> Iterator[type[BaseException]]:
    for module in modules:
        for value in vars(module).values():
            is_error = isinstance(value, type) and issubclass(value, BaseException)
            if is_error and value.__module__ == module.__name__:
                yield value


def test_every_exception_is_of_the_tree(modules: tuple[ModuleType, ...]) -> None:
    # What JSON or an archive breaks becomes a finding before it leaves the room.
    assert set(defined(modules)) == {*EXITS, StrictJsonError, StoppedError, ToldToEndError}
    assert all(issubclass(one, TailsoutError) for one in EXITS)


def test_what_json_breaks_stays_in_its_room(trees: Mapping[str, ast.Module]) -> None:
    naming = {
        path
        for path, tree in trees.items()
        for node in ast.walk(tree)
        if (isinstance(node, ast.Name) and node.id == "StrictJsonError")
        or (isinstance(node, ast.Attribute) and node.attr == "StrictJsonError")
    }
    assert naming == BY_READERS_OF_JSON


def test_what_an_archive_breaks_stays_in_its_room(trees: Mapping[str, ast.Module]) -> None:
    naming = {
        path
        for path, tree in trees.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Name) and node.id == "StoppedError"
    }
    assert naming
    assert all(path.startswith("bag/archive/") for path in naming)


@pytest.mark.parametrize(("kind", "code"), EXITS.items(), ids=str)
def test_an_error_survives_pickling_and_copying(kind: type[TailsoutError], code: int) -> None:
    error = kind("The disk is full.", "Make room.")
    for again in (pickle.loads(pickle.dumps(error)), copy.copy(error)):  # noqa: S301  our own octets
        assert type(again) is kind
        assert (again.sentence, again.remedy) == ("The disk is full.", "Make room.")
        assert (str(again), again.exit_code) == ("The disk is full. Make room.", code)


def test_an_error_made_of_the_systems_survives_pickling() -> None:
    error = from_os_error(OSError(errno.ENOSPC, "No space", "a.wav"), "Writing a.wav")
    again = pickle.loads(pickle.dumps(error))  # noqa: S301  our own octets
    assert (type(again), str(again)) == (SurroundingsError, str(error))


def test_broken_json_survives_pickling() -> None:
    again = pickle.loads(pickle.dumps(StrictJsonError("it is not UTF-8")))  # noqa: S301  our own octets
    assert (type(again), str(again)) == (StrictJsonError, "it is not UTF-8")
