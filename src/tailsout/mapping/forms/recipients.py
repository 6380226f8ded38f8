"""A recipient's form: what is wrong within it, and the copy of it that travels in the package."""

from collections.abc import Iterator

from tailsout.ground.findings import Finding, Kind, Place, Severity
from tailsout.ground.units import printable
from tailsout.mapping import schemas
from tailsout.mapping.forms.form import FORM_REFERENCE, Form, form_of, places_in, schema_findings
from tailsout.mapping.key_paths import dotted
from tailsout.mapping.plain import record
from tailsout.mapping.recipient_contradictions import contradictions, unknown
from tailsout.records.recipient import Recipient

SCHEMA_NAME = "recipient-0.1"
MAX_COPY_OCTETS = 128 << 10
MAX_COPY_LINE = 4096
MAX_STOPS_IN_A_LINE = 300
"""Danger: the standard library takes memory by the square of the parts of a key, which stand on one
line; so a stranger's form is read only within bounds that no recipient comes near."""

RECIPIENT_CONTRADICTS = Kind(
    code="recipient-contradicts",
    severity=Severity.MEND,
    title="A recipient's form asks for what it forbids elsewhere",
    basis="own rule: what is asked of a package can be kept",
    remedy="Ask the recipient which of the two they mean, and mend the form.",
)
RECIPIENT_FORM_DIFFERS = Kind(
    code="recipient-form-differs",
    severity=Severity.QUERY,
    title="The recipient's form in a package is not the one that its side-cars hold",
    basis="own rule: the form and what side-cars say of it were frozen on one day",
    remedy="Ask the sender which of the two the package was made by.",
)
KINDS = (RECIPIENT_CONTRADICTS, RECIPIENT_FORM_DIFFERS)


def findings(form: Form) -> Iterator[Finding]:
    """Yield every fault of a recipient's form: of its shape, else of what it asks."""
    faults = tuple(schema_findings(form, SCHEMA_NAME))
    yield from faults
    if faults:
        return
    asked = record(form.data, Recipient, strict=False)
    told = [(FORM_REFERENCE, at, text) for at, text in unknown(asked)]
    told += [(RECIPIENT_CONTRADICTS, at, text) for at, text in contradictions(asked)]
    places = places_in(form, (at for _, at, _ in told))
    for kind, at, text in told:
        yield kind.at(places[at], text)


def recipient_of(form: Form) -> tuple[Recipient | None, tuple[Finding, ...]]:
    """Return what a form asks, or what is wrong with it."""
    faults = tuple(findings(form))
    return (None, faults) if faults else (record(form.data, Recipient, strict=False), ())


def read_copy(content: bytes, name: str) -> tuple[Recipient | None, tuple[Finding, ...]]:
    """Read the copy of a form that lies in a package: what it asks, or why that cannot be told.

    A contradiction in it is the recipient's affair and was told when the package was made.
    """
    if len(content) > MAX_COPY_OCTETS or not all(map(_is_bounded, content.splitlines())):
        text = f"it has more than {MAX_COPY_OCTETS >> 10} KiB or too long a line, and was not read."
        return None, (RECIPIENT_FORM_DIFFERS.at(Place(file=name), text),)
    form, met = form_of(content, name)
    if form is None:
        told = (RECIPIENT_FORM_DIFFERS.at(one.place, f"{_NO_FORM} {one.text}") for one in met)
        return None, tuple(told)
    faults = schemas.faults(form.data, SCHEMA_NAME)
    if not faults:
        return record(form.data, Recipient, strict=False), ()
    # Not every one, and not by its line: to look for that takes long.
    place = Place(file=name, part=dotted(faults[0].pointer, faults[0].key))
    more = f" There are {len(faults) - 1} more faults." if len(faults) > 1 else ""
    text = f"{_NO_FORM} {printable(str(faults[0]), 800)}{more}"
    return None, (RECIPIENT_FORM_DIFFERS.at(place, text),)


def _is_bounded(line: bytes) -> bool:
    return len(line) <= MAX_COPY_LINE and line.count(b".") <= MAX_STOPS_IN_A_LINE


_NO_FORM = "it is not a recipient's form:"
