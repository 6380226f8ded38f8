"""The signal chain from head to file: its order, its converter, what was done to it."""

from collections.abc import Iterator, Mapping, Sequence

from tailsout.ground.findings import Finding, Kind, Severity
from tailsout.ground.units import printable
from tailsout.records.chain import Chain, ChainStep
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import StepKind
from tailsout.rules.placed import placed
from tailsout.rules.rule import Rule, transfer_of

CHAIN_ORDER = Kind(
    code="chain-out-of-order",
    severity=Severity.QUERY,
    title="The steps of the chain are not in the order in which a signal can take them",
    basis="own rule: steps are listed from head to file; what is digital was converted",
    remedy="The engineer says which way the signal went.",
)
CONVERTER_UNNAMED = Kind(
    code="converter-unnamed",
    severity=Severity.QUERY,
    title="Nothing names the converter that made the signal digital",
    basis="own rule: the converter is part of what a file is",
    remedy="The engineer names it, or says that nobody knows.",
)
CONVERTER_DIFFERS = Kind(
    code="converter-differs",
    severity=Severity.QUERY,
    title="The converter of the chain is not the one that the session names",
    basis="own rule: what is stated twice is stated alike; told by the serial number",
    remedy="The engineer says which converter was used.",
)
TAP_DIFFERS = Kind(
    code="output-tap-differs",
    severity=Severity.QUERY,
    title="The chain goes through a transformer, the output is stated to be taken before it",
    basis="own rule: what is taken before the line transformer does not pass it",
    remedy="The engineer says which output was used, or what the transformer is.",
)
DECODING_UNSAID = Kind(
    code="decoding-unsaid",
    severity=Severity.QUERY,
    title="A region was recorded with noise reduction, and nothing says whether it was decoded",
    basis="own rule: without it nobody can tell how the transfer is to be heard",
    remedy="The engineer says whether it was decoded in the transfer, left for later, or unknown.",
)
NOT_FLAT = Kind(
    code="capture-altered",
    severity=Severity.QUERY,
    title="A capture was changed after it was made: rate or level",
    basis="common practice, no source: a preservation master is a flat transfer (IASA-TC 03 § 8)",
    remedy="The engineer says why, and whether the capture as it was made is still there.",
)

_RANKS: Mapping[StepKind, int] = {
    "reproduce head": 0,
    "reproduce amplifier": 1,
    "machine output": 2,
    "converter": 3,
    "recorder": 4,
}
_CONVERTS = frozenset[StepKind]({"converter", "interface", "recorder"})


def _chains(transfer: Transfer) -> Iterator[tuple[str, Chain]]:
    if transfer.chain is not None:
        yield "/chain", transfer.chain
        return
    for s, session in enumerate(transfer.sessions):
        if session.chain is not None:
            yield f"/sessions/{s}/chain", session.chain


def _order(dossier: Dossier) -> Iterator[Finding]:
    for pointer, chain in _chains(transfer_of(dossier)):
        for index, text in _misplaced(chain.steps):
            yield CHAIN_ORDER.at(dossier.place(f"{pointer}/steps/{index}"), text)


def _misplaced(steps: Sequence[ChainStep]) -> Iterator[tuple[int, str]]:
    highest, is_digital = -1, False
    for index, step in enumerate(steps):
        # Back to analogue and on again is a way that a signal can take, by a converter.
        if is_digital and step.kind == "converter" and step.signal == "analogue":
            highest, is_digital = -1, False
            continue
        if is_digital and step.signal == "analogue":
            yield index, f"the {step.kind} is analogue, behind a step that is digital."
            continue
        rank = _RANKS.get(step.kind, highest)
        if rank < highest and step.signal != "digital":
            yield index, f"the {step.kind} stands behind what it comes before."
        elif step.signal == "digital" and not is_digital and step.kind not in _CONVERTS:
            yield index, f"the {step.kind} is digital, and nothing before it converts."
        highest = max(highest, rank)
        is_digital = is_digital or step.signal == "digital"


