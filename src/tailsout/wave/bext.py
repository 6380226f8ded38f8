"""The `bext` chunk: EBU Tech 3285 version 2 (2011) §2.3 and §2.4, reading versions 0 to 2.

Reading keeps whatever can be kept and says what is wrong; writing is strict, always version 2,
ASCII, and of even size, so that no reader can lose the chunk behind it. What the coding history
says is for `history`; whether a UMID is one of SMPTE ST 330 is not judged.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from types import MappingProxyType

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.units import counted

VERSION = 2
"""The version that is written."""

_UNKNOWN = 0x7FFF
"""A loudness figure that is not known (§2.4)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One row of the standard's table."""

    title: str
    """As the standard writes it."""
    offset: int
    octets: int


def _table(*rows: tuple[str, str, int]) -> Mapping[str, Field]:
    fields: dict[str, Field] = {}
    offset = 0
    for name, title, octets in rows:
        fields[name] = Field(title=title, offset=offset, octets=octets)
        offset += octets
    return MappingProxyType(fields)


LAYOUT = _table(
    ("description", "Description", 256),
    ("originator", "Originator", 32),
    ("originator_reference", "OriginatorReference", 32),
    ("origination_date", "OriginationDate", 10),
    ("origination_time", "OriginationTime", 8),
    ("time_reference", "TimeReference", 8),  # low and high word are one little-endian number
    ("version", "Version", 2),
    ("umid", "UMID", 64),
    ("loudness_value", "LoudnessValue", 2),
    ("loudness_range", "LoudnessRange", 2),
    ("max_true_peak_level", "MaxTruePeakLevel", 2),
    ("max_momentary_loudness", "MaxMomentaryLoudness", 2),
    ("max_short_term_loudness", "MaxShortTermLoudness", 2),
    ("reserved", "Reserved", 180),
)
"""The fixed part in the order of the standard, by the names `Bext` has; CodingHistory follows."""

FIXED_OCTETS = sum(field.octets for field in LAYOUT.values())
"""602: a `bext` is never shorter."""

MAX_OCTETS = FIXED_OCTETS + (1 << 20)
"""Most octets of a `bext` that are worth reading: a mebibyte of history is not history."""

# The standard's ranges in hundredths; a figure outside is to be ignored (§2.4).
_LOUDNESS = {
    "loudness_value": range(-9999, 10_000),
    "loudness_range": range(10_000),
    "max_true_peak_level": range(-9999, 10_000),
    "max_momentary_loudness": range(-9999, 10_000),
    "max_short_term_loudness": range(-9999, 10_000),
}
# Where the reserved octets begin, by version.
_RESERVED_FROM = {0: "umid", 1: "loudness_value", 2: "reserved"}

_UMID_BASIC_OCTETS = 32
_UMID_OCTETS = 64

_DATE = re.compile(r"([0-9]{4})[^0-9]([0-9]{2})[^0-9]([0-9]{2})", re.ASCII)
_TIME = re.compile(r"([0-9]{2})[^0-9]([0-9]{2})[^0-9]([0-9]{2})", re.ASCII)
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
"""Control characters but for those that lay out text: TAB, LF and CR."""
_MONTH_DAYS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bext:
    """The chunk's fields. Empty text stands for a field of NULs."""

    description: str = ""
    """At most 256 characters."""
    originator: str = ""
    """At most 32 characters."""
    originator_reference: str = ""
    """At most 32 characters."""
    origination_date: str = ""
    """`yyyy-mm-dd`; the separators are free, a hyphen is usual."""
    origination_time: str = ""
    """`hh:mm:ss`; the separators are free, a colon is usual."""
    time_reference: int = 0
    """Sample frames since midnight at the first frame."""
    version: int = VERSION
    umid: bytes = b""
    """Empty for none, 32 octets for a basic and 64 for an extended one (SMPTE ST 330)."""
    loudness_value: Decimal | None = None
    """Integrated loudness, LUFS; None where not known, as with all of these."""
    loudness_range: Decimal | None = None
    """LU."""
    max_true_peak_level: Decimal | None = None
    """dBTP."""
    max_momentary_loudness: Decimal | None = None
    """LUFS."""
    max_short_term_loudness: Decimal | None = None
    """LUFS."""
    coding_history: str = ""
    """Lines ended by CR LF (EBU R 98)."""


