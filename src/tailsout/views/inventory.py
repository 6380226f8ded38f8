"""metadata/inventory.csv: the package as one row for a catalogue (RFC 4180), under its headings."""

from collections.abc import Iterable, Mapping

from tailsout.ground.findings import Finding
from tailsout.ground.units import clock_time, plain, printable
from tailsout.mapping import csv_rows
from tailsout.mapping.history import equalisation_text
from tailsout.records.dossier import Dossier
from tailsout.views import dublin_core
from tailsout.views.packaged import Packaged

_FROM_DUBLIN_CORE = (
    *("title", "identifier", "creator", "contributor", "date", "description", "coverage"),
    *("language", "relation", "source", "rights", "type", "format"),
)
_LOSSES = (
    "The row holds what a catalogue asks for; all else stands in the side-car.",
    "Several values of one kind stand in one cell, parted by semicolons.",
    "What a spreadsheet could take for a formula has an apostrophe before it.",
)


def render(dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]) -> bytes:
    """Return both lines. `assets` holds nothing that this view needs."""
    del findings, assets
    row = columns(Packaged(dossier))
    return csv_rows.write(tuple(row), [[printable(one, 20_000) for one in row.values()]])


def lost(dossier: Dossier) -> tuple[str, ...]:
    """Say what one row does not hold, a sentence each."""
    del dossier
    return _LOSSES


def columns(packaged: Packaged) -> dict[str, str]:
    """Return headings and cells."""
    said: dict[str, list[str]] = {name: [] for name in _FROM_DUBLIN_CORE}
    for name, value in dublin_core.said(packaged):
        said[name].append(value)
    row = {"package": packaged.name} | {name: _joined(values) for name, values in said.items()}
    return row | _of_tape(packaged) | _of_files(packaged)


def _of_tape(packaged: Packaged) -> dict[str, str]:
    reel = packaged.transfer.reel if packaged.transfer is not None else None
    regions = [region for _, _, region in packaged.regions()]
    curves = [region.equalisation for region in regions if region.equalisation is not None]
    return {
        "bases": _joined(s.base for s in reel.stock if s.base) if reel is not None else "",
        "speeds_ips": _joined(plain(r.speed_ips) for r in regions if r.speed_ips is not None),
        "equalisations": _joined(equalisation_text(curve) for curve in curves),
        "tracks": _joined(r.tracks for r in regions if r.tracks),
        "sides": str(len(reel.sides)) if reel is not None else "",
    }


def _of_files(packaged: Packaged) -> dict[str, str]:
    audio = [file.record for file in packaged.files if file.record is not None]
    lengths = [
        clock_time(one.frames, one.pcm.sample_rate_hz)
        for one in audio
        if one.frames is not None and one.pcm is not None
    ]
    return {
        "audio_files": str(len(audio)),
        "durations": "; ".join(lengths),
        "octets": str(sum(file.octets for file in packaged.files)),
        "made": packaged.made_at,
    }


def _joined(values: Iterable[str]) -> str:
    return "; ".join(dict.fromkeys(" ".join(value.split()) for value in values))
