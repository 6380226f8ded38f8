"""Which format a file of a package is in: its name, its PRONOM id, its media type.

PRONOM identifiers are those of signature file 109. Audio is told by what was read of it, an access
copy by what its master's side-car says, a picture or a PDF by its octets if they say their version,
any other file by the ending of its name alone. An ending gives an identifier only where the
registry itself knows no other sign and no versions; which version of XML a file is in would have to
be read.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from tailsout.mapping import naming
from tailsout.records.dossier import FileRecord
from tailsout.records.vocab import CopyFormat
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
_FLAC = Format(name="FLAC", media_type="audio/flac", pronom="fmt/279")
"""One identifier, after version 1.2.1 of its library, is all the registry has. RFC 9639."""
_COPIES: Mapping[CopyFormat, Format] = {
    # The encoder writes a `fmt ` chunk of 16 octets.
    "WAV": Format(name="WAVE", media_type=_WAVE, pronom=_PLAIN["PCM"]),
    "FLAC": _FLAC,
    # RFC 3003
    "MP3": Format(name="MPEG 1/2 Audio Layer 3", media_type="audio/mpeg", pronom="fmt/134"),
    # RFC 7845 §9
    "Opus": Format(name="Opus in Ogg", media_type="audio/ogg", pronom="fmt/946"),
}
_JPEG, _PNG, _PDF = "image/jpeg", "image/png", "application/pdf"
_BY_OCTETS = {
    pronom: Format(name=name, version=version, media_type=media_type, pronom=pronom)
    for name, media_type, versions in (
        ("GIF", "image/gif", {"fmt/3": "87a", "fmt/4": "89a"}),
        ("JPEG", _JPEG, {"fmt/42": "JFIF 1.00", "fmt/43": "JFIF 1.01", "fmt/44": "JFIF 1.02"}),
        ("JPEG", _JPEG, {"x-fmt/398": "Exif 2.0", "x-fmt/390": "Exif 2.1"}),
        ("JPEG", _JPEG, {"x-fmt/391": "Exif 2.2", "fmt/645": "Exif 2.2.1", "fmt/1507": "Exif 2.3"}),
        ("PDF", _PDF, {"fmt/14": "1.0", "fmt/15": "1.1", "fmt/16": "1.2", "fmt/17": "1.3"}),
        ("PDF", _PDF, {"fmt/18": "1.4", "fmt/19": "1.5", "fmt/20": "1.6", "fmt/276": "1.7"}),
        ("PDF", _PDF, {"fmt/1129": "2.0"}),
        ("PNG", _PNG, {"fmt/11": "1.0", "fmt/12": "1.1", "fmt/13": "1.2"}),
        ("TIFF", "image/tiff", {"fmt/353": ""}),
    )
    for pronom, version in versions.items()
}
_BY_ENDING = {
    "csv": Format(name="CSV", media_type="text/csv", pronom="x-fmt/18"),
    "gif": Format(name="GIF", media_type="image/gif"),
    "jpeg": Format(name="JPEG", media_type=_JPEG),
    "jpg": Format(name="JPEG", media_type=_JPEG),
    "json": Format(name="JSON", media_type="application/json", pronom="fmt/817"),
    "pdf": Format(name="PDF", media_type=_PDF),
    "png": Format(name="PNG", media_type=_PNG),
    "svg": Format(name="SVG", media_type="image/svg+xml"),
    "tif": Format(name="TIFF", media_type="image/tiff"),
    "tiff": Format(name="TIFF", media_type="image/tiff"),
    "txt": Format(name="plain text", media_type="text/plain", pronom="x-fmt/111"),
    "xml": Format(name="XML", media_type="application/xml"),
}
_UNKNOWN = Format(name="not identified", media_type="application/octet-stream")


def format_of(file: PayloadFile) -> Format:
    """Say in which format a file is."""
    record = file.record
    if file.copied is not None:
        return _COPIES[file.copied.told.format]
    if record is not None and record.container.form == "FLAC":
        return _FLAC
    if record is not None and record.container.form in {"RIFF", "RF64", "BW64"}:
        return _wave(record)
    if naming.is_wave(file.path):
        return Format(name="WAVE", media_type=_WAVE)
    if file.pronom:
        return _BY_OCTETS[file.pronom]
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