def _converter(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    known = {one.id: one for one in transfer.converters}
    named = {one.converter for one in transfer.sessions} & known.keys()
    serials = {known[one].serial for one in named if one is not None} - {None}
    for pointer, chain in _chains(transfer):
        steps = [(i, one) for i, one in enumerate(chain.steps) if one.kind == "converter"]
        for index, step in steps:
            place = dossier.place(f"{pointer}/steps/{index}")
            if step.device is None and "device" not in step.absent and not named:
                yield CONVERTER_UNNAMED.at(place, "the step names no device.")
            is_other = step.serial is not None and step.serial not in serials
            if len(steps) == 1 and serials and is_other:
                listed = ", ".join(sorted(printable(one or "", 40) for one in serials))
                serial = printable(step.serial or "", 40)
                text = f"the chain has {serial!r}, the session's converter {listed!r}."
                yield CONVERTER_DIFFERS.at(place, text)
        # A recorder may hold one; then it is named by that.
        holds = any(one.kind == "recorder" and one.device is not None for one in chain.steps)
        if chain.steps and not steps and not named and not holds and "steps" not in chain.absent:
            place = dossier.place(f"{pointer}/steps")
            yield CONVERTER_UNNAMED.at(place, "no step is a converter or a named recorder.")


def _tap(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    passed = [
        step for _, chain in _chains(transfer) for step in chain.steps if step.kind == "transformer"
    ]
    for p, run in enumerate(transfer.passes):
        before = run.set_up is not None and run.set_up.output_tap == "before the line transformer"
        if before and passed and run.kept is not False:
            name = printable(passed[0].device or "a transformer", 80)
            text = f"pass {printable(run.id)!r}, and the chain goes through {name!r}."
            yield TAP_DIFFERS.at(dossier.place(f"/passes/{p}/set_up/output_tap"), text)


def _decoding(dossier: Dossier) -> Iterator[Finding]:
    transfer = transfer_of(dossier)
    if transfer.kind == "retrospective":
        return
    is_a_step = any(
        step.kind == "noise reduction" for _, one in _chains(transfer) for step in one.steps
    )
    for one in placed(transfer):
        system = one.region.noise_reduction
        if system is None or system.casefold() in {"none", "no", "off"} or one.run is None:
            continue
        decoder, set_up = one.run.decoder, one.run.set_up
        is_told = (
            (decoder is not None and (decoder.decoding is not None or "decoding" in decoder.absent))
            or "decoder" in one.run.absent
            or (set_up is not None and set_up.noise_reduction is not None)
            or is_a_step
        )
        if not is_told:
            text = f"region {printable(one.region.id)!r}: {printable(system, 80)}."
            yield DECODING_UNSAID.at(dossier.place(f"{one.pointer}/noise_reduction"), text)


def _flat(dossier: Dossier) -> Iterator[Finding]:
    for c, capture in enumerate(transfer_of(dossier).captures):
        for key, is_so, what in (
            ("rate_converted", capture.rate_converted, "its rate was converted"),
            ("normalised", capture.normalised, "its level was changed"),
        ):
            if is_so:
                text = f"capture {printable(capture.id)!r}: {what}."
                yield NOT_FLAT.at(dossier.place(f"/captures/{c}/{key}"), text)


RULES = (
    Rule(
        name="order of the chain",
        kinds=(CHAIN_ORDER,),
        needs=frozenset({"statements"}),
        run=_order,
    ),
    Rule(
        name="converter of the chain",
        kinds=(CONVERTER_UNNAMED, CONVERTER_DIFFERS),
        needs=frozenset({"statements"}),
        run=_converter,
    ),
    Rule(
        name="output against the chain",
        kinds=(TAP_DIFFERS,),
        needs=frozenset({"statements"}),
        run=_tap,
    ),
    Rule(
        name="noise reduction and decoding",
        kinds=(DECODING_UNSAID,),
        needs=frozenset({"statements"}),
        run=_decoding,
    ),
    Rule(
        name="flat transfer",
        kinds=(NOT_FLAT,),
        needs=frozenset({"statements"}),
        run=_flat,
    ),
)
