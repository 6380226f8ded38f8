"""The CodingHistory of a `bext` chunk: EBU R 98-1999.

One line a process, the oldest first, each ended by CR LF; `KEY=value` parameters with commas
between them, in the order A, F, B, W, M, T. Reading is tolerant and says what it put up with;
writing is strict. Whether the history agrees with the file is for others to judge.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from tailsout.ground.errors import MaterialError
from tailsout.ground.units import printable

KEYS = "AFBWMT"
"""R 98's parameters in its order: coding, sample rate, bit rate, word length, mode, free text."""

MAX_LINES = 1000
"""Most lines that are read."""

MAX_PARAMETERS = 200
"""Most stretches between commas that are read of one line."""

_CODINGS = frozenset(
    {"ANALOGUE", "PCM", "MPEG1L1", "MPEG1L2", "MPEG1L3", "MPEG2L1", "MPEG2L2", "MPEG2L3"}
)
_MODES = frozenset({"mono", "stereo", "dual-mono", "joint-stereo"})
_FIGURES = re.compile(r"[0-9]+", re.ASCII)
# Any capital may be a key of its own making; a small letter only counts where it is one of R 98's,
# so that "x=3" inside a free text stays there.
_PARAMETER = re.compile(r"[ \t]*([A-Zafbwmt])=(.*)", re.ASCII | re.DOTALL)
_LINE_END = re.compile(r"\r\n|\r|\n")
_WRITTEN = re.compile(r"[ -+\--~]+", re.ASCII)
"""Printable ASCII without the comma."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One process: its parameters as key and value, keys in capitals, values as they stand."""

    parameters: tuple[tuple[str, str], ...]

    def get(self, key: str) -> str | None:
        """Return the first value of a key."""
        return next((value for name, value in self.parameters if name == key), None)


def parse(text: str) -> tuple[tuple[Line, ...], tuple[str, ...]]:
    """Return the lines of a history, and one remark for each thing R 98 does not have.

    A line that holds no parameter at its start is left out and remarked.
    """
    lines: list[Line] = []
    remarks: list[str] = []
    found = _LINE_END.split(text.partition("\0")[0])
    if found[-1]:
        remarks.append("The last line is not ended by CR LF.")
    for number, one in enumerate(found[:MAX_LINES], start=1):
        if not one.strip():
            continue
        parameters, odd = _parameters(one)
        remarks += [f"Line {number}: {remark}" for remark in odd]
        if parameters:
            lines.append(Line(parameters=tuple(parameters)))
    if len(found) > MAX_LINES:
        remarks.append(f"Only the first {MAX_LINES} of {len(found)} lines were read.")
    return tuple(lines), tuple(remarks)


def split(text: str) -> tuple[str, ...]:
    """Return the lines as they stand, counted as the remarks count them."""
    *lines, last = _LINE_END.split(text.partition("\0")[0])
    return (*lines, last) if last else tuple(lines)


def render(lines: Iterable[Line]) -> str:
    """Write lines as R 98 has them; keys that are not R 98's come last, in the order given.

    Raises MaterialError for a line without parameters, a key that is not a capital letter or comes
    twice, and a value that is empty or holds anything but printable ASCII without comma.
    """
    return "".join(_rendered(line) + "\r\n" for line in lines)


def _parameters(line: str) -> tuple[list[tuple[str, str]], list[str]]:
    parameters: list[tuple[str, str]] = []
    remarks: list[str] = []
    fragments = line.split(",", MAX_PARAMETERS)
    if len(fragments) > MAX_PARAMETERS:
        fragments.pop()
        remarks.append(f"Only what stands before comma {MAX_PARAMETERS} was read.")
    elif len(fragments) > 1 and not fragments[-1].strip():
        fragments.pop()
    for fragment in fragments:
        match = _PARAMETER.fullmatch(fragment)
        if match:
            key, value = match.groups()
            remarks += _remarks_on(key, value, parameters)
            parameters.append((key.upper(), value))
        elif parameters and parameters[-1][0] == "T":
            parameters[-1] = ("T", f"{parameters[-1][1]},{fragment}")
            remarks.append("The free text T holds a comma.")
        else:
            remarks.append(f"{printable(fragment, 60)!r} is not a parameter of EBU R 98.")
            if not parameters:
                break
    return parameters, remarks


def _remarks_on(key: str, value: str, before: list[tuple[str, str]]) -> list[str]:
    remarks = []
    if key.islower():
        remarks.append(f"The key {key} should be a capital.")
    key = key.upper()
    if key not in KEYS:
        remarks.append(f"The key {key} is not one of EBU R 98.")
    if key in (name for name, _ in before):
        remarks.append(f"The key {key} comes twice.")
    unlike = (
        (key == "A" and value not in _CODINGS)
        or (key in "FBW" and not _FIGURES.fullmatch(value))
        or (key == "M" and value not in _MODES and value.lower() in _MODES)
    )
    if unlike:
        remarks.append(f"{key}={printable(value, 60)} is not written as EBU R 98 has it.")
    return remarks


def _rendered(line: Line) -> str:
    keys = [key for key, _ in line.parameters]
    if not keys:
        raise MaterialError("A line of coding history has no parameter.")
    for key, value in line.parameters:
        if len(key) != 1 or not "A" <= key <= "Z" or keys.count(key) > 1:
            raise MaterialError(f"Coding history key {key!r} is not a capital, or comes twice.")
        if not _WRITTEN.fullmatch(value):
            raise MaterialError(
                f"Coding history {key}={printable(value, 60)!r} must be printable ASCII "
                "without comma, and not empty.",
                "Put a semicolon for a comma.",
            )
    return ",".join(f"{key}={value}" for key, value in sorted(line.parameters, key=_rank))


def _rank(parameter: tuple[str, str]) -> int:
    return KEYS.index(parameter[0]) if parameter[0] in KEYS else len(KEYS)
