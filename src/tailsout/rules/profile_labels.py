"""The labels of bag-info.txt against a BagIt Profile, and the profiles that a bag names.

Here stand the words that all rules of profiles use, too.
"""

from collections.abc import Iterator, Mapping, Sequence

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping.profile_contradictions import IDENTIFIER
from tailsout.records.bagit_profile import BagItProfile, LabelRule
from tailsout.records.facts import InfoLine, PackageFacts

_INFO = Place(file="bag-info.txt")
_RESERVED = frozenset(
    {
        "source-organization",
        "organization-address",
        "contact-name",
        "contact-phone",
        "contact-email",
        "external-description",
        "bagging-date",
        "external-identifier",
        "bag-size",
        "payload-oxum",
        "bag-group-identifier",
        "bag-count",
        "internal-sender-identifier",
        "internal-sender-description",
    }
)
"""Labels whose letters may be of either case (RFC 8493 §2.2.2)."""

_SENDER = "Ask the sender for a package that keeps the profile, or whoever asks for it to waive it."


def breach(code: str, title: str, key: str, remedy: str = _SENDER) -> Kind:
    """Make the kind of breach of one key or two; each must be mended."""
    return Kind(
        code=f"bagit-profile-{code}",
        severity=Severity.MEND,
        title=title,
        basis=f"BagIt Profiles 1.4: {key}",
        remedy=remedy,
    )


NOT_NAMED = breach(
    "not-named", "The bag does not name the BagIt Profile that was given", f"`{IDENTIFIER}`"
)
LABEL_MISSING = breach(
    "label-missing", "A label that the BagIt Profile requires is not there", "`Bag-Info`, required"
)
LABEL_REPEATED = breach(
    "label-repeated",
    "A label that the BagIt Profile wants once stands more often",
    "`Bag-Info`, repeatable",
)
VALUE_NOT_ALLOWED = breach(
    "value-not-allowed",
    "A label has a value that the BagIt Profile does not list",
    "`Bag-Info`, values",
)
NOT_GIVEN = Kind(
    code="bagit-profile-not-given",
    severity=Severity.NOTE,
    title="The bag names a BagIt Profile that it was not judged against",
    basis="own rule: nothing is fetched; a profile is judged against if its file is given",
    remedy="To judge the bag against it, name its file with --profile.",
)


def is_seen(package: PackageFacts, path: str) -> bool:
    """Tell whether a file was read, and whether what is not met below a folder is not there."""
    if package.archive is not None and not package.archive.whole:
        return False
    return not any(
        one in {"", path}
        or path.startswith(f"{one}/")
        or (path.endswith("/") and one.startswith(path))
        for one in package.unseen
    )


def _named(package: PackageFacts) -> list[InfoLine]:
    return [line for line in package.bag_info if line.label == IDENTIFIER]


def identifier(profile: BagItProfile, package: PackageFacts) -> Iterator[Finding]:
    """Yield what is wrong if no line of bag-info.txt names the profile."""
    named = _named(package)
    wanted = printable(profile.identifier)
    if any(line.value == profile.identifier for line in named):
        return
    for line in named:
        place = Place(file=_INFO.file, line=line.line)
        yield NOT_NAMED.at(place, f"it names {printable(line.value)}, not {wanted}.")
    if not named and is_seen(package, _INFO.file):
        other = _spelled_otherwise(IDENTIFIER, _by_letters(package))
        text = f"there is no {IDENTIFIER}: {wanted}{other}."
        yield NOT_NAMED.at(_INFO, text)


def labels(profile: BagItProfile, package: PackageFacts) -> Iterator[Finding]:
    """Yield every breach of `Bag-Info`: what is missing, stands too often or has another value."""
    by_label: dict[str, list[InfoLine]] = {}
    for line in package.bag_info:
        by_label.setdefault(_key(line.label), []).append(line)
    by_letters = _by_letters(package)
    for rule in profile.labels:
        lines = by_label.get(_key(rule.label), [])
        shown = printable(rule.label, 200)
        if rule.required and not lines and is_seen(package, _INFO.file):
            text = f"there is no {shown}{_spelled_otherwise(rule.label, by_letters)}."
            yield LABEL_MISSING.at(_INFO, text)
        if not rule.repeatable:
            for line in lines[1:]:
                text = f"{shown} stands on line {lines[0].line} already."
                yield LABEL_REPEATED.at(Place(file=_INFO.file, line=line.line), text)
        yield from _values(rule, lines)


def _values(rule: LabelRule, lines: list[InfoLine]) -> Iterator[Finding]:
    allowed = frozenset(rule.values)
    for line in lines:
        # A value may be folded, which leaves its line breaks in it.
        if allowed and line.value.replace("\n", " ") not in allowed:
            label, value = printable(rule.label, 200), printable(line.value, 200)
            text = f"{label} is {value!r}; allowed: {few(rule.values)}."
            yield VALUE_NOT_ALLOWED.at(Place(file=_INFO.file, line=line.line), text)


def _key(label: str) -> str:
    """Return what is equal for labels that are one and the same."""
    return label.lower() if label.lower() in _RESERVED else label


def _by_letters(package: PackageFacts) -> dict[str, InfoLine]:
    return {line.label.lower(): line for line in reversed(package.bag_info)}


def _spelled_otherwise(label: str, by_letters: Mapping[str, InfoLine]) -> str:
    line = by_letters.get(label.lower())
    return f"; line {line.line} has {printable(line.label, 200)}" if line is not None else ""


def few(words: Sequence[str]) -> str:
    """Return some words for a sentence, ten at most."""
    listed = ", ".join(repr(printable(word, 80)) for word in words[:10])
    return f"{listed} and {len(words) - 10} more" if len(words) > 10 else listed or "none"


def not_given(profile: BagItProfile | None, package: PackageFacts) -> Iterator[Finding]:
    """Yield a note for every profile that the bag names and that was not given."""
    given = profile.identifier if profile is not None else None
    named = _named(package)
    if profile is not None and all(line.value != given for line in named):
        return  # which `identifier` tells
    for line in named:
        if line.value != given:
            text = f"it names {printable(line.value)}, which was not examined."
            yield NOT_GIVEN.at(Place(file=_INFO.file, line=line.line), text)
