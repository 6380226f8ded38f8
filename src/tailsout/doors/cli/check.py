"""`tailsout check`: judge packages."""

from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tailsout import __version__
from tailsout.doors.cli import printing
from tailsout.doors.cli.named import packages_in
from tailsout.doors.cli.showing import Many, progress_of_many
from tailsout.doors.cli.typed import Whole
from tailsout.ground import clock
from tailsout.ground.errors import UsageError, from_os_error
from tailsout.ground.findings import Judgement, Verdict
from tailsout.ground.units import counted, printable
from tailsout.records.bagit_profile import BagItProfile

if TYPE_CHECKING:
    from tailsout.mapping.report import Entry
    from tailsout.records.marks import Marks
    from tailsout.work.check_many import Told, Wish

_SOFTWARE = f"tailsout {__version__}"
_MOST_JOBS = 64


@click.command("check")
@click.argument("packages", nargs=-1, required=True, metavar="PACKAGE...", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="Print one line of JSON a package.")
@click.option("--strict", is_flag=True, help="Exit with 1 for open questions too.")
@click.option("--structure", is_flag=True, help="Read no payload: no fixity check.")
@click.option("--deep", is_flag=True, help="Measure the samples again and decode FLAC, too.")
@click.option("--bagit-only", is_flag=True, help="Judge nothing but RFC 8493.")
@click.option(
    "--profile",
    metavar="FILE",
    type=click.Path(),
    help="Hold the packages against this BagIt Profile (1.3, 1.4), too.",
)
@click.option(
    "--schemas",
    metavar="DIR",
    envvar="TAILSOUT_SCHEMAS",
    type=click.Path(path_type=Path),
    help="Hold descriptions in XML to the official schemas in DIR; else TAILSOUT_SCHEMAS names it.",
)
@click.option(
    "--jobs",
    type=Whole(1, _MOST_JOBS),
    metavar="N",
    help="Read N files at once; else one of a rotating disk, of others one a processor, at most 4.",
)
@click.option(
    "--since",
    metavar="REPORT",
    type=click.Path(dir_okay=False),
    help="Do not read again what an earlier --json report tells of and nobody wrote to since.",
)
def command(
    packages: tuple[str, ...],
    *,
    as_json: bool,
    strict: bool,
    structure: bool,
    deep: bool,
    bagit_only: bool,
    profile: str | None,
    schemas: Path | None,
    jobs: int | None,
    since: str | None,
) -> int:
    """Judge packages: completeness, fixity, side-car, embedded metadata, regions, dates.

    Works on any bag, with or without a side-car of ours, in a folder or in an archive (tar, tar.gz,
    tar.xz, zip). Every file that a manifest lists is read through. Nothing is written, followed,
    unpacked or fetched. A package is told of as soon as it is judged.
    """
    if deep and (structure or bagit_only):
        raise click.UsageError("--deep goes with neither --structure nor --bagit-only.")
    from tailsout.records.dossier import Depth  # noqa: PLC0415  help must not wait for it
    from tailsout.work.check_many import Wish, check_all  # noqa: PLC0415
    from tailsout.work.named_packages import proves_another  # noqa: PLC0415

    depth = Depth.STRUCTURE if structure else Depth.DEEP if deep else Depth.FULL
    held_against = _profile(profile) if profile is not None else None
    official = _schemas(schemas) if schemas is not None else None
    wish = Wish(depth=depth, bagit_only=bagit_only, bagit_profile=held_against, schemas=official)
    report = _Printed(wish, as_json=as_json, strict=strict, since=since or "")
    named = packages_in(packages)
    with progress_of_many(len(named)) as shown:
        beside = sum(map(proves_another, packages))
        if beside:
            shown.say(f"Receipts and digests are read with the packages beside them: {beside}.")
        earlier = _earlier(since, wish, shown) if since is not None else {}
        told = check_all(
            named, wish, jobs=jobs, progress_of=shown.of, say=shown.say, earlier=earlier
        )
        try:
            with closing(told):
                for one in told:
                    shown.done(one.package)
                    report.take(one)
        except KeyboardInterrupt:
            shown.say(f"Judged were {report.count} of {counted(len(named), 'package')}.")
            raise
    return report.end()


def _schemas(folder: Path) -> Mapping[str, bytes]:
    from tailsout.work.descriptions import schemas_in  # noqa: PLC0415  help must not wait for it

    return schemas_in(folder)


def _profile(name: str) -> BagItProfile:
    from tailsout.work.bagit_profile import load  # noqa: PLC0415  help must not wait for it

    return load(Path(name))


