"""A page of plain text about one audio file, whoever made it: what it is, says and gets wrong.

Everything that was read of it comes out; what is from strangers is safe to print.
"""

from collections import Counter
from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding, Severity
from tailsout.ground.units import clock_time, counted, printable, size
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.tags import Tags
from tailsout.views.embedded import bext_lines, tag_lines
from tailsout.views.rows import heading, hung, row, table
from tailsout.wave.known import what_is

_Lines = Iterator[str]

_FORMS = {
    "RIFF": "wave file, RIFF (RIFF 1991)",
    "RF64": "wave file with sizes in 64 bits, RF64 (EBU Tech 3306)",
    "BW64": "wave file with sizes in 64 bits, BW64 (ITU-R BS.2088)",
    "FLAC": "FLAC (RFC 9639)",
}
_HEADER_OCTETS = {"FLAC": 4}
"""Octets of a chunk's header, where they are not eight."""
_WEIGHT = {
    Severity.MEND: "to mend",
    Severity.QUERY: "to decide",
    Severity.NOTE: "to note",
}


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return the page of the files of a Dossier in UTF-8. `assets` holds nothing it needs."""
    del assets
    lines: list[str] = []
    for file in dossier.files:
        lines += _file(file)
    lines += _findings(findings)
    if any(file.container.form == "FLAC" for file in dossier.files):
        lines += ["", "The samples of FLAC were not decoded; `tailsout measure` does that."]
    return ("\n".join(lines).strip("\n") + "\n").encode("utf-8", "backslashreplace")


def _file(file: FileRecord) -> _Lines:
    yield from heading(file.path)
    form = file.container.form
    yield from row("form", _FORMS.get(form, form))
    octets, rounded = f"{file.octets} octets", size(file.octets)
    yield from row("size", octets if rounded == octets else f"{octets} ({rounded})")
    yield from _audio(file)
    yield from _chunks(file)
    rate = file.pcm.sample_rate_hz if file.pcm is not None else 0
    if file.embedded is not None:
        yield from bext_lines(file.embedded, file.tags or Tags(), rate)
    if file.tags is not None:
        yield from tag_lines(file.tags, rate)


def _audio(file: FileRecord) -> _Lines:
    if file.pcm is None:
        yield from row("format", "not known")
        return
    channels = counted(file.pcm.channels, "channel")
    mask = file.pcm.channel_mask
    places = f", loudspeakers 0x{mask:X}" if mask is not None else ""
    yield from row("format", f"{file.pcm.sample_rate_hz} Hz, {file.pcm.coding}, {channels}{places}")
    if file.frames is not None:
        length = clock_time(file.frames, file.pcm.sample_rate_hz)
        yield from row("length", f"{length} ({counted(file.frames, 'sample')} a channel)")


def _chunks(file: FileRecord) -> _Lines:
    container = file.container
    types = file.tags.list_types if file.tags is not None else {}
    header_octets = _HEADER_OCTETS.get(container.form, 8)
    yield from heading("Chunks" if container.form != "FLAC" else "Metadata blocks")
    cells = [
        (
            printable(one.id).rstrip() or repr(one.id),
            str(one.offset - header_octets),
            str(one.offset),
            str(one.octets),
            str(one.pad) if one.pad else "",
            printable(what_is(one.id, types.get(one.offset, ""))),
        )
        for one in container.chunks
    ]
    yield from table(("id", "header at", "payload at", "octets", "pad", "what it is"), cells)


# What is wrong


def _findings(findings: tuple[Finding, ...]) -> _Lines:
    counts = Counter(finding.severity for finding in findings)
    told = ", ".join(f"{counts[one]} {_WEIGHT[one]}" for one in Severity if counts[one])
    yield from heading(f"What is wrong: {told or 'nothing that this program looks for'}")
    by_code: dict[str, list[Finding]] = {}
    for finding in findings:
        by_code.setdefault(finding.code, []).append(finding)
    for number, (code, alike) in enumerate(by_code.items()):
        if number:
            yield ""
        first = alike[0]
        yield from hung(f"{first.severity.value:<5} ", f"{code}: {first.kind.title}")
        yield from hung("      ", f"by {first.kind.basis}")
        for finding in alike:
            yield from hung(f"      {finding.place.part or 'whole file'}: ", finding.text)
