"""Previews the names that the masters of a job will have; nothing is written, no sample is read."""

import os
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.ground.errors import MaterialError, UsageError
from tailsout.ground.findings import Finding, Judgement, in_order
from tailsout.ground.units import printable
from tailsout.mapping import masters, naming
from tailsout.mapping.copies import planned as copies
from tailsout.mapping.names.asked import template_of
from tailsout.mapping.names.fields import Fault, Template, Value
from tailsout.mapping.names.filling import read_back
from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ContainerFacts
from tailsout.records.recipient import NamesAsked, Recipient
from tailsout.records.transfer import Transfer
from tailsout.rules import names
from tailsout.work.gating import job_so_far
from tailsout.work.surroundings import Surroundings


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """One master that will be made."""

    sources: tuple[str, ...]
    """Files of the job that it is made of."""
    is_there: bool
    """Whether its capture is there and at rest; if not, what only a header tells is not known."""
    path: str
    """In the package; empty if it has none."""
    why: str
    """Why it has none."""
    says: tuple[tuple[str, Value], ...]
    """What its name is read back to, by the keys of the template's fields."""
    copies: tuple[str, ...] = ()
    """Paths of the access copies that will be made of it."""
    no_copies: str = ""
    """Why they cannot be made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """All masters of a job by their names."""

    template: str | None
    """None if there is none: masters keep the recorder's names."""
    named: tuple[Named, ...]
    judgement: Judgement
    """What is wrong with the names, or with the forms."""


def preview(job: Path, around: Surroundings, tried: NamesAsked | None = None) -> Preview:
    """Name the masters of a job by its recipient's template, or by the one that is tried.

    Raises UsageError if there is no job or the one tried is none, SurroundingsError if its forms
    cannot be read.
    """
    seen = job_so_far.headers(Path(os.path.realpath(job)), around)
    transfer = seen.transfer
    if transfer is None:
        found = seen.with_lines(seen.faults)
        judgement = Judgement(findings=in_order(found), checks=())
        return Preview(template=None, named=(), judgement=judgement)
    if tried is not None:
        transfer = replace(transfer, recipient=_asking(transfer.recipient, tried))
    there = seen.dossier.files
    awaited = tuple(_awaited(transfer, {file.capture for file in there}))
    dossier = replace(seen.dossier, transfer=transfer, files=(*there, *awaited))
    found = seen.with_lines(_judged(dossier))
    asked = template_of(transfer.recipient)
    read = asked if isinstance(asked, Template) else None
    return Preview(
        template=read.text if read is not None else None,
        named=tuple(_named(transfer, file, read, is_there=file in there) for file in dossier.files),
        judgement=Judgement(findings=in_order((*seen.absent, *found)), checks=()),
    )


def _asking(recipient: Recipient | None, tried: NamesAsked) -> Recipient:
    """Return the recipient with another template. Raises UsageError if it is none."""
    known = recipient or Recipient(id="recipient")
    own = known.names or NamesAsked()
    separator = tried.separator or own.separator
    asking = replace(known, names=replace(own, template=tried.template, separator=separator))
    read = template_of(asking)
    if isinstance(read, Fault):
        shown = printable(tried.template or "")
        raise UsageError(
            f"{shown!r} is not a template of names: at its letter {read.at + 1}, {read.text}",
            "`tailsout names --fields` lists what can stand in one.",
        )
    return asking


def _awaited(transfer: Transfer, there: set[str | None]) -> Iterator[FileRecord]:
    """Yield a master for each capture that is not there yet, as if it were one file."""
    for capture in transfer.captures:
        if capture.id not in there:
            yield _to_come(capture)


def _to_come(capture: Capture) -> FileRecord:
    return FileRecord(
        path=naming.files_of(capture)[0],
        octets=0,
        capture=capture.id,
        container=ContainerFacts(form="", chunks=()),
    )


def _judged(dossier: Dossier) -> tuple[Finding, ...]:
    rules = (rule for rule in names.RULES if rule.needs <= dossier.examined)
    return tuple(finding for rule in rules for finding in rule.run(dossier))


def _named(
    transfer: Transfer, file: FileRecord, template: Template | None, *, is_there: bool
) -> Named:
    planned = masters.planned(transfer, file)
    said = read_back(template, naming.master_stem(planned.path)) if template is not None else {}
    listening, no_copies = _copies(transfer, file) if planned.path else ((), "")
    return Named(
        sources=tuple(one.file for one in file.sources) or (file.path,),
        is_there=is_there,
        path=planned.path,
        why=planned.why,
        says=() if isinstance(said, Fault) else tuple(said.items()),
        copies=listening,
        no_copies=no_copies,
    )


def _copies(transfer: Transfer, file: FileRecord) -> tuple[tuple[str, ...], str]:
    try:
        return tuple(one.path for one in copies.planned(transfer, file)), ""
    except MaterialError as error:
        return (), str(error)
