"""In which format the masters are, and so what they are called."""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.records.dossier import FileRecord
from tailsout.records.transfer import Transfer
from tailsout.wave import foreign
from tailsout.wave.streaminfo import hindrance

NOT_FLAC = Kind(
    code="master-not-flac",
    severity=Severity.NOTE,
    title="A master that its recipient wants as FLAC stays a wave file",
    basis="own rule: FLAC has integers of up to 8 channels and blocks of less than 16 MiB; "
    "libsndfile writes 8, 16 and 24 bits",
    remedy="Nothing to do; tell the recipient.",
)
KINDS = (NOT_FLAC,)


def wants_flac(transfer: Transfer | None) -> bool:
    """Tell whether the recipient wants the masters as FLAC."""
    return bool(transfer and transfer.recipient and transfer.recipient.master_format == "FLAC")


def master_path(transfer: Transfer | None, file: FileRecord) -> str:
    """Return the path in the package of the master that is made of a capture's `file`."""
    is_flac = wants_flac(transfer) and not _why_not(file)
    return naming.master_path(file.path, "flac" if is_flac else "wav")


def stays_wave(transfer: Transfer, file: FileRecord) -> tuple[Finding, ...]:
    """Say why a master stays a wave file though FLAC is wanted, if it does."""
    why = _why_not(file)
    if not wants_flac(transfer) or not why:
        return ()
    place = Place(file=master_path(transfer, file))
    return (NOT_FLAC.at(place, f"FLAC does not hold {why}."),)


def _why_not(file: FileRecord) -> str:
    if file.pcm is None or file.frames is None:
        return "audio that is not known"
    why = hindrance(file.frames * file.pcm.frame_octets, file.pcm)
    return why or next(_outsize(file), "")


def _outsize(file: FileRecord) -> Iterator[str]:
    """Name the chunks that no block can keep; a FLAC file kept its own in blocks already."""
    for chunk in file.container.chunks:
        if file.container.form != "FLAC" and chunk.id != "data" and not foreign.fits(chunk.octets):
            yield f"a {printable(chunk.id)} chunk of {chunk.octets} octets (it takes 16 MiB)"
