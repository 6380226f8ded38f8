"""What the commands tell other programs: one JSON object an input, each kind with its schema.

Also `checks.json` and the receipt, which are kept beside or in a package.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from tailsout.ground.damage import Damage
from tailsout.ground.findings import Judgement
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import printable
from tailsout.mapping.plain import plain
from tailsout.mapping.schemas import urn
from tailsout.records.facts import AudioFacts

MEASURE = urn("measure-0.1")
CHECK = urn("check-0.1")
RECEIPT = urn("receipt-0.1")


def measured(
    path: str, pcm: Pcm, facts: AudioFacts, damage: Iterable[Damage] = ()
) -> dict[str, Any]:
    """Return what `measure --json` says of one file."""
    told = [{"kind": d.kind, "offset": d.offset, "text": printable(d.text)} for d in damage]
    return {
        "schema": MEASURE,
        "path": printable(path),
        "pcm": plain(pcm),
        **plain(facts),
        **({"damage": told} if told else {}),
    }


def judged(name: str, judgement: Judgement, software: str) -> dict[str, Any]:
    """Return what `check --json` says of one package; also what `checks.json` holds."""
    return {
        "schema": CHECK,
        "path": printable(name),
        "software": software,
        "verdict": judgement.verdict.value,
        "findings": [
            {
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
            for finding in judgement.findings
        ],
        "checks": [
            {
                "name": check.name,
                "outcome": check.outcome,
                **({"why": check.why} if check.why else {}),
            }
            for check in judgement.checks
        ],
    }


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
        "read_back": "every file was read from the disk again and its digests agreed",
        "files": files,
        "octets": octets,
        "tag_manifests": {name: dict(digests) for name, digests in tag_manifests.items()},
        "masters": [dict(master) for master in masters],
        "verdict": judgement.verdict.value,
        "checks": [{"name": c.name, "outcome": c.outcome} for c in judgement.checks],
    }
