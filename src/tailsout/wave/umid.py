"""The UMID: SMPTE ST 330, basic (32 octets) and extended (64), as it stands in a `bext` chunk.

The layout is from memory and from the source of public parsers, not from the standard itself:

    0–9 label · 10 material type · 11 how the numbers were made · 12 length · 13–15 instance number
    16–31 material number · extended: 32–39 time and date · 40–51 position · 52–55 country
    56–59 organisation · 60–63 user

Time, date and position stay octets; whether the numbers are unique is not judged.
"""

from dataclasses import dataclass

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.units import counted

BASIC_OCTETS = 32
EXTENDED_OCTETS = 64

UNIDENTIFIED = 0x0F
"""Material type: not identified."""
_LABELS = tuple(bytes.fromhex(f"060A2B34 010101{version} 0101") for version in ("01", "05"))
"""The universal label, in the two versions of the register that are known."""
_LENGTHS = {0x13: BASIC_OCTETS, 0x33: EXTENDED_OCTETS}
"""What octet 12 says: how many octets follow it, and how many that makes in all."""
_BY_UUID = 0x20
"""Octet 11: the material number is a UUID, the way of the instance number is not defined."""
_MATERIAL_NUMBER_OCTETS = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Umid:
    """One identifier, taken apart."""

    material_type: int
    """Octet 10; 0x0F is material that is not identified."""
    material_method: int
    """How the material number was made: 1 SMPTE, 2 UUID, 3 masked, 4 IEEE 1394; 0 not defined."""
    instance_method: int
    """How the instance number was made; 0 not defined."""
    instance_number: int
    """0 for the first instance of the material."""
    material_number: bytes
    """16 octets."""
    time_date: bytes = b""
    """8 octets as they stand; empty in a basic UMID, like all that follows."""
    position: bytes = b""
    """12 octets as they stand."""
    country: str = ""
    organisation: str = ""
    user: str = ""


def decode(octets: bytes, *, offset: int = 0) -> tuple[Umid | None, tuple[Damage, ...]]:
    """Read a UMID that lies at `offset` in the file; None where there is none, or none of ST 330.

    Zeros stand for no UMID. One whose length is not as stated is read as far as it goes.
    """
    if not octets.strip(b"\0"):
        return None, ()
    if len(octets) < BASIC_OCTETS:
        text = f"The UMID has {counted(len(octets), 'octet')}, the shortest has {BASIC_OCTETS}."
        return None, (Damage(kind="umid-short", offset=offset, text=text),)
    if not octets.startswith(_LABELS):
        text = "The UMID does not begin with the label of SMPTE ST 330; its octets are kept."
        return None, (Damage(kind="umid-label", offset=offset, text=text),)
    damage = []
    stated = _LENGTHS.get(octets[12], 0)
    present = EXTENDED_OCTETS if octets[BASIC_OCTETS:].strip(b"\0") else BASIC_OCTETS
    if stated != present:
        text = (
            f"The UMID states its length as 0x{octets[12]:02X}; it is 0x13 where 32 octets are "
            f"filled and 0x33 where 64 are, and {present} are."
        )
        damage.append(Damage(kind="umid-length", offset=offset + 12, text=text))
    words = {}
    if present == EXTENDED_OCTETS:
        for name, at in (("country", 52), ("organisation", 56), ("user", 60)):
            raw = octets[at : at + 4].rstrip(b"\0")
            if not all(0x20 <= octet < 0x7F for octet in raw):
                text = f"The {name} of the UMID is not written in ASCII."
                damage.append(Damage(kind="umid-text", offset=offset + at, text=text))
            words[name] = raw.decode("latin-1").rstrip(" ")
    umid = Umid(
        material_type=octets[10],
        material_method=octets[11] >> 4,
        instance_method=octets[11] & 0x0F,
        instance_number=int.from_bytes(octets[13:16], "big"),
        material_number=octets[16:32],
        time_date=octets[32:40] if words else b"",
        position=octets[40:52] if words else b"",
        **words,
    )
    return umid, tuple(damage)


def basic(material_number: bytes) -> bytes:
    """Return a basic UMID for material numbered by the 16 octets of a UUID, first instance.

    The material type is *not identified*: ST 330 tells single sounds from several by the type, and
    a transfer may be either. Raises MaterialError for a number of another length.
    """
    if len(material_number) != _MATERIAL_NUMBER_OCTETS:
        raise MaterialError(
            f"A material number has {len(material_number)} octets, not {_MATERIAL_NUMBER_OCTETS}."
        )
    head = _LABELS[-1] + bytes((UNIDENTIFIED, _BY_UUID, 0x13))
    return head + bytes(3) + material_number
