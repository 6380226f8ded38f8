"""`tailsout names`: what the masters of a job will be called."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.close import surroundings
from tailsout.doors.cli.showing import progress
from tailsout.ground.errors import UsageError
from tailsout.ground.units import printable
from tailsout.mapping import naming

if TYPE_CHECKING:
    from tailsout.records.vocab import Separator
    from tailsout.work.names import Named, Preview


@click.command("names")
@click.argument("job", required=False, type=click.Path(path_type=Path))
@click.option(
    "--template",
    metavar="TEXT",
    help="Try this template in place of the recipient's.",
)
@click.option(
    "--separator",
    type=click.Choice(["-", "_"]),
    help="With --template: stands for blanks and letters that cannot stand in a name.",
)
@click.option("--fields", is_flag=True, help="List what can stand in a template.")
def command(job: Path | None, *, template: str | None, separator: str | None, fields: bool) -> int:
    """Show what the masters of the job in folder JOB will be called, and what their names say.

    Each name is read back by the recipient's template, so that a wrong field shows before anything
    is packed. Captures keep their names. Nothing is written.
    """
    from tailsout.records.recipient import NamesAsked  # noqa: PLC0415  help must not wait for it
    from tailsout.work.names import preview  # noqa: PLC0415

    if fields:
        printing.say(_fields())
        return 0
    if job is None:
        raise UsageError("Which job is meant?", "Give the folder of one, or --fields.")
    if separator is not None and template is None:
        raise UsageError("--separator belongs to a template.", "Give one with --template.")
    tried = None
    if template is not None:
        tried = NamesAsked(template=template, separator=cast("Separator | None", separator))
    with progress() as shown:
        found = preview(job, surroundings(shown), tried)
    if found.judgement.findings:
        printing.say(printing.judgement_text(printable(str(job)), found.judgement))
        printing.say()
    printing.say("\n".join(_lines(found)))
    is_short = any(one.no_copies for one in found.named)
    return 1 if is_short else printing.exit_code(found.judgement.verdict, strict=False)


def _lines(found: "Preview") -> Iterator[str]:
    by = f"by {found.template}" if found.template is not None else "as the recorder's"
    yield f"Names {by}:" if found.named else "No capture is stated that could be named."
    for one in found.named:
        yield from _one(one)
    yield "Nothing was written."


def _one(one: "Named") -> Iterator[str]:
    to_come = "" if one.is_there else "  (not there yet, or still growing)"
    yield f"  {' + '.join(one.sources)}{to_come}"
    if not one.path:
        yield f"    → no name: {one.why}"
        return
    name, beside = (path.rpartition("/")[2] for path in (one.path, naming.sidecar_path(one.path)))
    yield f"    → {one.path}  ({len(name)} characters, its side-car {len(beside)})"
    if one.says:
        yield f"      says {', '.join(f'{key} {value}' for key, value in one.says)}"
    for path in one.copies:
        yield f"    → {path}  ({len(path.rpartition('/')[2])} characters)"
    if one.no_copies:
        yield f"    → no access copy: {one.no_copies}"


def _fields() -> str:
    from tailsout.mapping.names.fields import FIELDS  # noqa: PLC0415

    width = max(map(len, FIELDS))
    told = [f"  {word:<{width}}  {what}" for word, (_, what) in FIELDS.items()]
    return "\n".join(
        [
            "A template is made of letters that stand as they are and of fields in braces:",
            *told,
            "",
            "Options stand behind a colon, as in {identifier:barcode:10:lower}: a width, which is",
            "exact (of a number in digits, as {part:02}), lower or upper, and of an identifier its",
            "kind (shelf-mark, barcode, catalogue-number, accession-number, local-number, other).",
            "What stands in [brackets] is left out where something in it is not known. A template",
            "by which some name could be read in two ways is refused, with such a name.",
        ]
    )
