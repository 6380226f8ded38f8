"""Machine, care, calibration and converter: what the reel was played with, and what that proved."""

from collections.abc import Iterator, Mapping

from markupsafe import Markup

from tailsout.ground.findings import Finding
from tailsout.ground.units import plain
from tailsout.mapping import naming
from tailsout.records.calibration import CalibrationFacts
from tailsout.records.dossier import Dossier
from tailsout.records.machine import Machine
from tailsout.records.session import CalibrationSetting, Session
from tailsout.records.tones import ToneFacts
from tailsout.records.transfer import Transfer
from tailsout.views import measured
from tailsout.views.report.blocks import Block, Drawing, Heading, Paragraph, Table, rows
from tailsout.views.report.wording import moment, who
from tailsout.views.rows import inline, pairs

PLOT = "response"
"""Which plot of a calibration tape is shown."""
_CAUTION = (
    "Whoever opens a machine, sets it or cleans it anew keeps to its maker's manual and the local "
    "rules; what is told here is what was done then, and no instruction."
)


def blocks(
    dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]
) -> Iterator[Block]:
    """Yield the section; nothing where neither machine nor calibration is told."""
    del findings
    transfer = dossier.transfer
    if transfer is not None:
        for machine in transfer.machines:
            yield from _machine(machine, transfer)
        yield from _set_ups(transfer)
        for session in transfer.sessions:
            yield from _session(session, transfer)
        yield from _listed(transfer)
    for one in dossier.calibrations:
        yield from _proved(one, assets)
    for rest in dossier.at_rest:
        floors = [
            f"channel {number} noise floor {channel.noise_floor_dbfs} dBFS"
            for number, channel in enumerate(rest.measured.channels if rest.measured else (), 1)
            if channel.noise_floor_dbfs is not None
        ]
        yield Heading(text="The chain with no tape moving")
        yield from rows([("file", rest.path), ("measured", "\n".join(floors))])


def _machine(one: Machine, transfer: Transfer) -> Iterator[Block]:
    name = " ".join(part for part in (one.maker, one.model) if part)
    yield Heading(text=f"Machine {name or one.id}")
    yield from rows(pairs(one, but=("maker", "model", "care", "inherited_from")))
    if one.care:
        yield Table(
            caption=f"Care of {name or one.id}, as its maintenance log has it",
            titles=("When", "What", "By", "More"),
            rows=tuple(
                (
                    moment(care.on) or "no date",
                    care.kind,
                    who(transfer, care.by),
                    inline(care, but=("kind", "on", "by")),
                )
                for care in one.care
            ),
        )
        yield Paragraph(text=_CAUTION)


def _set_ups(transfer: Transfer) -> Iterator[Block]:
    for one in transfer.passes:
        if one.set_up is not None:
            yield Heading(text=f"How it was set for pass {one.id}")
            yield from rows(pairs(one.set_up))


def _session(one: Session, transfer: Transfer) -> Iterator[Block]:
    yield Heading(text=f"Session {one.id}")
    # What a pass or the transfer took over as it is stands there already.
    taken_over = [*(used.set_up for used in transfer.passes), transfer.chain]
    repeated = [key for key in ("set_up", "chain") if getattr(one, key) in taken_over]
    if one.by:
        yield from rows([("by", who(transfer, one.by))])
    yield from rows(pairs(one, but=("id", "by", "settings", "inherited_from", *repeated)))
    yield from rows((f"setting {setting.id}", _setting(setting)) for setting in one.settings)


def _setting(one: CalibrationSetting) -> str:
    """Write a setting, and each reading on a line of its own."""
    told = [inline(one, but=("id", "as_found", "as_left"))]
    for moment_of, readings in (("as found", one.as_found), ("as left", one.as_left)):
        told += (f"{moment_of}: {inline(reading)}" for reading in readings)
    return "\n".join(part for part in told if part) or "nothing more is told"


def _listed(transfer: Transfer) -> Iterator[Block]:
    for converter in transfer.converters:
        yield Heading(text=f"Converter {converter.id}")
        yield from rows(pairs(converter, but=("id", "inherited_from")))
    for tape in transfer.calibration_tapes:
        yield Heading(text=f"Calibration tape {tape.id}")
        yield from rows(pairs(tape, but=("id", "tones", "inherited_from")))


def _proved(one: CalibrationFacts, assets: Mapping[str, bytes]) -> Iterator[Block]:
    yield Heading(text=f"What the calibration tape showed: setting {one.setting}, {one.moment}")
    yield Paragraph(text=f"{measured.calibration(one)}.")
    plot = assets.get(naming.tone_plot_path(one, PLOT))
    if plot is not None:
        where = naming.tone_plot_path(one, PLOT)
        yield Drawing(svg=_inline(plot), caption=f"{where} in the package, with its other plots")
    if one.tones is not None:
        yield from _levels(one, one.tones)


def _inline(plot: bytes) -> Markup:
    """Return a plot, drawn by our own, as a part of this page."""
    text = plot.decode("utf-8")
    return Markup(text[text.index("<svg") :].strip())  # noqa: S704  ours: no stranger's file


def _levels(one: CalibrationFacts, tones: ToneFacts) -> Iterator[Block]:
    told = [
        (
            f"{plain(tone.listed.frequency_hz if tone.listed else tone.frequency_hz)} Hz",
            "\n".join(
                f"channel {level.channel}: {level.deviation_db:+} dB"
                for level in tone.channels
                if level.deviation_db is not None
            ),
            f"± {plain(tone.listed.tolerance_db)} dB"
            if tone.listed and tone.listed.tolerance_db is not None
            else "",
            "\n".join(
                {True: "within", False: "beyond", None: "–"}[level.is_within]
                + (", may be fringing" if level.may_be_fringing else "")
                for level in tone.channels
                if level.deviation_db is not None
            ),
        )
        for tone in tones.tones
        if any(level.deviation_db is not None for level in tone.channels)
    ]
    if told:
        yield Table(
            caption=f"Tones of {one.tape or 'the tape'} against its certificate",
            titles=("Tone", "Deviation", "Tolerance", "Verdict"),
            rows=tuple(told),
        )
