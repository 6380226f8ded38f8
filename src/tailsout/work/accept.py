"""Accepts packages: a document of its own, on the proof of packages read through just now."""

import hashlib
import re
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.bag.place import make_parents
from tailsout.ground import clock
from tailsout.ground.digests import digests_of
from tailsout.ground.errors import TailsoutError, UsageError, from_os_error
from tailsout.ground.findings import Severity, Verdict
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping import acceptances
from tailsout.mapping.strict_json import MAX_JSON_OCTETS
from tailsout.records.acceptance import Acceptance, Accepted, Decision
from tailsout.views import acceptance as document
from tailsout.work.check_many import Told, Wish, check_all
from tailsout.work.delivering import candidates
from tailsout.work.explain import kinds

_NUMBERED = re.compile(r"acceptance-([0-9]{2,6})\.")
_DECISIONS: dict[Verdict, Decision] = {
    Verdict.PASS: "accepted",
    Verdict.OPEN: "accepted with flags",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Who accepts, and what is agreed."""

    by: str
    note: str = ""
    receipt: Path | None = None
    """Folder of the receipt that is answered."""
    delete_after_days: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """The document and where it lies."""

    acceptance: Acceptance
    files: tuple[Path, ...]
    errors: tuple[TailsoutError, ...]
    """Of packages that could not be judged."""


def accept(
    packages: Sequence[Path],
    into: Path,
    asked: Asked,
    *,
    instant: datetime,
    software: str,
    disk: Disk,
    progress_of: Callable[[str], Progress],
    done: Callable[[str], None],
    say: Callable[[str], None],
) -> Outcome:
    """Read packages through and write which of them are accepted.

    What does not pass is not accepted, and said to be so. Raises UsageError if nobody accepts, a
    package is named twice or there is no such receipt, SurroundingsError for the disks.
    """
    if not asked.by.strip():
        raise UsageError("Nobody accepts: the name is empty.", "Say --by PERSON.")
    names = [str(path) for path in packages]
    if len(set(names)) < len(names):
        raise UsageError("A package is named twice.", "Name each once.")
    receipt = _receipt(asked.receipt) if asked.receipt is not None else ""
    found: dict[str, Accepted] = {}
    errors: list[TailsoutError] = []
    told = check_all(names, Wish(), progress_of=progress_of, say=say, earlier={})
    with closing(told):
        for one in told:
            done(one.package)
            found[one.package] = _decided(one)
            if one.error is not None:
                errors.append(one.error)
    days = asked.delete_after_days
    try:
        make_parents(into, disk)
        number = _next_number(into)
    except OSError as error:
        raise from_os_error(error, f"Making {printable(str(into))}") from error
    acceptance = Acceptance(
        number=number,
        by=asked.by,
        accepted=clock.stamp(instant),
        software=software,
        packages=tuple(found[name] for name in names),
        receipt_sha512=receipt,
        note=asked.note,
        delete_from="" if days is None else (instant + timedelta(days=days)).date().isoformat(),
    )
    files = _write(acceptance, into, disk)
    return Outcome(acceptance=acceptance, files=files, errors=tuple(errors))


def _write(acceptance: Acceptance, into: Path, disk: Disk) -> tuple[Path, ...]:
    """Write the document and its lists, and return where they lie. Raises SurroundingsError."""
    stem = f"acceptance-{acceptance.number:02d}"
    text = document.render(acceptance, kinds()).encode("utf-8", "backslashreplace")
    files = {
        f"{stem}.txt": text,
        f"{stem}.csv": acceptances.table(acceptance),
        f"{stem}-return-list.csv": acceptances.return_list(acceptance),
        f"{stem}.json": acceptances.page(acceptance),
    }
    for name, content in files.items():
        disk.write_beside(into / name, content)
    return tuple(into / name for name in files)


def _decided(told: Told) -> Accepted:
    name = printable(Path(told.package).resolve().name)
    if told.checked is None:
        return Accepted(
            package=name,
            decision="not accepted",
            verdict="not judged",
            flags=(),
            title="",
            identifiers=(),
            supersedes="",
            tag_manifests={},
        )
    dossier, judgement = told.checked.dossier, told.checked.judgement
    decision = _DECISIONS.get(judgement.verdict, "not accepted")
    weighing = (one.code for one in judgement.findings if one.severity is not Severity.NOTE)
    place = Path(told.package)
    return Accepted(
        package=name,
        decision=decision,
        verdict=judgement.verdict.value,
        flags=tuple(dict.fromkeys(weighing)),
        title=printable(candidates.title(dossier.transfer, dossier.package), 200),
        identifiers=candidates.identifiers(dossier.transfer, dossier.package),
        supersedes=candidates.supersedes(dossier),
        tag_manifests=_pinned(place) if decision != "not accepted" else {},
    )


def _pinned(place: Path) -> dict[str, str]:
    """Return the digests by which a package is known: of an archive, its own."""
    if place.is_dir():
        return candidates.tag_manifests(place)
    try:
        with place.open("rb") as stream:
            digest = hashlib.file_digest(stream, "sha512").hexdigest()
    except OSError as error:
        raise from_os_error(error, f"Reading {printable(str(place))}") from error
    return {printable(place.name): digest}


def _receipt(folder: Path) -> str:
    path = folder / "receipt.json"
    try:
        with path.open("rb") as stream:
            content = stream.read(MAX_JSON_OCTETS)
    except FileNotFoundError as error:
        raise UsageError(
            f"There is no {printable(str(path))}.", "Name the folder of a receipt."
        ) from error
    except OSError as error:
        raise from_os_error(error, f"Reading {printable(str(path))}") from error
    return digests_of(content, ("sha512",))["sha512"]


def _next_number(into: Path) -> int:
    """Return the number after the highest one that lies there. Raises OSError."""
    numbers = [int(m[1]) for path in into.iterdir() if (m := _NUMBERED.match(path.name))]
    return max(numbers, default=0) + 1
