"""Which format a file of a package is in: its name, its PRONOM id, its media type.

PRONOM identifiers are those of signature file 109. A wave file is told by what was read of it; any
other file by the ending of its name alone, and without an identifier.
"""

from dataclasses import dataclass

from tailsout.mapping import naming
from tailsout.records.dossier import FileRecord
from tailsout.views.packaged import PayloadFile


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """A file format."""

    name: str
    media_type: str
    version: str = ""
    pronom: str = ""
    """Persistent unique identifier in the PRONOM registry; empty if none is known."""


_WAVE = "audio/vnd.wave"  # RFC 2361
_BROADCAST = {
    "PCM": ("fmt/703", "fmt/704", "fmt/705"),
    "extensible": ("fmt/709", "fmt/710", "fmt/711"),
    "": ("fmt/1", "fmt/2", "fmt/527"),
}
"""Broadcast WAVE by the version of its `bext` chunk."""
_PLAIN = {"PCM": "fmt/141", "extended": "fmt/142", "extensible": "fmt/143"}
_RF64, _RF64_BROADCAST = "fmt/712", "fmt/713"
_BY_ENDING = {
    "csv": Format(name="CSV", media_type="text/csv"),
    "gif": Format(name="GIF", media_type="image/gif"),
    "jpeg": Format(name="JPEG", media_type="image/jpeg"),
    "jpg": Format(name="JPEG", media_type="image/jpeg"),
    "json": Format(name="JSON", media_type="application/json"),
    "pdf": Format(name="PDF", media_type="application/pdf"),
    "png": Format(name="PNG", media_type="image/png"),
    "svg": Format(name="SVG", media_type="image/svg+xml"),
    "tif": Format(name="TIFF", media_type="image/tiff"),
    "tiff": Format(name="TIFF", media_type="image/tiff"),
    "txt": Format(name="plain text", media_type="text/plain"),
    "xml": Format(name="XML", media_type="application/xml"),
}
_UNKNOWN = Format(name="not identified", media_type="application/octet-stream")


def format_of(file: PayloadFile) -> Format:
    """Say in which format a file is."""
    record = file.record
    if record is not None and record.container.form == "FLAC":
        return Format(name="FLAC", media_type="audio/flac")
    if record is not None and record.container.form in {"RIFF", "RF64", "BW64"}:
        return _wave(record)
    if naming.is_wave(file.path):
        return Format(name="WAVE", media_type=_WAVE)
    return _BY_ENDING.get(file.path.rpartition(".")[2].lower(), _UNKNOWN)


def _wave(record: FileRecord) -> Format:
    bext = record.embedded.version if record.embedded is not None else None
    form = record.container.form
    if form == "RF64":
        pronom = _RF64 if bext is None else _RF64_BROADCAST
        return Format(name="RF64", media_type=_WAVE, pronom=pronom)
    if form == "BW64":
        return Format(name="BW64", media_type=_WAVE)
    coding = _coding(record)
    if bext is None:
        return Format(name="WAVE", media_type=_WAVE, pronom=_PLAIN.get(coding, ""))
    known = _BROADCAST.get(coding, _BROADCAST[""])
    pronom = known[bext] if 0 <= bext < len(known) else ""
    return Format(name="Broadcast WAVE", version=str(bext), media_type=_WAVE, pronom=pronom)


def _coding(record: FileRecord) -> str:
    """Tell the shape of a `fmt ` chunk by its length: 16, 18 or 40 octets (RFC 2361)."""
    octets = next((one.octets for one in record.container.chunks if one.id == "fmt "), 0)
    if octets == 40:
        return "extensible"
    if record.pcm is None or record.pcm.is_float:
        return "extended" if octets == 18 else ""
    return {16: "PCM", 18: "extended"}.get(octets, "")