def decode(
    payload: bytes, *, offset: int = 0, octets: int = 0
) -> tuple[Bext | None, tuple[Damage, ...]]:
    """Read a `bext` payload that lies at `offset` in the file; None where it is too short.

    A chunk whose `octets` are more than `MAX_OCTETS` is told of, and its first are read. Text is
    kept as it stands: UTF-8, else Latin-1, where it is not ASCII, up to the first NUL. UMID and
    loudness are read only where the version has them.
    """
    if len(payload) < FIXED_OCTETS:
        text = f"The bext chunk has {counted(len(payload), 'octet')}, it needs {FIXED_OCTETS}."
        return None, (Damage(kind="bext-short", offset=offset, text=text),)
    reading = _Reading(payload, offset)
    if octets > MAX_OCTETS:
        what = f"goes on to octet {octets} of the chunk; {MAX_OCTETS} octets are read."
        reading.fault("bext-oversize", "coding_history", what)
    version = reading.number("version")
    known = reading.version_known(version)
    bext = Bext(
        description=reading.text("description"),
        originator=reading.text("originator"),
        originator_reference=reading.text("originator_reference"),
        origination_date=reading.moment("origination_date"),
        origination_time=reading.moment("origination_time"),
        time_reference=reading.number("time_reference"),
        version=version,
        umid=reading.umid() if known >= 1 else b"",
        coding_history=reading.history(),
        **({name: reading.loudness(name) for name in _LOUDNESS} if known >= VERSION else {}),
    )
    return bext, tuple(reading.damage)


def encode(bext: Bext) -> bytes:
    """Return the payload: version 2, ASCII, of even size.

    A loudness figure is rounded to hundredths, halves away from zero; one outside the standard's
    range is written as not known. Raises MaterialError, naming the field, for a version but 2,
    text too long or not ASCII or with control characters, a date or time that is none, a UMID
    or TimeReference that does not fit.
    """
    if bext.version != VERSION:
        raise MaterialError(f"Version of bext is {bext.version}, only {VERSION} is written.")
    if len(bext.umid) not in {0, _UMID_BASIC_OCTETS, _UMID_OCTETS}:
        raise MaterialError(f"UMID of bext has {len(bext.umid)} octets, not 0, 32 or 64.")
    if not 0 <= bext.time_reference < 1 << 64:
        raise MaterialError(f"TimeReference of bext is {bext.time_reference}, not of 64 bits.")
    values = {
        "description": _ascii("description", bext.description),
        "originator": _ascii("originator", bext.originator),
        "originator_reference": _ascii("originator_reference", bext.originator_reference),
        "origination_date": _moment("origination_date", bext.origination_date),
        "origination_time": _moment("origination_time", bext.origination_time),
        "time_reference": bext.time_reference.to_bytes(8, "little"),
        "version": VERSION.to_bytes(2, "little"),
        "umid": bext.umid,
        **{name: _hundredths(name, getattr(bext, name)) for name in _LOUDNESS},
        "reserved": b"",
    }
    fixed = b"".join(values[name].ljust(field.octets, b"\0") for name, field in LAYOUT.items())
    payload = fixed + _ascii("coding_history", bext.coding_history)
    return payload + b"\0" * (len(payload) % 2)


