"""What a package says of its earlier versions, held together and against what it keeps of them."""

from collections.abc import Iterator, Mapping
from typing import Any

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import amendments as listed
from tailsout.mapping import naming
from tailsout.mapping.plain import json_line, plain
from tailsout.records.amendment import Amendment, StatementChange
from tailsout.records.dossier import Dossier
from tailsout.rules.rule import Rule, package_of

AMENDMENTS_DISAGREE = Kind(
    code="amendments-disagree",
    severity=Severity.MEND,
    title="A side-car and the package's own list tell of different amendments",
    basis="own rule: both are written from the same amendments, in every version",
    remedy="Ask the sender which of them is right, and for the package again.",
)
CHAIN_BROKEN = Kind(
    code="version-chain-broken",
    severity=Severity.MEND,
    title="The versions of a package do not follow one another",
    basis="own rule: versions are counted without a gap from 2, each names the one before it, and "
    "bag-info names the last of these",
    remedy="Ask the sender for the package again, and which versions there are.",
)
SUPERSEDED_DIFFERS = Kind(
    code="superseded-differs",
    severity=Severity.MEND,
    title="A kept manifest is not the one of the version that was superseded",
    basis="own rule: manifests of superseded versions are kept octet for octet, and pinned by "
    "SHA-512",
    remedy="Ask the sender for the package again; the version superseded, if it is at hand, shows "
    "what its manifests were.",
)
AMENDED_DIFFERS = Kind(
    code="amended-differs",
    severity=Severity.MEND,
    title="A statement is not what the last amendment made of it",
    basis="own rule: a statement of a package changes by an amendment only",
    remedy="Ask the sender which of the two is right, and for the package again.",
)
TAKEN_BACK_STANDS = Kind(
    code="taken-back-stands",
    severity=Severity.MEND,
    title="A statement that was withheld, or a file that was withdrawn, is there all the same",
    basis="own rule: what an amendment takes back is gone from the version that it makes",
    remedy="Do not pass the package on; ask the sender for one without it.",
)

_END = "/"
"""Marks where a pointer of the tree ends: no part holds a slash."""


def _agree(dossier: Dossier) -> Iterator[Finding]:
    """Hold every side-car's amendments against the package's list."""
    if any(one.kind in listed.KINDS for one in dossier.reading):
        return
    said = dossier.amendments or ()
    cars = [(naming.sidecar_path(one.path), one.sidecar) for one in dossier.files]
    cars.append((dossier.place("").file, dossier.record_only))
    for name, car in cars:
        if car is not None and car.amendments != said:
            text = (
                f"it tells of {len(car.amendments)} amendments, {naming.AMENDMENTS} of "
                f"{len(said)}, or of others."
            )
            yield AMENDMENTS_DISAGREE.at(Place(file=printable(name), part="/amendments"), text)


def _chain(dossier: Dossier) -> Iterator[Finding]:
    said = _all(dossier)
    first = said[0].supersedes if said else ""
    for index, one in enumerate(said):
        at = _at(index)
        if one.version != index + 2:
            yield CHAIN_BROKEN.at(at, f"version {one.version} stands where {index + 2} should.")
        before = naming.version_name(first, index + 1)
        if one.supersedes != before:
            shown = printable(one.supersedes, 200)
            text = f"it supersedes {shown!r}, the version before it is {printable(before)!r}."
            yield CHAIN_BROKEN.at(at, text)
    if said or dossier.transfer is not None:
        yield from _named(dossier, said[-1].supersedes if said else None)


def _named(dossier: Dossier, last: str | None) -> Iterator[Finding]:
    """Hold the version that bag-info names against the one that the last amendment supersedes."""
    told = [one for one in package_of(dossier).bag_info if one.label == naming.SUPERSEDES]
    if last is None:
        for line in told:
            place = Place(file=line.file, line=line.line)
            shown = printable(line.value, 200)
            yield CHAIN_BROKEN.at(place, f"it names {shown!r}, and no amendment does.")
    elif last not in {one.value for one in told}:
        # Whoever made the first version may have used the label for something of their own.
        text = f"it does not name {printable(last, 200)!r}, which the last amendment supersedes."
        yield CHAIN_BROKEN.at(Place(file="bag-info.txt"), text)


def _kept(dossier: Dossier) -> Iterator[Finding]:
    """Hold the manifests kept of each superseded version against the digests that pin them."""
    digests = {
        line.path: line.digest.lower()
        for manifest in package_of(dossier).manifests
        if manifest.is_tag and manifest.algorithm == "sha512"
        for line in manifest.lines
    }
    for index, one in enumerate(_all(dossier)):
        for name, pinned in one.manifests.items():
            path = naming.superseded_path(one.version - 1, name)
            if digests.get(path) == pinned:
                continue
            pinned_by = f"by which {_at(index)} pins {printable(one.supersedes, 200)!r}"
            text = f"its digest is not the one {pinned_by}."
            if path not in digests:
                text = f"no tag manifest lists it, {pinned_by}."
            yield SUPERSEDED_DIFFERS.at(Place(file=path), text)


