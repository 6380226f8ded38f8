"""In which format the masters are, and what they are called."""

from collections.abc import Iterable, Iterator

from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import naming
from tailsout.mapping.names import tree
from tailsout.mapping.names.asked import Planned, clashing, stem_of, template_of
from tailsout.mapping.names.fields import Fault, Template
from tailsout.mapping.names.filling import read_back
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
    """Return the path in the package of a master, or of the one made of a capture's `file`.

    Raises MaterialError if its recipient's template makes no name of what is known.
    """
    if file.sidecar is not None:
        return file.path
    one = planned(transfer, file)
    if one.why:
        raise MaterialError(
            f"What is made of {printable(file.path)} would have no name: {one.why}",
            "Say what is missing, or correct the template of names in the recipient's form.",
        )
    return one.path


def planned(transfer: Transfer | None, file: FileRecord) -> Planned:
    """Return where the master made of a capture's file will lie, or why that cannot be said."""
    stem = stem_of(transfer, file)
    if isinstance(stem, Fault):
        return Planned(file=file, path="", why=stem.text)
    folder = tree.folder(transfer.recipient if transfer is not None else None, "master")
    ending = "flac" if wants_flac(transfer) and not _why_not(file) else "wav"
    return Planned(file=file, path=f"{folder}/{stem}.{ending}")


def paths_of(transfer: Transfer, files: Iterable[FileRecord]) -> tuple[str, ...] | None:
    """Return the paths of all masters that are to be made of the files of captures.

    None if one would have no name or two would have one, which `rules.names` tells.
    """
    every = tuple(planned(transfer, file) for file in files)
    if next(clashing(every), None) is not None or not all(one.path for one in every):
        return None
    return tuple(one.path for one in every)


def is_master(transfer: Transfer | None, path: str) -> bool:
    """Tell by its path whether a file of a package is one of its masters."""
    lies_in, _, name = path.rpartition("/")
    stem, _, ending = name.rpartition(".")
    recipient = transfer.recipient if transfer is not None else None
    if transfer is None or lies_in != tree.folder(recipient, "master"):
        return False
    template = template_of(recipient)
    if isinstance(template, Template):
        called_so = not isinstance(read_back(template, stem), Fault)
    else:
        files = (file for one in transfer.captures for file in naming.files_of(one))
        called_so = stem in map(naming.master_stem, files)
    return called_so and ending in {"wav", "flac" if wants_flac(transfer) else "wav"}


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
