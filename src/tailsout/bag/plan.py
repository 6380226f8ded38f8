"""What a bag is to hold, before a single octet is written: pure, no disk.

`make_plan` is the door: it refuses names that some system cannot hold, names that look alike and
values that would break a line (RFC 8493 §2.1.3, §2.2.2, §6.1), so that no escape is ever needed.
"""

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from tailsout.bag.grammar import MANIFEST_NAME
from tailsout.bag.names import unsafe
from tailsout.bag.notes import Caps
from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.errors import MaterialError
from tailsout.ground.portable import (
    MAX_NAME_OCTETS,
    composed,
    has_invisible,
    is_decoded,
    not_portable,
    twin_key,
)
from tailsout.ground.units import printable

_RESERVED = frozenset({"bagit.txt", "bag-info.txt", "fetch.txt"})
_OURS = frozenset({"payload-oxum", "bag-size"})
_STAGE_OCTETS = len("..part.journal")
_LIMITS = Caps()


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A file of the bag as it was written."""

    path: str
    octets: int
    digests: Mapping[str, str]
    """Lower-case hex by algorithm, of the octets handed to the disk."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Streamed:
    """A file whose octets pass through, block by block."""

    path: str
    octets: int
    """How many there will be."""
    write: Callable[[Callable[[bytes | memoryview], object]], None]
    """Called once with what takes the next octets; a block may be used again when that returns."""
    source: str = ""
    """Digest of all that its octets are made from. Empty if that is not known beforehand: the file
    is then written anew when a build is taken up again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A small file that is made from what has been written before it."""

    path: str
    make: Callable[[Mapping[str, Written]], bytes]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A bag to be built; `make_plan` makes one that was checked."""

    name: str
    """Name of the base directory."""
    payload: tuple[Streamed | Made, ...]
    """In the order of writing; paths begin with `data/`."""
    tags: tuple[Made | Streamed, ...]
    """Written after the payload manifests, which they may quote."""
    bag_info: tuple[tuple[str, str], ...]
    """Label and value in order; Bag-Size and Payload-Oxum are added by the build."""
    algorithms: tuple[str, ...]
    instant: str
    """When the build began, as it stands in what is written; empty if nothing says so."""
    software: str
    """What builds it, with its version."""
    stated: str
    """Digest of what people state in it; empty if nothing says so."""
    version: str = "1.0"
    """Of BagIt. No name that a plan takes is written otherwise in 0.97, which knows no codes."""

    @property
    def digest(self) -> str:
        """SHA-256 of everything that settles what will be written: equal plans, equal bags.

        What `Made` files hold and streamed ones without a `source` is not in it.
        """
        items = [
            [item.path, item.octets, item.source] if isinstance(item, Streamed) else [item.path]
            for item in (*self.payload, *self.tags)
        ]
        pins = [self.name, self.instant, self.software, self.stated, self.version]
        whole = [pins, items, self.bag_info, self.algorithms]
        return hashlib.sha256(json.dumps(whole).encode()).hexdigest()

    @property
    def streamed_octets(self) -> int:
        """Octets of everything that passes through."""
        items = (*self.payload, *self.tags)
        return sum(item.octets for item in items if isinstance(item, Streamed))


def make_plan(
    *,
    name: str,
    payload: Iterable[Streamed | Made],
    tags: Iterable[Made | Streamed] = (),
    bag_info: Iterable[tuple[str, str]] = (),
    algorithms: Iterable[str] = ("sha512", "sha256"),
    instant: str = "",
    software: str = "",
    stated: str = "",
    version: str = "1.0",
) -> Plan:
    """Check everything and return the plan. Raises MaterialError with the first fault."""
    plan = Plan(
        name=name,
        payload=tuple(payload),
        tags=tuple(tags),
        bag_info=tuple(bag_info),
        algorithms=tuple(algorithms),
        instant=instant,
        software=software,
        stated=stated,
        version=version,
    )
    _check_part(name, "The package's name")
    if len(name.encode()) + _STAGE_OCTETS > MAX_NAME_OCTETS:
        raise MaterialError(f"The package's name {_shown(name)} is too long.")
    if not plan.payload:
        raise MaterialError("The package holds no file.")
    check_paths(item.path for item in (*plan.payload, *plan.tags))
    for item in plan.payload:
        if not item.path.startswith("data/"):
            raise MaterialError(f"{_shown(item.path)} is payload and does not lie in data.")
    for item in plan.tags:
        _check_not_reserved(item.path)
    for label, value in plan.bag_info:
        _check_element(label, value)
    _check_algorithms(plan.algorithms)
    return plan


def check_paths(paths: Iterable[str]) -> None:
    """Refuse paths that some system cannot hold or tell apart. Raises MaterialError."""
    every = tuple(paths)
    for path in every:
        _check_path(path)
    _check_apart(every)


def _shown(text: str) -> str:
    return repr(printable(text, 200))


def _check_part(part: str, what: str) -> None:
    if not is_decoded(part):
        raise MaterialError(f"{what} {_shown(part)} has octets that are not UTF-8.")
    if "%" in part:
        raise MaterialError(f"{what} {_shown(part)} holds a percent sign, which readers differ on.")
    if part != composed(part):
        raise MaterialError(f"{what} {_shown(part)} is not in Unicode normalisation form C.")
    if why := not_portable(part):
        raise MaterialError(f"{what} {_shown(part)} cannot stand on every system: {why}.")


def _check_path(path: str) -> None:
    parts = path.split("/")
    for part in parts:
        _check_part(part, f"In the path {_shown(path)} the name")
    if why := unsafe(path):
        raise MaterialError(f"The path {_shown(path)} is not safe: {why}.")
    if len(parts) > _LIMITS.depth:
        raise MaterialError(f"The path {_shown(path)} has more than {_LIMITS.depth} parts.")


def _check_not_reserved(path: str) -> None:
    key = path.casefold()
    if key in _RESERVED or MANIFEST_NAME.fullmatch(key) or key.split("/")[0] == "data":
        raise MaterialError(f"The tag file {_shown(path)} takes a name BagIt keeps for itself.")


def _check_apart(paths: Iterable[str]) -> None:
    """No two paths, and no two directories on the way, may be one on some system."""
    files: dict[str, str] = {}
    directories: dict[str, str] = {"data": "data"}
    for path in paths:
        key = twin_key(path)
        if key in files:
            raise MaterialError(f"{_shown(path)} and {_shown(files[key])} are one on some systems.")
        files[key] = path
        parts = path.split("/")
        for count in range(1, len(parts)):
            folder = "/".join(parts[:count])
            twin = directories.setdefault(twin_key(folder), folder)
            if twin != folder:
                raise MaterialError(f"{_shown(folder)} and {_shown(twin)} are one on some systems.")
    for key, path in files.items():
        if key in directories:
            raise MaterialError(f"{_shown(path)} is to be both a file and a directory.")


def _check_element(label: str, value: str) -> None:
    for text in (label, value):
        if not text or text != text.strip():
            raise MaterialError(
                f"In bag-info.txt {_shown(label)} is empty, or begins or ends with a blank."
            )
        if has_invisible(text) or not is_decoded(text):
            raise MaterialError(
                f"In bag-info.txt {_shown(label)} holds a line break or a control character."
            )
    if ":" in label:
        raise MaterialError(f"The bag-info label {_shown(label)} holds a colon.")
    if label.casefold() in _OURS:
        raise MaterialError(f"The bag-info element {_shown(label)} is computed, not given.")
    if len(label) + len(value) + 2 > _LIMITS.line:
        raise MaterialError(f"In bag-info.txt {_shown(label)} is longer than {_LIMITS.line}.")


def _check_algorithms(algorithms: tuple[str, ...]) -> None:
    if not algorithms or len(set(algorithms)) != len(algorithms):
        raise MaterialError("Digest algorithms are missing or named twice.")
    for one in algorithms:
        if one not in ALGORITHMS:
            raise MaterialError(f"The digest algorithm {_shown(one)} is not supported.")
