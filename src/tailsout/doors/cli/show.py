"""`tailsout show`: a page of plain text, a line of JSON, one chunk, or the words of others."""

import codecs
import io
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tailsout.doors.cli import printing
from tailsout.doors.cli.showing import progress
from tailsout.ground.errors import TailsoutError, UsageError
from tailsout.ground.units import printable

if TYPE_CHECKING:
    from tailsout.work.show import Payload


@click.command("show")
@click.argument("paths", nargs=-1, metavar="PATH...", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="Print one line of JSON an audio file.")
@click.option(
    "--raw",
    metavar="CHUNK",
    help="Write the octets of one chunk of one file, by its id; LIST:2 is the second LIST.",
)
@click.option("--as", "view", metavar="NAME", help="Describe one package by a standard.")
@click.option(
    "--receipt",
    "receipts",
    metavar="FILE",
    multiple=True,
    help="With --as PREMIS, METS, RO-Crate or PROV-JSON: add what a receipt or an acceptance "
    "(JSON) tells of it; repeat for more.",
)
@click.option("--list", "listing", is_flag=True, help="Say which descriptions there are.")
def command(
    paths: tuple[str, ...],
    *,
    as_json: bool,
    raw: str | None,
    view: str | None,
    receipts: tuple[str, ...],
    listing: bool,
) -> int:
    """Show packages, in folders or archives, jobs or audio files, each as a page of plain text.

    Of a file alone every chunk is told, what it says and what is wrong with it; the exit code is 1
    if something must be mended. Of a package or job what is stated is told, and nothing verified:
    `check` tells whether it holds. A description by a standard goes to standard output, and what it
    leaves out is told beside it.
    """
    if listing:
        return _list()
    if not paths:
        raise click.UsageError("Name a package, a job or a file.")
    if view is not None:
        if as_json or raw is not None or len(paths) > 1:
            raise click.UsageError("--as takes one package, no --json and no --raw.")
        return _described(paths[0], view, receipts)
    if receipts:
        raise click.UsageError("--receipt goes with --as.")
    if raw is not None:
        if as_json or len(paths) > 1:
            raise click.UsageError("--raw takes one file, and no --json.")
        return _copy_out(paths[0], raw)
    from tailsout.work.named_packages import without_beside  # noqa: PLC0415  help must not wait

    codes = []
    for number, path in enumerate(without_beside(paths)):
        if number and not as_json:
            printing.say()
        codes.append(_one(path, as_json=as_json))
    return printing.most_serious(codes)


def _one(path: str, *, as_json: bool) -> int:
    from tailsout.mapping import json_output  # noqa: PLC0415  help must not wait for it
    from tailsout.mapping.plain import json_line  # noqa: PLC0415
    from tailsout.work.show import show  # noqa: PLC0415

    try:
        with progress() as bar:
            shown = show(Path(path), bar)
    except TailsoutError as error:
        if as_json:
            click.echo(
                json_line(
                    json_output.could_not(json_output.SHOW, path, str(error), error.exit_code)
                )
            )
        return printing.stopped(error)
    if as_json:
        for file in shown.dossier.files:
            name = path if shown.is_file else f"{path.rstrip('/')}/{file.path}"
            of_file = [one for one in shown.findings if one.place.file == printable(file.path)]
            click.echo(json_line(json_output.shown(name, file, of_file)))
    else:
        printing.say(shown.page.decode("utf-8").rstrip("\n"))
    return 1 if shown.needs_mending else 0


def _list() -> int:
    from tailsout.work.exports import VIEWS  # noqa: PLC0415  help must not wait for it

    for one in VIEWS:
        where = one.path if one.always else f"{one.path}, where the recipient asks for it"
        printing.say(f"{one.name:<12} {one.title}")
        printing.say(f"{'':<12} {f'in a package: {where}' if one.path else 'not packed'}")
    return 0


def _described(path: str, view: str, receipts: tuple[str, ...]) -> int:
    from tailsout.work.export import export  # noqa: PLC0415  help must not wait for it

    with progress() as bar:
        told = export(Path(path), view, bar, receipts=[Path(one) for one in receipts])
    out = sys.stdout.buffer
    if out.isatty():
        # Danger: what strangers wrote can hold commands for the terminal.
        printing.say(told.content.decode("utf-8").rstrip("\n"))
    else:
        out.write(told.content)
        out.flush()
    for sentence in told.lost:
        click.echo(f"tailsout: left out: {printable(sentence)}", err=True)
    return 0


def _copy_out(path: str, chunk: str) -> int:
    from tailsout.work.show import payload_of  # noqa: PLC0415  help must not wait for it

    payload = payload_of(Path(path), chunk)
    out = sys.stdout.buffer
    if out.isatty() and not _is_text(payload):
        raise UsageError(
            "The chunk holds octets that a terminal could take for commands; nothing was written.",
            "Send them into a file or another program.",
        )
    for block in payload.blocks():
        out.write(block)
    out.flush()
    if payload.missing:
        click.echo(f"tailsout: the file lacks the last {payload.missing} octets of it.", err=True)
        return 1
    return 0


def _is_text(payload: "Payload") -> bool:
    """Tell whether a payload is nothing but text that is safe to print."""
    # Keeps CR and LF together that fall into two blocks.
    decoder = io.IncrementalNewlineDecoder(codecs.getincrementaldecoder("utf-8")(), translate=False)
    try:
        return all(_is_printable(decoder.decode(block)) for block in payload.blocks()) and (
            _is_printable(decoder.decode(b"", final=True))
        )
    except UnicodeDecodeError:
        return False


def _is_printable(text: str) -> bool:
    return all(one.isprintable() or one in "\t\n" for one in text.replace("\r\n", "\n"))
