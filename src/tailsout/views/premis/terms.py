"""The words of PREMIS descriptions, each with the list that it is taken from.

Terms of the Library of Congress carry their code only where it was read in a published list. What
it has no term for is in a vocabulary of our own, by URN; README.md gives its meanings.
"""

from dataclasses import dataclass

_LOC = "http://id.loc.gov/vocabulary/preservation"
_OWN = "urn:tailsout:vocabulary"


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """A word of a controlled vocabulary."""

    label: str
    authority: str
    authority_uri: str
    value_uri: str = ""
    """Empty where the code of the word is not known for certain."""


def _loc(vocabulary: str, label: str, code: str = "") -> Term:
    uri = f"{_LOC}/{vocabulary}"
    value = f"{uri}/{code}" if code else ""
    return Term(label=label, authority=vocabulary, authority_uri=uri, value_uri=value)


def own(vocabulary: str, label: str) -> Term:
    """Return a word of our own vocabulary."""
    uri = f"{_OWN}:{vocabulary}"
    value = f"{uri}:{label.replace(' ', '-')}"
    return Term(label=label, authority="tailsout", authority_uri=uri, value_uri=value)


CREATION = _loc("eventType", "creation", "cre")
DIGEST_CALCULATION = _loc("eventType", "message digest calculation", "mes")
VALIDATION = _loc("eventType", "validation", "val")
FIXITY_CHECK = _loc("eventType", "fixity check", "fix")
PACKAGING = _loc("eventType", "packaging", "pac")

SOURCE = _loc("eventRelatedObjectRole", "source", "sou")
OUTCOME = _loc("eventRelatedObjectRole", "outcome", "out")

OUTCOMES = {word: _loc("eventOutcome", word) for word in ("success", "warning", "fail")}
AGENTS = {
    word: _loc("agentType", word) for word in ("person", "organization", "software", "hardware")
}
ALGORITHMS = {
    name: _loc("cryptographicHashFunctions", label, name)
    for name, label in (
        ("md5", "MD5"),
        ("sha1", "SHA-1"),
        ("sha256", "SHA-256"),
        ("sha384", "SHA-384"),
        ("sha512", "SHA-512"),
    )
}

EVENT_MEANINGS = {
    "inspection": "somebody looked at the reel, or wrote down its state",
    "treatment": "something was done to the tape so that it could be played",
    "treatment decision": "a treatment was proposed, approved or declined; nothing was done",
    "splice repair": "a splice was made anew",
    "leader change": "leader was put on, taken off or exchanged",
    "winding": "the tape was wound from one reel to the other",
    "cleaning": "the tape was cleaned",
    "re-housing": "the reel got another box, flange or hub",
    "photography": "the reel or its box was photographed",
    "re-marking": "a marking on the reel or its box was written anew",
    "free end held down": "the loose end of the tape was fastened",
    "other": "something else was done to the reel; the detail says what",
    "custody": "the reel was in somebody's keeping",
    "session": "a spell at one machine on one day: its set-up and the signal chain",
    "calibration": "a machine was held against a calibration tape at one setting",
    "machine care": "a machine was cleaned, demagnetised, checked or repaired",
    "tape pass": "the tape ran over the heads and no capture of that run is kept here",
    "listening": "somebody listened to a capture",
    "answer": "a person decided on something that the checks had asked",
    "amendment": "the package was corrected: a new version took the place of an older one",
    "receipt": "the package came to somebody, who wrote down what came",
    "acceptance": "somebody decided whether to take the package over",
}
"""Types of events that the Library of Congress has no term for, and what each means."""


def event(word: str) -> Term:
    """Return the term for a type of event of our own."""
    if word not in EVENT_MEANINGS:
        raise ValueError(f"{word!r} is not a type of event")
    return own("event-type", word)
