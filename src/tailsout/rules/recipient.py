"""What the package's recipient wants to be told, in which words, and what they want left out.

What is lacking is at most a question: what nobody wrote down cannot be made up afterwards.
"""

from collections.abc import Iterator, Mapping
from dataclasses import fields
from decimal import Decimal
from functools import cached_property
from typing import Any

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import plain as number
from tailsout.ground.units import printable
from tailsout.mapping import key_paths, naming
from tailsout.mapping.forms.recipients import RECIPIENT_FORM_DIFFERS
from tailsout.mapping.key_paths import Met
from tailsout.mapping.plain import plain
from tailsout.records.dossier import Dossier
from tailsout.records.recipient import KeyAsked, Recipient
from tailsout.rules.rule import Rule, bounded, transfer_of

ASKED_NOT_TOLD = Kind(
    code="asked-not-told",
    severity=Severity.QUERY,
    title="Something that the recipient requires is not stated",
    basis="own rule: the recipient's form lists it in asked, as required",
    remedy="Fill it in, or say with an absence word why it is not known; the recipient decides "
    "whether that will do.",
)
ASKED_OF_REEL = Kind(
    code="asked-of-reel-not-told",
    severity=Severity.QUERY,
    title="Something that the recipient requires is not stated, and the reel itself would show it",
    basis="own rule: the recipient's form lists it in asked, as required",
    remedy="Look at the reel while it is there; else say with an absence word why it is not known, "
    "and the recipient decides.",
    needs_reel=True,
)
WISHED_NOT_TOLD = Kind(
    code="wished-not-told",
    severity=Severity.NOTE,
    title="Something that the recipient would like to know is not stated",
    basis="own rule: the recipient's form lists it in asked, as recommended",
    remedy="Fill it in if it is known.",
)
TERM_NOT_TAKEN = Kind(
    code="term-not-taken",
    severity=Severity.QUERY,
    title="A value is not one of the words that the recipient accepts for it",
    basis="own rule: the recipient's form lists the words in terms",
    remedy="Use one of their words if it is true; else ask the recipient to add one.",
)
WITHHELD_TRAVELS = Kind(
    code="withheld-travels",
    severity=Severity.MEND,
    title="A package states something that its recipient wants withheld",
    basis="own rule: the recipient's form lists the key in withheld",
    remedy="Withhold the value with `tailsout amend`, or ask the sender for such a package.",
)

_THE_REEL_TELLS = (
    "reel.stock",
    "reel.inscriptions",
    "reel.images",
    "reel.splices",
    "reel.leaders",
    "reel.condition",
    "reel.width_mm",
    "reel.diameter_in",
    "reel.hub",
    "reel.reel_material",
    "reel.oxide",
    "reel.end_out",
)
"""Keys whose value somebody reads off the reel, its box or its tape."""


def _asked(dossier: Dossier) -> Iterator[Finding]:
    recipient, told = transfer_of(dossier).recipient, _Told(dossier)
    for one in recipient.asked if recipient is not None else ():
        for place, met in told.met(one.key):
            absence = met.absence or _by_kind_of_job(dossier)
            if met.value is None and absence not in one.absences:
                yield _kind(one).at(place, _lacking(one, absence))


def _kind(one: KeyAsked) -> Kind:
    if one.level == "recommended":
        return WISHED_NOT_TOLD
    return ASKED_OF_REEL if one.key.startswith(_THE_REEL_TELLS) else ASKED_NOT_TOLD


def _lacking(one: KeyAsked, absence: str) -> str:
    taken = f"a value or {' or '.join(map(repr, one.absences))}" if one.absences else "a value only"
    found = f"{absence!r} stands there" if absence else "nothing is said"
    why = f" Their reason: {printable(one.why, 200)}" if one.why else ""
    return f"{one.level}: {printable(one.key, 200)}; {found}, and they take {taken}.{why}"


def _by_kind_of_job(dossier: Dossier) -> str:
    """Of a transfer made before its record, what is unsaid was not recorded."""
    return "not recorded" if transfer_of(dossier).kind == "retrospective" else ""


