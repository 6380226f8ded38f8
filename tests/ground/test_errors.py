import errno
import inspect
import os
import pickle

import pytest

from tailsout.ground import errors
from tailsout.ground.errors import TailsoutError, from_os_error

EVERY = [
    one
    for _, one in sorted(inspect.getmembers(errors, inspect.isclass))
    if issubclass(one, TailsoutError)
]


@pytest.mark.parametrize("kind", EVERY)
def test_every_error_survives_pickling(kind: type[TailsoutError]) -> None:
    error = kind("The disk is full.", "Make room.")
    again = pickle.loads(pickle.dumps(error))  # noqa: S301  our own octets
    assert type(again) is kind
    assert again.args == error.args == ("The disk is full.", "Make room.")
    assert (again.sentence, again.remedy) == ("The disk is full.", "Make room.")


@pytest.mark.parametrize(
    ("name", "exit_code"),
    [
        ("CutOffError", 130),
        ("MaterialError", 1),
        ("NoFileError", 1),
        ("RefusedError", 3),
        ("SurroundingsError", 4),
        ("TailsoutError", 4),
        ("UnprovedError", 4),
        ("UsageError", 2),
    ],
)
def test_exit_codes(name: str, exit_code: int) -> None:
    assert getattr(errors, name).exit_code == exit_code


def test_the_exit_codes_above_cover_every_class() -> None:
    assert [one.__name__ for one in EVERY] == [
        "CutOffError",
        "MaterialError",
        "NoFileError",
        "RefusedError",
        "SurroundingsError",
        "TailsoutError",
        "UnprovedError",
        "UsageError",
    ]


def test_text_is_sentence_and_remedy() -> None:
    assert str(TailsoutError("No.", "Do this.")) == "No. Do this."
    assert str(TailsoutError("No.")) == "No."


@pytest.mark.parametrize(
    ("number", "remedy"),
    [
        (errno.ENOSPC, "The disk is full"),
        (errno.EDQUOT, "Your quota is used up"),
        (errno.EROFS, "The file system is read-only"),
        (errno.EACCES, "Permission is refused"),
        (errno.EPERM, "Permission is refused"),
        (errno.EFBIG, "This file system or limit does not take files so large"),
        (errno.EIO, "The device reports a read or write fault"),
        (errno.ENAMETOOLONG, "A name is longer than this file system takes"),
        (errno.EMFILE, "Nothing of the source was changed."),
    ],
)
def test_an_os_error_becomes_a_sentence_and_what_to_do(number: int, remedy: str) -> None:
    error = from_os_error(OSError(number, "x", "reel.wav"), "Writing the package")
    assert error.sentence == f"Writing the package failed: {os.strerror(number)} (reel.wav)."
    assert error.remedy.startswith(remedy)
    assert error.exit_code == 4


def test_an_os_error_without_a_file_or_a_number() -> None:
    assert from_os_error(OSError(errno.EIO, "x"), "Reading").sentence == (
        f"Reading failed: {os.strerror(errno.EIO)}."
    )
    assert from_os_error(OSError("out of luck"), "Reading").sentence == (
        "Reading failed: out of luck."
    )


def test_a_file_name_given_in_octets() -> None:
    error = from_os_error(OSError(errno.EIO, "x", b"reel.wav"), "Reading")
    assert "(reel.wav)" in error.sentence