def _earlier(since: str, wish: "Wish", shown: Many) -> Mapping[str, "Entry"]:
    from tailsout.mapping import json_output, report  # noqa: PLC0415

    alike: dict[str, object] = {"software": _SOFTWARE, "bagit_only": None, "bagit_profile": None}
    alike["official_schemas"] = None
    alike |= json_output.looked_at(
        wish.depth,
        bagit_only=wish.bagit_only,
        bagit_profile=wish.bagit_profile,
        official_schemas=wish.schemas is not None,
    )
    named = printable(since)
    try:
        with Path(since).open("rb") as lines:
            found = report.read(iter(lambda: lines.readline(report.LONGEST_LINE), b""), alike=alike)
    except FileNotFoundError as error:
        raise UsageError(f"There is no file {named}.", "Name a report of check --json.") from error
    except OSError as error:
        raise from_os_error(error, f"Reading {named}") from error
    left_out = (
        (found.unreadable, "cut off or no line of a report"),
        (found.unfit, "made otherwise than is asked now, or not examined"),
    )
    for count, why in left_out:
        if count:
            shown.say(f"Of {named}, lines {why}: {count}; those packages are read again.")
    return found.entries


class _Printed:
    """Tells of each package as it is done, and of all at the end."""

    def __init__(self, wish: "Wish", *, as_json: bool, strict: bool, since: str) -> None:
        self._wish, self._as_json, self._strict, self._since = wish, as_json, strict, since
        self._judged = clock.stamp(clock.now())
        self._rows: list[printing.Row] = []
        self._marks: list[tuple[str, Marks]] = []

    @property
    def count(self) -> int:
        """How many packages it has told of."""
        return len(self._rows)

    def take(self, told: "Told") -> None:
        """Print one package at once, so that a run that is cut off has told of it."""
        from tailsout.rules.batch import marks_of  # noqa: PLC0415  help must not wait for it

        name = printable(told.package)
        if told.error is not None:
            click.echo(f"tailsout: {printable(str(told.error))}", err=True)
            row = printing.Row(name=name, told=printing.NOT_JUDGED, code=told.error.exit_code)
            self._rows.append(row)
        elif told.earlier is not None:
            verdict = told.earlier.verdict
            when = f"judged {told.earlier.judged}, not read again"
            self._say(f"{name}: {verdict.value}, {when}")
            self._keep(name, told.earlier.marks)
            self._add(name, verdict, when)
        elif told.checked is not None:
            judgement, bag = told.checked.judgement, told.checked.bag
            self._keep(name, marks_of(told.checked.dossier))
            self._say(printing.judgement_text(name, judgement, bag))
            self._add(name, judgement.verdict, bag.word if bag is not None else "")
        if self._as_json:
            self._json(told)

    def _keep(self, name: str, marks: "Marks | None") -> None:
        """Keep no more of a package than this, so that a batch may be of any size."""
        if marks is not None and marks.masters:
            self._marks.append((name, marks))

    def end(self) -> int:
        """Print the table of several packages; return the exit code."""
        codes = [row.code for row in self._rows]
        if len(self._rows) > 1:
            codes.append(self._together())
            self._say("\n" + printing.table(self._rows))
        return printing.most_serious(codes)

    def _together(self) -> int:
        """Tell what several packages have in common and ought not to; return its exit code."""
        from tailsout.mapping import json_output  # noqa: PLC0415
        from tailsout.mapping.plain import json_line  # noqa: PLC0415
        from tailsout.rules.batch import across  # noqa: PLC0415

        judgement = Judgement(findings=across(self._marks), checks=())
        if not judgement.findings:
            return 0
        count = len(self._rows)
        if self._as_json:
            line = json_output.together(
                judgement.findings, _SOFTWARE, packages=count, compared=len(self._marks)
            )
            click.echo(json_line(line))
        named = f"{len(self._marks)} of {count} packages together"
        self._say("\n" + printing.judgement_text(named, judgement))
        return printing.exit_code(judgement.verdict, strict=self._strict)

    def _add(self, name: str, verdict: Verdict, more: str) -> None:
        code = printing.exit_code(verdict, strict=self._strict)
        self._rows.append(printing.Row(name=name, told=verdict.value, more=more, code=code))

    def _say(self, text: str) -> None:
        if self._as_json:
            return
        if self._wish.depth == "structure":
            # In every line, so that none is taken for a proof.
            text = "\n".join(f"[no fixity check] {line}".rstrip() for line in text.split("\n"))
        printing.say(text)

    def _json(self, told: "Told") -> None:
        from tailsout.mapping import json_output  # noqa: PLC0415
        from tailsout.mapping.plain import json_line  # noqa: PLC0415
        from tailsout.rules.batch import marks_of  # noqa: PLC0415

        if told.error is not None:
            code = told.error.exit_code
            line = json_output.could_not(json_output.CHECK, told.package, str(told.error), code)
        elif told.earlier is not None:
            line = {**told.earlier.line, "taken_over": printable(self._since)}
        elif told.checked is not None:
            checked = told.checked
            line = json_output.judged(told.package, checked.judgement, _SOFTWARE, checked.bag)
            line |= json_output.looked_at(
                self._wish.depth,
                bagit_only=self._wish.bagit_only,
                bagit_profile=self._wish.bagit_profile,
                official_schemas=self._wish.schemas is not None,
                judged=self._judged,
                fingerprint=checked.fingerprint,
                marks=marks_of(checked.dossier),
            )
        # Each line goes out whole and at once.
        click.echo(json_line(line))