class _Told:
    """What a package tells, as plain data that is made once and only if it is asked for."""

    def __init__(self, dossier: Dossier) -> None:
        self._dossier = dossier

    def met(self, key: str) -> Iterator[tuple[Place, Met]]:
        """Yield the places that a key means; none if it is not a key, which its form was told."""
        if not key_paths.is_known(key):
            return
        if key.partition(".")[0] != key_paths.THIS_FILE:
            for one in key_paths.met(self._transfer, key):
                yield self._dossier.place(one.pointer), one
            return
        for car, told in self._files:
            for one in key_paths.met(told, key):
                yield Place(file=car, part=one.pointer), one

    @cached_property
    def _transfer(self) -> Mapping[str, Any]:
        told: Mapping[str, Any] = plain(transfer_of(self._dossier))
        return told

    @cached_property
    def _files(self) -> tuple[tuple[str, Mapping[str, Any]], ...]:
        return tuple(
            (printable(naming.sidecar_path(one.path)), {key_paths.THIS_FILE: plain(one.stated)})
            for one in self._dossier.files
            if one.stated is not None
        )


def _terms(dossier: Dossier) -> Iterator[Finding]:
    recipient, told = transfer_of(dossier).recipient, _Told(dossier)
    for one in recipient.terms if recipient is not None else ():
        for place, met in told.met(one.key):
            values = met.value if isinstance(met.value, list) else [met.value]
            for value in values:
                word = _word(value)
                if word is not None and word not in one.words:
                    known = ", ".join(printable(each) for each in one.words) or "none"
                    text = f"{printable(one.key, 200)} is {printable(word)!r}; they take: {known}."
                    yield TERM_NOT_TAKEN.at(place, text)


def _word(value: object) -> str | None:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | Decimal):
        return number(Decimal(value))
    return value if isinstance(value, str) else None


def _withheld(dossier: Dossier) -> Iterator[Finding]:
    recipient, told = transfer_of(dossier).recipient, _Told(dossier)
    for key in recipient.withheld if recipient is not None else ():
        for place, met in told.met(key):
            if met.value is not None:
                # What it says is not repeated here.
                text = f"{printable(key, 200)} must not travel, and something stands there."
                yield WITHHELD_TRAVELS.at(place, text)


def _form(dossier: Dossier) -> Iterator[Finding]:
    copy, stated = dossier.recipient_form, transfer_of(dossier).recipient
    changes = (said for one in dossier.amendments or () for said in one.statements)
    is_amended = any(said.at.startswith("/transfer/recipient") for said in changes)
    if copy is None or copy == stated or is_amended:
        return
    place = Place(file=naming.RECIPIENT)
    if stated is None:
        yield RECIPIENT_FORM_DIFFERS.at(place, "the side-cars name no recipient.")
        return
    keys = [f.name for f in fields(Recipient) if getattr(copy, f.name) != getattr(stated, f.name)]
    yield RECIPIENT_FORM_DIFFERS.at(place, f"the side-cars hold otherwise: {', '.join(keys)}.")


def _bounded(dossier: Dossier) -> Iterator[Finding]:
    yield from bounded(_asked(dossier))


RULES = (
    Rule(
        name="what the recipient asks",
        kinds=(ASKED_NOT_TOLD, ASKED_OF_REEL, WISHED_NOT_TOLD),
        needs=frozenset({"statements"}),
        run=_bounded,
    ),
    Rule(
        name="words that the recipient takes",
        kinds=(TERM_NOT_TAKEN,),
        needs=frozenset({"statements"}),
        run=_terms,
    ),
    Rule(
        name="what is not to travel",
        kinds=(WITHHELD_TRAVELS,),
        needs=frozenset({"statements"}),
        run=_withheld,
    ),
    Rule(
        name="copy of the recipient's form",
        kinds=(RECIPIENT_FORM_DIFFERS,),
        needs=frozenset({"structure", "statements"}),
        run=_form,
    ),
)
