"""`tailsout demo`: a whole transfer to look at."""

import shlex
import shutil
import sys
from pathlib import Path

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.close import report, surroundings
from tailsout.doors.cli.showing import progress
from tailsout.ground.units import printable


@click.command("demo")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
def command(folder: Path) -> int:
    """Write an invented studio and job into DIR, close the job out and check the package.

    The reel is the spoken log of Skerrow Light: two sides, two speeds, two kinds of tape.
    """
    from tailsout.work.demo.run import run  # noqa: PLC0415  help must not wait for it

    with progress() as shown:
        result = run(folder, surroundings(shown))
    report(result.outcome, folder / "packages", only_plan=False)
    if result.checked is None or result.outcome.built is None:
        printing.say(printing.judgement_text("job", result.outcome.judgement))
        return printing.exit_code(result.outcome.judgement.verdict, strict=False)
    package = result.outcome.built.path
    judgement = result.checked.judgement
    printing.say()
    printing.say(printing.judgement_text(printable(str(package)), judgement))
    printing.say()
    for line in _guide(folder, package):
        printing.say(line)
    return printing.exit_code(judgement.verdict, strict=False)


def _guide(folder: Path, package: Path) -> list[str]:
    def at(*parts: str) -> str:
        return printable(str(folder.joinpath(*parts)))

    quoted = printable(shlex.quote(str(package)))
    return [
        "What lies where",
        f"  {at('studio')}    the studio: entered once, inherited by every job",
        f"  {at('job')}       the job: job.toml and the recorder's files, which were only read",
        f"  {at('packages')}  the package, and beside it receipt and label",
        "",
        "Check it again",
        f"  {_program()} check {quoted}",
        "",
        "Look at next",
        f"  {_program()} show {quoted}",
        f"  {printable(str(package / 'metadata' / 'report.html'))}  all of it on one sheet",
        f"  {printable(str(package / 'metadata' / 'README.txt'))}",
        f"  {printable(str(package / 'data' / 'audio'))}  each master with its side-car",
        "  Change one octet of any file in the package, and check it again.",
    ]


def _program() -> str:
    """Return what to type for this program: its name if the shell finds it, else its path."""
    called = sys.argv[0]
    found = shutil.which("tailsout")
    if Path(called).name != "tailsout" or (found and Path(found).samefile(called)):
        return "tailsout"
    return printable(shlex.quote(called))
