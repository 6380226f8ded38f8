"""`tailsout profile`: what changed in a recipient's form, and which packages it touches."""

from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

import click

from tailsout import __version__
from tailsout.doors.cli import printing
from tailsout.doors.cli.named import packages_in
from tailsout.doors.cli.showing import progress
from tailsout.ground.errors import TailsoutError
from tailsout.ground.findings import Finding, Judgement
from tailsout.ground.units import counted, printable

if TYPE_CHECKING:
    from tailsout.records.recipient import Recipient
    from tailsout.records.recipient_changes import Change
    from tailsout.work.profile import Compared, JudgedAnew

_SIGNS = {"more": "+", "less": "-", "otherwise": "~"}


@click.command("profile")
@click.argument("old", type=click.Path())
@click.argument("new", type=click.Path())
@click.argument("packages", nargs=-1, metavar="[PACKAGE]...", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="Print lines of JSON: the forms, packages.")
@click.option("--strict", is_flag=True, help="Exit with 1 for open questions too.")
def command(old: str, new: str, packages: tuple[str, ...], *, as_json: bool, strict: bool) -> int:
    """Show what changed between two versions of a recipient's form.

    OLD and NEW are forms, as recipients/ID.toml in a studio or metadata/recipient.toml in a
    package. Each PACKAGE is judged by both, and what appears and disappears is told; no file is
    read through, so digests are not compared. Nothing is written.
    """
    from tailsout.work.profile import compare  # noqa: PLC0415  help must not wait for it

    found = compare(Path(old), Path(new))
    report = _Printed(as_json=as_json, strict=strict)
    report.forms(found)
    if found.old is None or found.new is None:
        return 1
    for package in packages_in(packages) if packages else ():
        report.package(package, found.old, found.new)
    return report.end()


class _Printed:
    """Tells of the forms, of each package as it is done, and of all at the end."""

    def __init__(self, *, as_json: bool, strict: bool) -> None:
        self._as_json, self._strict = as_json, strict
        self._rows: list[printing.Row] = []
        self._judged: list[JudgedAnew] = []

    def forms(self, found: "Compared") -> None:
        """Print what changed, or what is wrong with a form."""
        if self._as_json:
            from tailsout.mapping import json_output_profile  # noqa: PLC0415

            software = f"tailsout {__version__}"
            line = json_output_profile.forms(
                found.old, found.new, found.changes, found.findings, software
            )
            self._line(line)
        elif found.old is None or found.new is None:
            judgement = Judgement(findings=found.findings, checks=())
            printing.say(printing.judgement_text("the forms", judgement))
        else:
            for row in _changes(found.old, found.new, found.changes):
                printing.say(row)

    def package(self, package: str, old: "Recipient", new: "Recipient") -> None:
        """Judge one package and print what differs."""
        from tailsout.work.profile import judge_anew  # noqa: PLC0415

        name = printable(package)
        try:
            with progress() as shown:
                judged = judge_anew(Path(package), old, new, shown)
        except TailsoutError as error:
            self._error(package, error)
            return
        self._judged.append(judged)
        code = printing.exit_code(judged.verdict, strict=self._strict)
        if judged.passed_over:
            code = 0
        else:
            more = f"{len(judged.appear)} appear, {len(judged.disappear)} disappear"
            row = printing.Row(name=name, told=judged.verdict.value, more=more, code=code)
            self._rows.append(row)
        if self._as_json:
            self._line(_package_json(package, judged))
        else:
            printing.say()
            for line in _package_lines(name, judged):
                printing.say(line)

    def end(self) -> int:
        """Print the table of several packages; return the exit code."""
        if len(self._rows) > 1 and not self._as_json:
            from tailsout.work.profile import systematic  # noqa: PLC0415

            printing.say("\n" + printing.table(self._rows))
            of = len(self._judged)
            for code, count in systematic(self._judged).items():
                printing.say(f"  {code} appears in {count} of {of}")
        return printing.most_serious(row.code for row in self._rows)

    def _error(self, package: str, error: TailsoutError) -> None:
        from tailsout.mapping import json_output, json_output_profile  # noqa: PLC0415

        printing.stopped(error)
        if self._as_json:
            line = json_output.could_not(
                json_output_profile.PROFILE, package, str(error), error.exit_code
            )
            self._line(line)
        row = printing.Row(name=printable(package), told=printing.NOT_JUDGED, code=error.exit_code)
        self._rows.append(row)

    def _line(self, line: dict[str, object]) -> None:
        from tailsout.mapping.plain import json_line  # noqa: PLC0415

        click.echo(json_line(line))


def _package_json(package: str, judged: "JudgedAnew") -> dict[str, object]:
    from tailsout.mapping import json_output_profile  # noqa: PLC0415

    if judged.passed_over:
        return json_output_profile.passed_over(package, judged.passed_over)
    return json_output_profile.package(
        package,
        verdict=judged.verdict,
        made_by=judged.made_by,
        appear=judged.appear,
        disappear=judged.disappear,
    )


def _changes(old: "Recipient", new: "Recipient", changes: "tuple[Change, ...]") -> list[str]:
    versions = f"{old.version or 'no version'} → {new.version or 'no version'}"
    count = counted(len(changes), "change")
    lines = [f"{new.name or new.id}, {versions}: {count}"]
    if changes:
        lines.append("  (+ asks more of packages, - asks less, ~ asks otherwise)")
    for one in changes:
        lines += _hung(f"  {_SIGNS[one.asks]}  ", f"{one.part}: {one.text}")
    return lines


def _package_lines(name: str, judged: "JudgedAnew") -> list[str]:
    if judged.passed_over:
        return [f"{name}: not judged, {judged.passed_over}"]
    made_by = f" (made by {judged.made_by})" if judged.made_by else ""
    nothing = "" if judged.appear or judged.disappear else "; nothing changes"
    lines = [f"{name}: {judged.verdict.value} under the new form{made_by}{nothing}"]
    for sign, found in (("+", judged.appear), ("-", judged.disappear)):
        for one in found:
            lines += _hung(f"  {sign}  ", _one(one))
    return lines


def _one(one: Finding) -> str:
    reel = " [the reel is needed]" if one.kind.needs_reel else ""
    return f"{one.severity.value} {one.code}{reel} at {one.place}: {one.text}"


def _hung(start: str, text: str) -> list[str]:
    return wrap(
        text,
        printing.width(),
        initial_indent=start,
        subsequent_indent=" " * len(start),
        break_long_words=False,
        break_on_hyphens=False,
    )
