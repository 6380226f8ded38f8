"""What is said of each thing in a package, as labels and texts, for descriptions without fields."""

from collections.abc import Iterator

from tailsout.ground.units import counted
from tailsout.records.dossier import FileRecord
from tailsout.records.transfer import Transfer
from tailsout.views.packaged import Packaged, Stretch
from tailsout.views.rows import inline, pairs

Details = Iterator[tuple[str, str]]

_REEL_ELSEWHERE = ("identifiers", "sides", "events", "condition", "custody", "title")
"""What of a reel is an identifier, a region, an event or a name."""
_OF_TRANSFER = frozenset(
    {
        "package id",
        "note",
        "kind",
        "not played because",
        "not played category",
        "commission",
        "not stated",
    }
)
_TABLES = ("channels", "clipped_runs", "pairs", "gaps", "dropouts", "lines", "hum")
"""What of measured facts is a table of its own, which the side-car holds."""


def recording(transfer: Transfer) -> Details:
    """Yield what is said of the recording, but its rights."""
    if transfer.recording is not None:
        yield from pairs(transfer.recording, but=("rights",))
    if transfer.work is not None:
        yield "work", inline(transfer.work)


def reel(packaged: Packaged, transfer: Transfer) -> Details:
    """Yield what is said of the reel, and of what no file of the package holds."""
    yield from pairs(transfer.reel, but=_REEL_ELSEWHERE)
    for side in transfer.reel.sides:
        yield "side", inline(side, but=("regions",))
    in_files = {one.pointer for one in packaged.stretches}
    for pointer, side, region in packaged.regions():
        if pointer not in in_files:
            yield "region", f"side {side.id}: {inline(region)}"
    yield from (("identifier", inline(one)) for one in transfer.reel.identifiers)
    yield from (("correction", inline(one)) for one in transfer.corrections)
    heard = {file.record.capture for file in packaged.files if file.record is not None}
    for note in transfer.signal_notes:
        if note.capture not in heard:
            yield "signal note", inline(note)


def package(packaged: Packaged) -> Details:
    """Yield what bag-info says, and what is stated of the transfer as a whole."""
    yield from ((f"bag-info {label}", value) for label, value in packaged.bag_info)
    if packaged.transfer is not None:
        yield from (pair for pair in pairs(packaged.transfer) if pair[0] in _OF_TRANSFER)


def file(packaged: Packaged, record: FileRecord) -> Details:
    """Yield what is known of an audio file beside its format."""
    stated = record.stated
    if record.pcm is not None:
        pcm = record.pcm
        yield "audio", f"{pcm.coding}, {pcm.sample_rate_hz} Hz, {counted(pcm.channels, 'channel')}"
    if record.frames is not None:
        yield "samples a channel", str(record.frames)
    if stated is None:
        return
    yield "SHA-256 of the audio data alone", stated.measured.essence_sha256
    yield "made", stated.made
    yield from (("made from", inline(one)) for one in stated.sources)
    measured = pairs(stated.measured, but=("essence_sha256", "frames", "sample_rate_hz", *_TABLES))
    yield from ((f"measured {label}", text) for label, text in measured)
    for note in packaged.transfer.signal_notes if packaged.transfer is not None else ():
        if note.capture == stated.capture:
            yield "signal note", inline(note)


def stretch(one: Stretch) -> Details:
    """Yield what is said of a region as far as it lies in a file."""
    end = str(one.end) if one.end is not None else "the end"
    yield "samples of the file", f"{one.start} to {end}"
    yield "side", one.side.id
    yield from pairs(one.region)
