"""What the commands tell other programs: one JSON object an input, each kind with its schema.

Also `checks.json` and the receipt, which are kept beside or in a package.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from tailsout.ground.damage import Damage
from tailsout.ground.findings import Finding, Judgement, Verdict
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import printable
from tailsout.mapping.plain import plain
from tailsout.mapping.schemas import urn
from tailsout.records.bag_state import BagState
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.comparison import Comparison
from tailsout.records.dossier import Depth, FileRecord
from tailsout.records.fingerprint import Fingerprint
from tailsout.records.gate import Gate, Part
from tailsout.records.marks import Marks
from tailsout.records.session import Reading
from tailsout.records.sound import AudioFacts
from tailsout.records.tags import Tags
from tailsout.records.tones import ToneFacts
from tailsout.wave.known import what_is

MEASURE = urn("measure-0.1")
TONES = urn("tones-0.1")
CHECK = urn("check-0.1")
BATCH = urn("batch-0.1")
COMPARE = urn("compare-0.1")
SHOW = urn("show-0.1")
GATE = urn("gate-0.1")
RECEIPT = urn("receipt-0.1")


def measured(
    path: str, pcm: Pcm, facts: AudioFacts, damage: Iterable[Damage] = ()
) -> dict[str, Any]:
    """Return what `measure --json` says of one file."""
    told = [_damage(one) for one in damage]
    return {
        "schema": MEASURE,
        "path": printable(path),
        "pcm": plain(pcm),
        **plain(facts),
        **({"damage": told} if told else {}),
    }


def toned(
    path: str,
    pcm: Pcm,
    facts: ToneFacts,
    *,
    readings: Iterable[Reading],
    notes: Iterable[str],
    damage: Iterable[Damage],
) -> dict[str, Any]:
    """Return what `tones --json` says of one capture of line-up tones."""
    more = {
        "readings": [plain(one) for one in readings],
        "notes": list(notes),
        "damage": [_damage(one) for one in damage],
    }
    return {
        "schema": TONES,
        "path": printable(path),
        "pcm": plain(pcm),
        **plain(facts),
        **{key: one for key, one in more.items() if one},
    }


def compared(first: str, second: str, found: Comparison) -> dict[str, Any]:
    """Return what `compare --json` says of two passes."""
    paths = {"first_path": printable(first), "second_path": printable(second)}
    return {"schema": COMPARE, **paths, **plain(found)}


def judged(
    name: str, judgement: Judgement, software: str, bag: BagState | None = None
) -> dict[str, Any]:
    """Return what `check --json` says of one package; also what `checks.json` holds."""
    return {
        "schema": CHECK,
        "path": printable(name),
        "software": software,
        "verdict": judgement.verdict.value,
        **({"bag": _bag(bag)} if bag is not None else {}),
        "findings": [_finding(finding) for finding in judgement.findings],
        "checks": [
            {
                "name": check.name,
                "outcome": check.outcome,
                **({"why": check.why} if check.why else {}),
            }
            for check in judgement.checks
        ],
    }


def together(
    findings: Iterable[Finding], software: str, *, packages: int, compared: int
) -> dict[str, Any]:
    """Return what `check --json` says of several packages together."""
    return {
        "schema": BATCH,
        "software": software,
        "packages": packages,
        "compared": compared,
        "findings": [_finding(finding) for finding in findings],
    }


def looked_at(
    depth: Depth,
    *,
    bagit_only: bool,
    bagit_profile: BagItProfile | None = None,
    official_schemas: bool = False,
    judged: str = "",
    fingerprint: Fingerprint | None = None,
    marks: Marks | None = None,
) -> dict[str, Any]:
    """Return what `check --json` says of how deep it looked, when, and at what.

    What is the same whenever the same is asked stands alone if the last three are not given.
    """
    return {
        "depth": depth.value,
        **({"bagit_only": True} if bagit_only else {}),
        **({"fixity": "not checked"} if depth is Depth.STRUCTURE else {}),
        **({"bagit_profile": _profile(bagit_profile)} if bagit_profile is not None else {}),
        **({"official_schemas": True} if official_schemas else {}),
        **({"judged": judged} if judged else {}),
        **({"seen": plain(fingerprint)} if fingerprint is not None else {}),
        **({"marks": plain(marks)} if marks is not None and marks.masters else {}),
    }


def _profile(profile: BagItProfile) -> dict[str, str]:
    return {"identifier": printable(profile.identifier), "sha256": profile.sha256}


def _bag(bag: BagState) -> dict[str, Any]:
    return {
        "state": bag.word,
        "not_verified": [
            {"why": one.why, "count": one.count, "paths": [printable(path) for path in one.paths]}
            for one in bag.not_verified
        ],
    }


def shown(path: str, file: FileRecord, findings: Iterable[Finding]) -> dict[str, Any]:
    """Return what `show --json` says of one audio file."""
    tags = file.tags or Tags()
    said = plain(tags)
    said.pop("list_types", None)
    for document in said.get("documents", ()):
        document.pop("all_text", None)
    return {
        "schema": SHOW,
        "path": printable(path),
        "form": file.container.form,
        "octets": file.octets,
        **({"pcm": plain(file.pcm)} if file.pcm is not None else {}),
        **({"frames": file.frames} if file.frames is not None else {}),
        "chunks": [
            {
                "id": printable(one.id),
                "offset": one.offset,
                "octets": one.octets,
                "pad": one.pad,
                "what": printable(what_is(one.id, tags.list_types.get(one.offset, ""))),
            }
            for one in file.container.chunks
        ],
        **({"bext": _printable(plain(file.embedded))} if file.embedded is not None else {}),
        **({"tags": _printable(said)} if said else {}),
        "damage": [_damage(one) for one in file.container.damage],
        "findings": [_finding(one) for one in findings],
    }


def gated(path: str, gate: Gate, verdict: Verdict) -> dict[str, Any]:
    """Return what `gate --json` says of one job."""
    sheet = gate.sheet
    lists = {
        "stops": sheet.stops if sheet is not None else (),
        "needs_reel": gate.needs_reel,
        "at_desk": gate.at_desk,
        "before_boxing": gate.before_boxing,
    }
    return {
        "schema": GATE,
        "path": printable(path),
        "stage": gate.stage,
        "why": printable(gate.why),
        "word": gate.word,
        "answer": gate.answer,
        "because": [printable(one) for one in gate.because],
        "is_whole": gate.is_whole,
        "verdict": verdict.value,
        **{key: [_finding(one) for one in findings] for key, findings in lists.items()},
        "notes": gate.notes,
        "parts": [_part(one) for one in (*(sheet.parts if sheet else ()), *gate.parts)],
        "cautions": [printable(one) for one in (sheet.cautions if sheet else ())],
    }


def _part(part: Part) -> dict[str, Any]:
    return {
        "title": printable(part.title),
        "entries": [
            {
                "label": printable(one.label),
                **({"says": printable(one.says)} if one.says is not None else {}),
            }
            for one in part.entries
        ],
    }


def _damage(damage: Damage) -> dict[str, Any]:
    return {"kind": damage.kind, "offset": damage.offset, "text": printable(damage.text)}


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "place": printable(str(finding.place)),
        "text": printable(finding.text),
        "basis": finding.kind.basis,
        "remedy": finding.kind.remedy,
        "needs_reel": finding.kind.needs_reel,
        **({"answer_at": finding.answer_at} if finding.answer_at else {}),
        **({"answered": finding.answered} if finding.answered else {}),
    }


def _printable(value: Any) -> Any:  # noqa: ANN401  any JSON value
    """Return plain data with every text of it made safe to print."""
    if isinstance(value, dict):
        return {key: _printable(inside) for key, inside in value.items()}
    if isinstance(value, list):
        return [_printable(inside) for inside in value]
    return printable(value) if isinstance(value, str) else value


def could_not(schema: str, path: str, sentence: str, exit_code: int) -> dict[str, Any]:
    """Return what stands for an input that could not be worked on."""
    return {
        "schema": schema,
        "path": printable(path),
        "error": printable(sentence),
        "exit_code": exit_code,
    }


def receipt(
    *,
    package_id: str,
    committed: str,
    software: str,
    durability: str,
    not_promised: Sequence[str],
    files: int,
    octets: int,
    tag_manifests: Mapping[str, Mapping[str, str]],
    masters: Iterable[Mapping[str, str]],
    judgement: Judgement,
) -> dict[str, Any]:
    """Return the proof that lies beside a committed package."""
    return {
        "schema": RECEIPT,
        "package_id": package_id,
        "committed": committed,
        "software": software,
        "durability": durability,
        **({"not_promised": list(not_promised)} if not_promised else {}),
        "read_back": "every file was read from the disk again and its digests agreed",
        "files": files,
        "octets": octets,
        "tag_manifests": {name: dict(digests) for name, digests in tag_manifests.items()},
        "masters": [dict(master) for master in masters],
        "verdict": judgement.verdict.value,
        "checks": [{"name": c.name, "outcome": c.outcome} for c in judgement.checks],
    }
