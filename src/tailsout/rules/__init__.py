"""Rules judge what the readers observed: generators over a Dossier, no I/O.

The order of `GROUPS` is the order in which reports list the checks.
"""

from collections.abc import Mapping

from tailsout.ground.findings import Check, Finding, Judgement, Severity, Verdict, in_order
from tailsout.records.dossier import Dossier, Examined
from tailsout.rules import (
    amendments,
    answers,
    azimuth,
    bagit_profile,
    bench,
    care,
    carrier,
    chain,
    channels,
    claimed,
    completeness,
    containers,
    copies,
    coverage,
    descriptions,
    desk,
    echo,
    embedded,
    fixity,
    grouping,
    guidelines,
    heads,
    identity,
    measured_again,
    names,
    personal,
    recipient,
    recipient_package,
    recipient_tape,
    recipient_texts,
    reel,
    regions,
    rights,
    sidecars,
    sides,
    sound,
    sources,
    speeds,
    structure,
    tags,
    timing,
)
from tailsout.rules.rule import Rule

GROUPS: Mapping[str, tuple[Rule, ...]] = {
    "bag": (
        *structure.RULES,
        *completeness.RULES,
        *fixity.RULES,
        *bagit_profile.RULES,
    ),
    "audio files": (*containers.RULES, *sources.RULES, *tags.RULES),
    "side-cars": (*sidecars.RULES, *copies.RULES, *amendments.RULES),
    "descriptions": descriptions.RULES,
    "embedded metadata": (*embedded.RULES, *guidelines.RULES, *measured_again.RULES),
    "identity": (*identity.RULES, *grouping.RULES),
    "record": (*desk.RULES, *sides.RULES),
    "carrier": (*carrier.RULES, *reel.RULES, *echo.RULES),
    "maintenance": care.RULES,
    "calibration": (*coverage.RULES, *azimuth.RULES, *bench.RULES),
    "timing": timing.RULES,
    "chain": chain.RULES,
    "channels": channels.RULES,
    "regions": (*regions.RULES, *claimed.RULES, *speeds.RULES, *heads.RULES),
    "sound": sound.RULES,
    "rights and privacy": (*rights.RULES, *personal.RULES),
    "names": names.RULES,
    "recipient": (
        *recipient.RULES,
        *recipient_tape.RULES,
        *recipient_package.RULES,
        *recipient_texts.RULES,
    ),
}
"""All rules, by what they are about."""

RULES: tuple[Rule, ...] = tuple(rule for rules in GROUPS.values() for rule in rules)

_WHY_NOT: dict[Examined, str] = {
    "structure": "there is no package yet; its receipt will tell",
    "manifests": "there is no payload manifest",
    "fixity": "the files were not read through",
    "headers": "the audio headers were not read",
    "essence": "the audio was not read through",
    "side-cars": "there is no side-car of ours to read",
    "statements": "no form or side-car of ours states anything",
    "samples": "the samples were not measured in this run",
    "measurements": "nothing says what the samples show",
    "bagit-profile": "no BagIt Profile was given",
    "versions": "no list of amendments was looked for",
    "descriptions": "no descriptions in XML were read",
    "official-schemas": "no official schemas were given",
}


def judge(dossier: Dossier) -> Judgement:
    """Run every rule that can speak on a Dossier; say which could not, and why."""
    findings = list(dossier.reading)
    checks = []
    for rule in RULES:
        missing = [need for need in _WHY_NOT if need in rule.needs - dossier.examined]
        if missing:
            why = _why_not(dossier, missing)
            checks.append(
                Check(
                    name=rule.name, outcome="not examined", why=why, decides=_decides(rule, dossier)
                )
            )
            continue
        found = list(rule.run(dossier))
        findings += found
        checks.append(_made(rule, found))
    # A rule may speak for what was met while reading, so the same finding can come twice.
    told = answers.apply(dossier, dict.fromkeys(findings), _asked_elsewhere(dossier))
    return Judgement(findings=in_order(told), checks=tuple(checks))


def _made(rule: Rule, found: list[Finding]) -> Check:
    """Return a check that was made; one that met something it could not look at is no pass."""
    outcome, why = "passed", ""
    if any(_fails(finding) for finding in found):
        outcome = "failed"
    elif any(finding.verdict is Verdict.NOT_EXAMINED for finding in found):
        outcome, why = "not examined", "something could not be read, or lies beyond a limit"
    return Check(name=rule.name, outcome=outcome, why=why, decides=rule.decides)


def _asked_elsewhere(dossier: Dossier) -> frozenset[str]:
    """Return the codes of questions that may have been asked of what is not at hand here.

    That is what could not be examined; once packed, what was asked of a capture's own header: the
    master's is another one; and once the reel was played, what was asked before.
    """
    played = dossier.transfer is not None and carrier.was_played(dossier.transfer)
    return (carrier.ASKED_BEFORE if played else frozenset()) | frozenset(
        kind.code
        for rule in RULES
        if rule.needs - dossier.examined
        or (dossier.origin == "received" and "headers" in rule.needs)
        for kind in rule.kinds
        if answers.is_answerable(kind)
    )


def _why_not(dossier: Dossier, missing: list[Examined]) -> str:
    if dossier.unasked.intersection(missing):
        return "it was not asked for"
    archive = dossier.package.archive if dossier.package is not None else None
    if archive is not None and not archive.whole:
        return "not all of the archive could be read, or it is not to be touched"
    if "structure" in missing:
        # All else that lacks is a consequence.
        return _WHY_NOT["structure"]
    words = dict(_WHY_NOT)
    if dossier.origin == "received":
        # Nothing but a side-car states anything there: one reason, said once of all such checks.
        words["statements"] = words["side-cars"]
    return "; ".join(dict.fromkeys(words[need] for need in missing))


def _decides(rule: Rule, dossier: Dossier) -> bool:
    """Tell whether a check not made weighs.

    Before there is a package, fixity decides nothing, nor does what was not asked for.
    """
    asked = not rule.needs & dossier.unasked
    return rule.decides and asked and dossier.origin == "received"


def _fails(finding: Finding) -> bool:
    return finding.kind.severity is Severity.MEND or finding.kind.verdict is Verdict.REFUSED
