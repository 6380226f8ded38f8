"""What was made of each package, kept as it is judged, so that a reception can be gone on with.

It is a report as `check --json` writes it, and stands for what nobody wrote to since, as there.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from tailsout.bag.disk import Disk
from tailsout.ground import clock
from tailsout.ground.errors import TailsoutError, from_os_error
from tailsout.ground.findings import Finding, Judgement, Place
from tailsout.ground.progress import Silent
from tailsout.ground.units import printable
from tailsout.mapping import json_output, report
from tailsout.mapping.plain import json_line
from tailsout.mapping.report import Entry
from tailsout.records.bag_state import BagState
from tailsout.records.dossier import Depth
from tailsout.records.marks import Marks
from tailsout.rules.batch import marks_of
from tailsout.work.check import Checked
from tailsout.work.check_many import Told, Wish
from tailsout.work.explain import kinds
from tailsout.work.opened import open_package
from tailsout.work.package import bag_alone, read_package

NAME = "judged.jsonl"


@dataclass(frozen=True, slots=True)
class Journal:
    """Keeps each judgement as soon as it is made."""

    place: Path
    wish: Wish
    software: str
    instant: datetime
    disk: Disk

    def settled(self, told: Told) -> tuple[Told, Marks | None]:
        """Return a package with its judgement, new or as it was kept, and its marks.

        Raises SurroundingsError if a new one cannot be kept.
        """
        try:
            if told.earlier is not None:
                checked, mark = _taken_over(Path(told.package), told.earlier, self.wish)
                return replace(told, earlier=None, checked=checked), mark
        except TailsoutError as error:
            return Told(package=told.package, error=error), None
        if told.checked is None:
            return told, None
        stamp = clock.stamp(self.instant)
        line = _line_of(
            told.package,
            told.checked,
            self.wish,
            software=self.software,
            judged=stamp,
        )
        try:
            # A power cut may cost some lines, and so another look at those packages.
            self.disk.append_unsynced(self.place, line)
        except OSError as error:
            raise from_os_error(error, f"Writing {printable(str(self.place))}") from error
        return told, marks_of(told.checked.dossier)


def _line_of(package: str, checked: Checked, wish: Wish, *, software: str, judged: str) -> bytes:
    """Return the line of a package that was judged."""
    line = json_output.judged(package, checked.judgement, software, checked.bag)
    line |= json_output.looked_at(
        wish.depth,
        bagit_only=wish.bagit_only,
        judged=judged,
        fingerprint=checked.fingerprint,
        marks=marks_of(checked.dossier),
    )
    return f"{json_line(line)}\n".encode()


def earlier(place: Path, wish: Wish, software: str) -> Mapping[str, Entry]:
    """Return what was judged in the same way, by package; nothing where nothing was.

    Raises SurroundingsError if it cannot be read.
    """
    alike: dict[str, object] = {"software": software, "bagit_only": None}
    alike |= json_output.looked_at(wish.depth, bagit_only=wish.bagit_only)
    try:
        with place.open("rb") as lines:
            found = report.read(iter(lambda: lines.readline(report.LONGEST_LINE), b""), alike=alike)
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise from_os_error(error, f"Reading {printable(str(place))}") from error
    known = kinds()
    return {
        package: entry
        for package, entry in found.entries.items()
        if all(one["code"] in known for one in entry.line["findings"])
    }


def _taken_over(package: Path, entry: Entry, wish: Wish) -> tuple[Checked, Marks]:
    """Return what was made of a package, what it says of itself read once more; no digest is taken.

    Raises as `work.check.check`.
    """
    with open_package(package, Silent()) as bag:
        if wish.bagit_only or wish.depth is Depth.STRUCTURE:
            dossier = bag_alone(bag, wish.depth)
        else:
            dossier = read_package(bag)
    known = kinds()
    findings = tuple(
        Finding(
            kind=known[one["code"]],
            place=Place(file=one["place"]),
            text=one["text"],
            answer_at=one.get("answer_at", ""),
            answered=one.get("answered", ""),
        )
        for one in entry.line["findings"]
    )
    state = entry.line.get("bag")
    checked = Checked(
        dossier=dossier,
        judgement=Judgement(findings=findings, checks=()),
        bag=BagState(word=state["state"]) if state is not None else None,
        fingerprint=entry.fingerprint,
    )
    return checked, entry.marks or marks_of(dossier)
