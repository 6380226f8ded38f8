"""Numbers as they are typed on a bench: 7½, 3 3/4, 1200ft, 32:00, 3180/50."""

import math
import re
from decimal import Decimal
from typing import Any

import click

from tailsout.ground import typed
from tailsout.ground.errors import MaterialError
from tailsout.ground.units import CM_PER_INCH, plain, printable, samples_at
from tailsout.tape.speed import labelled_ips

_WHOLE = re.compile(r"[0-9]{1,12}", re.ASCII)
_LENGTH = re.compile(r"([0-9.]{1,12}) ?(ft|m)")
_FEET_A_METRE = Decimal("0.3048")


class Speed(click.ParamType):  # type: ignore[type-arg]
    """A tape speed in inches per second."""

    name = "ips"

    def convert(
        self,
        value: Any,  # noqa: ANN401  click's own
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> Decimal:
        """Read `7.5`, `7½`, `7 1/2`, `15/16`, `15 ips` or `19 cm/s`."""
        text = str(value).strip()
        bare, unit = _unit(text)
        number = typed.number(bare)
        if number is None:
            self.fail(f"{printable(text)!r} is not a speed; write 7.5, 7½ or 7 1/2.", param, ctx)
        usual = labelled_ips(number)
        if unit == "cm/s":
            return usual or number / CM_PER_INCH
        if usual and not unit:
            told = f"{plain(number)} cm/s is {plain(usual)} ips; write {plain(usual)}"
            self.fail(f"no machine runs at {plain(number)} ips: {told}.", param, ctx)
        return number


class Number(click.ParamType):  # type: ignore[type-arg]
    """A number that can be reckoned with, from one to another if so wished."""

    name = "number"

    def __init__(self, least: float = -math.inf, most: float = math.inf) -> None:
        self._least, self._most = least, most

    def convert(
        self,
        value: Any,  # noqa: ANN401  click's own
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> float:
        """Read `52` or `-0.5`."""
        number = typed.number(str(value).strip())
        if number is None:
            self.fail(f"{printable(str(value))!r} is not a number; write 52 or -0.5.", param, ctx)
        if not self._least <= number <= self._most:
            reach = f"from {self._least:g} to {self._most:g}"
            self.fail(f"{printable(str(value))!r} is not a number {reach}.", param, ctx)
        return float(number)


class Whole(click.ParamType):  # type: ignore[type-arg]
    """A whole number from one to another."""

    name = "number"

    def __init__(self, least: int, most: int) -> None:
        self._least, self._most = least, most

    def convert(
        self,
        value: Any,  # noqa: ANN401  click's own
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> int:
        """Read `30`."""
        text = str(value).strip()
        number = int(text) if _WHOLE.fullmatch(text) else None
        if number is None or not self._least <= number <= self._most:
            reach = f"from {self._least} to {self._most}"
            self.fail(f"{printable(text)!r} is not a whole number {reach}.", param, ctx)
        return number


class Length(click.ParamType):  # type: ignore[type-arg]
    """A length of tape, in feet when read."""

    name = "length"

    def convert(
        self,
        value: Any,  # noqa: ANN401  click's own
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> Decimal:
        """Read `1200ft` or `366m`."""
        match = _LENGTH.fullmatch(str(value).strip())
        number = typed.number(match[1]) if match else None
        if match is None or number is None:
            said = printable(str(value))
            self.fail(f"{said!r} is not a length; write 1200ft or 366m.", param, ctx)
        return number if match[2] == "ft" else number / _FEET_A_METRE


class Lasting(click.ParamType):  # type: ignore[type-arg]
    """A time, in seconds when read."""

    name = "time"

    def convert(
        self,
        value: Any,  # noqa: ANN401  click's own
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> Decimal:
        """Read `32:00` or `1:05:30`."""
        try:
            return Decimal(samples_at(str(value).strip(), 1000)) / 1000
        except MaterialError:
            said = printable(str(value))
            self.fail(f"{said!r} is not a time; write minutes:seconds, as 32:00.", param, ctx)


class Constants(click.ParamType):  # type: ignore[type-arg]
    """A replay curve by its time constants."""

    name = "t1/t2"

    def convert(
        self,
        value: Any,  # noqa: ANN401  click's own
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> tuple[float | None, float]:
        """Read `3180/50` or, where the curve has no low-frequency constant, `inf/35`."""
        low, _, high = str(value).strip().partition("/")
        t1, t2 = typed.number(low), typed.number(high)
        if t2 is None or (t1 is None and low not in {"inf", "∞"}):
            said = printable(str(value))
            self.fail(f"{said!r} is not a curve; write 3180/50 or inf/35, in µs.", param, ctx)
        return (None if t1 is None else float(t1), float(t2))


def _unit(text: str) -> tuple[str, str]:
    """Part a speed from its unit, where one stands behind it."""
    for unit in ("ips", "cm/s"):
        if text.casefold().endswith(unit):
            return text[: -len(unit)].rstrip(), unit
    return text, ""