def _in_force(said: tuple[Amendment, ...]) -> list[tuple[int, StatementChange]]:
    """Return the changes that no later one touches, with the number of their amendment.

    Later pointers lie in a tree by their parts: a stranger may tell of very many.
    """
    later: dict[str, Any] = {}
    found = []
    for index in reversed(range(len(said))):
        for one in reversed(said[index].statements):
            if not _is_touched(later, one.at):
                found.append((index, one))
            here = later
            for part in one.at.split("/")[1:]:
                here = here.setdefault(part, {})
            here[_END] = True
    return found[::-1]


def _is_touched(later: Mapping[str, Any], pointer: str) -> bool:
    """Tell whether a pointer leads to, into, or around one of the tree."""
    here = later
    for part in pointer.split("/")[1:]:
        if _END in here:
            return True
        if part not in here:
            return False
        here = here[part]
    return True


def _statements(dossier: Dossier) -> Iterator[Finding]:
    data = {"transfer": plain(dossier.transfer)}
    for index, one in _in_force(_all(dossier)):
        there, absent = _value(data, one.at)
        place = dossier.place(printable(one.at.removeprefix("/transfer"), 200))
        if one.change == "withheld":
            if there not in (None, "withheld"):
                yield TAKEN_BACK_STANDS.at(place, f"version {index + 2} withheld it.")
        elif one.now is not None and one.now not in (_text(there), absent):
            shown = printable(_text(there) or absent or "nothing", 60)
            text = f"it is {shown!r}, version {index + 2} made it {printable(one.now, 60)!r}."
            yield AMENDED_DIFFERS.at(place, text)


def _value(data: object, pointer: str) -> tuple[object, str | None]:
    """Return what stands at a pointer, and the word that says why nothing does."""
    here: object = data
    absent = None
    for part in (p.replace("~1", "/").replace("~0", "~") for p in pointer.split("/")[1:]):
        absent = None
        if isinstance(here, dict):
            words = here.get("absent")
            absent = words.get(part) if isinstance(words, dict) else None
            here = here.get(part)
        elif isinstance(here, list) and part.isdecimal() and int(part) < len(here):
            here = here[int(part)]
        else:
            return None, None
    return here, absent


def _text(value: object) -> str | None:
    return value if value is None or isinstance(value, str) else json_line(value)


def _files(dossier: Dossier) -> Iterator[Finding]:
    """Yield every file that an amendment withdrew and no later one brought back."""
    withdrawn: dict[str, int] = {}
    for one in _all(dossier):
        for file in one.files:
            if file.change == "withdrawn":
                withdrawn[file.path] = one.version
            else:
                withdrawn.pop(file.now or file.path, None)
    there = {file.path for file in package_of(dossier).files}
    for path in sorted(there & withdrawn.keys()):
        text = f"version {withdrawn[path]} withdrew it."
        yield TAKEN_BACK_STANDS.at(Place(file=printable(path)), text)


def _all(dossier: Dossier) -> tuple[Amendment, ...]:
    return dossier.amendments or ()


def _at(index: int) -> Place:
    return Place(file=naming.AMENDMENTS, part=f"/amendments/{index}")


def _versions(dossier: Dossier) -> Iterator[Finding]:
    yield from _chain(dossier)
    yield from _kept(dossier)
    yield from _files(dossier)


def _read(dossier: Dossier) -> Iterator[Finding]:
    return (one for one in dossier.reading if one.kind in listed.KINDS)


RULES = (
    Rule(
        name="list of amendments",
        kinds=listed.KINDS,
        needs=frozenset({"structure", "versions"}),
        run=_read,
    ),
    Rule(
        name="versions of the package",
        kinds=(CHAIN_BROKEN, SUPERSEDED_DIFFERS, TAKEN_BACK_STANDS),
        needs=frozenset({"structure", "manifests", "versions"}),
        run=_versions,
    ),
    Rule(
        name="amendments in the side-cars",
        kinds=(AMENDMENTS_DISAGREE,),
        needs=frozenset({"side-cars", "versions"}),
        run=_agree,
    ),
    Rule(
        name="statements as amended",
        kinds=(AMENDED_DIFFERS, TAKEN_BACK_STANDS),
        needs=frozenset({"statements", "versions"}),
        run=_statements,
    ),
)