class _Reading:
    """One payload under reading, and what was wrong with it so far."""

    def __init__(self, payload: bytes, offset: int) -> None:
        self.payload = payload
        self.offset = offset
        self.damage: list[Damage] = []

    def raw(self, name: str) -> bytes:
        field = LAYOUT[name]
        return self.payload[field.offset : field.offset + field.octets]

    def number(self, name: str) -> int:
        return int.from_bytes(self.raw(name), "little")

    def version_known(self, version: int) -> int:
        """Return the version to read by, and look at what it leaves reserved."""
        known = min(version, VERSION)
        if version > VERSION:
            self.fault("bext-version", "version", f"is {version}; it is read as version {VERSION}.")
        if known == VERSION and not any(map(self.number, _LOUDNESS)):
            what = "and what follows are 0, as left by programs that do not measure."
            self.fault("bext-loudness-zero", "loudness_value", what)
        first = _RESERVED_FROM[known]
        if self.payload[LAYOUT[first].offset : FIXED_OCTETS].strip(b"\0"):
            self.fault("bext-reserved", first, f"and what follows must be 0 in version {known}.")
        return known

    def text(self, name: str) -> str:
        raw = self.raw(name)
        if b"\0" not in raw and raw.endswith(b" "):
            self.fault("bext-space-padded", name, "is filled up with spaces instead of NULs.")
            raw = raw.rstrip(b" ")
        return self.characters(name, raw)

    def moment(self, name: str) -> str:
        text = self.text(name)
        if text and not _is_moment(name, text):
            form = "yyyy-mm-dd" if name == "origination_date" else "hh:mm:ss"
            self.fault(name.replace("origination_", "bext-"), name, f"is no {form}.")
        return text

    def history(self) -> str:
        return self.characters("coding_history", self.payload[FIXED_OCTETS:])

    def characters(self, name: str, raw: bytes) -> str:
        head, _, tail = raw.partition(b"\0")
        if tail.strip(b"\0"):
            self.fault("bext-after-nul", name, "has other octets after its first NUL.")
        try:
            text = head.decode("ascii")
        except UnicodeDecodeError:
            self.fault("bext-not-ascii", name, "has characters outside ASCII.")
            try:
                text = head.decode("utf-8")
            except UnicodeDecodeError:
                text = head.decode("latin-1")
        if _CONTROL.search(text):
            self.fault("bext-control", name, "has control characters.")
        return text

    def umid(self) -> bytes:
        raw = self.raw("umid")
        if raw[_UMID_BASIC_OCTETS:].strip(b"\0"):
            return raw
        return raw[:_UMID_BASIC_OCTETS] if raw.strip(b"\0") else b""

    def loudness(self, name: str) -> Decimal | None:
        figure = int.from_bytes(self.raw(name), "little", signed=True)
        if figure == _UNKNOWN:
            return None
        value = Decimal(figure).scaleb(-2)
        if figure not in _LOUDNESS[name]:
            self.fault("bext-loudness", name, f"is {value}, outside its range.")
            return None
        return value

    def fault(self, kind: str, name: str, what: str) -> None:
        at = FIXED_OCTETS if name == "coding_history" else LAYOUT[name].offset
        text = f"{_title(name)} of bext {what}"
        self.damage.append(Damage(kind=kind, offset=self.offset + at, text=text))


def _title(name: str) -> str:
    return "CodingHistory" if name == "coding_history" else LAYOUT[name].title


def _is_moment(name: str, text: str) -> bool:
    """Say whether a date or time is one of §2.3: years 0000 to 9999, the day by its month."""
    match = (_DATE if name == "origination_date" else _TIME).fullmatch(text)
    if match is None:
        return False
    first, second, third = map(int, match.groups())
    if name == "origination_time":
        return first < 24 and second < 60 and third < 60
    leap = first % 4 == 0 and (first % 100 != 0 or first % 400 == 0)
    if not 1 <= second <= 12 or (second == 2 and third == 29 and not leap):
        return False
    return 1 <= third <= _MONTH_DAYS[second - 1]


def _ascii(name: str, text: str) -> bytes:
    # Only the history is laid out in lines.
    lays_out = name == "coding_history" and not _CONTROL.search(text)
    if not text.isascii() or not (text.isprintable() or lays_out):
        raise MaterialError(
            f"{_title(name)} of bext must be ASCII without control characters.",
            "Write it in plain letters.",
        )
    if name in LAYOUT and len(text) > LAYOUT[name].octets:
        raise MaterialError(
            f"{_title(name)} of bext has {len(text)} characters, "
            f"{LAYOUT[name].octets} are the most.",
            "Shorten it.",
        )
    return text.encode("ascii")


def _moment(name: str, text: str) -> bytes:
    if text and not _is_moment(name, text):
        form = "yyyy-mm-dd" if name == "origination_date" else "hh:mm:ss"
        raise MaterialError(f"{_title(name)} of bext must be {form}, or empty.")
    return _ascii(name, text)


def _hundredths(name: str, value: Decimal | None) -> bytes:
    figure = _UNKNOWN
    # Danger: an exponent can be huge; only what fits may become an integer.
    if value is not None and value.is_finite() and abs(value) < 100:
        rounded = value.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
        whole = int(rounded.scaleb(2))
        figure = whole if whole in _LOUDNESS[name] else _UNKNOWN
    return figure.to_bytes(2, "little", signed=True)
