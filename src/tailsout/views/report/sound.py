"""What was captured: each audio file along its time, what was measured, what was heard."""

from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding
from tailsout.ground.units import clock_time, counted, size
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.listening import SignalNote
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import Transfer
from tailsout.views import measured
from tailsout.views.report import levels, timeline
from tailsout.views.report.blocks import Block, Heading, Table, rows
from tailsout.views.report.wording import sound_files, times, who
from tailsout.views.rows import absent, inline

_MOST_SEEN = 12
"""Files with waveform and spectrogram: a sheet holds no more drawings."""
_MOST_TOLD = 40
"""Files, and captures, that are told one by one; more stand in a table."""


def blocks(
    dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]
) -> Iterator[Block]:
    """Yield the section; nothing where there is no sound."""
    del findings, assets
    transfer = dossier.transfer
    files = tuple(sound_files(dossier))
    for number, file in enumerate(files[:_MOST_TOLD], start=1):
        yield Heading(text=f"Audio {file.path}")
        for drawn in (
            timeline.drawn(file, transfer, f"file-{number}", from_afar=number <= _MOST_SEEN),
            levels.drawn(file, f"level-{number}"),
        ):
            if drawn is not None:
                yield drawn
        # What a master of ours says of itself was made from what stands here already.
        said = _said(file) if transfer is None else ()
        yield from rows([*_file(file), *_measured(file, transfer), *said])
    yield from _shortly(files[_MOST_TOLD:])
    if transfer is not None:
        yield from _heard(transfer, dossier)
        yield from _made(transfer)


def _shortly(files: tuple[FileRecord, ...]) -> Iterator[Block]:
    if files:
        yield Heading(text="More audio files")
        yield Table(
            caption=f"The files after the first {_MOST_TOLD}, in short",
            titles=("File", "Length", "Format", "Loudness"),
            rows=tuple(_in_short(one) for one in files),
        )


def _in_short(file: FileRecord) -> tuple[str, ...]:
    told = dict(_file(file))
    facts = _facts(file)
    level = facts.integrated_lufs if facts is not None else None
    loudness = f"{level} LUFS" if level is not None else ""
    return file.path, told.get("length", ""), told.get("format", ""), loudness


def _made(transfer: Transfer) -> Iterator[Block]:
    told = tuple((one.id, inline(one, but=("id",))) for one in transfer.captures)
    if len(told) > _MOST_TOLD:
        yield Heading(text="How the captures were made")
        yield Table(caption="What is told of each capture", titles=("Capture", "Told"), rows=told)
        return
    for name, text in told:
        yield Heading(text=f"How capture {name} was made")
        yield from rows([("what is told", text)])


def _facts(file: FileRecord) -> AudioFacts | None:
    return file.measured or (file.stated.measured if file.stated else None)


def _file(file: FileRecord) -> Iterator[tuple[str, str]]:
    yield "size", size(file.octets)
    if file.pcm is not None:
        channels = counted(file.pcm.channels, "channel")
        yield "format", f"{file.pcm.sample_rate_hz} Hz, {file.pcm.coding}, {channels}"
        frames = file.frames or 0
        length = clock_time(frames, file.pcm.sample_rate_hz)
        yield "length", f"{length} ({counted(frames, 'sample')} a channel)"


def _measured(file: FileRecord, transfer: Transfer | None) -> Iterator[tuple[str, str]]:
    facts = _facts(file)
    if facts is not None:
        yield "loudness", _loudness(facts)
        yield from (*measured.channels(facts), *measured.together(facts))
    yield from measured.regions(file, transfer)
    if file.print_through is not None:
        yield "print-through", measured.echoes(file.print_through)
    yield from (("flux", measured.scale(one)) for one in file.scales)
    if facts is not None:
        yield "samples' SHA-256", facts.essence_sha256


def _loudness(facts: AudioFacts) -> str:
    told = [
        f"{name} {value} {unit}"
        for name, value, unit in (
            ("integrated", facts.integrated_lufs, "LUFS"),
            ("range", facts.range_lu, "LU"),
            ("highest momentary", facts.momentary_max_lufs, "LUFS"),
            ("highest short-term", facts.short_term_max_lufs, "LUFS"),
            ("true peak", facts.true_peak_dbtp, "dBTP"),
        )
        if value is not None
    ]
    return "\n".join(told) or "nothing to measure"


def _said(file: FileRecord) -> Iterator[tuple[str, str]]:
    yield "container", file.container.form
    yield from (
        ("damage", f"octet {damage.offset}: {damage.text}") for damage in file.container.damage
    )
    said = file.embedded
    if said is None:
        return
    yield "its header says", said.description
    yield "made by", said.originator
    yield "made on", f"{said.origination_date} {said.origination_time}".strip()
    history = (
        ",".join(f"{key}={value}" for key, value in line.parameters) for line in said.coding_history
    )
    yield "coding history", "\n".join(history)


def _heard(transfer: Transfer, dossier: Dossier) -> Iterator[Block]:
    at = times(dossier)

    def where(one: SignalNote) -> str:
        until = f"–{at.at(one.capture, one.end)}" if one.end is not None else ""
        return f"{one.capture}\n{at.at(one.capture, one.start)}{until}"

    if transfer.signal_notes:
        yield Heading(text="Heard or seen in the signal")
        yield Table(
            caption="Each note with the place where its cause lives",
            titles=("Where", "What", "Lives in", "Told by", "More"),
            rows=tuple(
                (
                    where(one),
                    one.heard,
                    one.lives_in or "not stated",
                    ", ".join(part for part in (who(transfer, one.by), one.noticed) if part),
                    "; ".join(
                        part
                        for part in (
                            f"channel {one.channel}" if one.channel else "",
                            one.note or "",
                            *absent(one),
                        )
                        if part
                    ),
                )
                for one in transfer.signal_notes
            ),
        )
