"""The answer of a trade sum, and what one needs to tell it."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal

from tailsout.ground.errors import UsageError
from tailsout.ground.units import plain
from tailsout.mapping import schemas
from tailsout.mapping.plain import plain as plain_record

DERIVED = "derived from geometry and units alone"
COMMON = "common practice, no source"
MEMORY = "from memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One figure that was reckoned."""

    what: str
    value: Decimal
    unit: str
    formula: str
    """With the numbers put in."""
    source: str
    spread: Decimal | None = None
    """± so much, in the same unit; None where the sum is exact but for what was put in."""
    remark: str = ""


RECKON = schemas.urn("reckon-0.1")


def json_of(answer: Answer) -> dict[str, object]:
    """Return what `reckon --json` says of one answer."""
    return {"schema": RECKON, **{k: v for k, v in plain_record(answer).items() if v != ""}}


def rounded(value: float, places: int) -> Decimal:
    """Return a figure with so many decimals."""
    return Decimal(str(value)).quantize(Decimal(1).scaleb(-places))


def shown(value: float | Decimal) -> str:
    """Write a number that was put in as it was typed."""
    return plain(Decimal(str(value)))


@contextmanager
def refusing() -> Iterator[None]:
    """Raise UsageError for values that the arithmetic refuses, in a sentence for who typed them."""
    try:
        yield
    except ValueError as error:
        text = str(error)
        raise UsageError(f"{text[0].upper()}{text[1:]}.", "Check the values.") from error
