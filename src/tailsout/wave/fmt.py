"""The `fmt ` chunk: how samples lie in `data`.

RIFF 1991 chapter 3 lays down the first 16 octets, WAVEFORMATEX the size of what follows them,
WAVEFORMATEXTENSIBLE the 22 octets that do. Understood are linear PCM of 8, 16, 24 and 32 bits
and IEEE float of 32 and 64; everything compressed is named and refused.
"""

import struct

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import counted

PCM = 0x0001
IEEE_FLOAT = 0x0003
EXTENSIBLE = 0xFFFE

_BASE = struct.Struct("<HHIIHH")
_EXTENSION = struct.Struct("<HHIH14s")
_BASE_OCTETS = 16
_EXTENSIBLE_OCTETS = 40
_EXTENSION_OCTETS = 22
"""What `cbSize` says in an EXTENSIBLE format: valid bits, mask and GUID."""
_GUID_TAIL = bytes.fromhex("0000 0000 1000 8000 00AA 0038 9B71")
"""The GUIDs of WAVE tags are the tag and these fourteen octets."""

_CONTAINER_BITS = {PCM: (8, 16, 24, 32), IEEE_FLOAT: (32, 64)}
_OTHER_CODINGS = {
    0x0002: "ADPCM",
    0x0006: "A-law",
    0x0007: "µ-law",
    0x0011: "IMA ADPCM",
    0x0050: "MPEG layer I or II",
    0x0055: "MPEG layer III",
}


def decode(payload: bytes, *, offset: int = 0) -> tuple[Pcm | None, tuple[Damage, ...]]:
    """Read a `fmt ` payload that lies at `offset` in the file.

    The format is None where it is not among those that are understood, or where its figures
    contradict each other so that the size of a frame is not sure.
    """
    if len(payload) < _BASE_OCTETS:
        return None, (_short(len(payload), _BASE_OCTETS, offset),)
    tag = int.from_bytes(payload[:2], "little")
    if tag == EXTENSIBLE and len(payload) < _EXTENSIBLE_OCTETS:
        return None, (_short(len(payload), _EXTENSIBLE_OCTETS, offset),)
    tag, valid_bits, mask, faults = _extension(payload, tag, offset)
    hindrance = _hindrance(payload, tag, offset)
    if hindrance is not None:
        return None, (*faults, hindrance)
    _, channels, rate, byte_rate, align, bits = _BASE.unpack_from(payload)
    if byte_rate != rate * align:
        text = f"The octets a second are said to be {byte_rate}, they are {rate * align}."
        faults = (*faults, Damage(kind="fmt-byte-rate", offset=offset + 8, text=text))
    container_bits = _container_bits(bits)
    pcm = Pcm(
        is_float=tag == IEEE_FLOAT,
        sample_rate_hz=rate,
        channels=channels,
        container_bits=container_bits,
        valid_bits=container_bits if tag == IEEE_FLOAT else valid_bits,
        channel_mask=mask,
    )
    return pcm, faults


def encode(pcm: Pcm) -> bytes:
    """Return a `fmt ` payload: 16 octets for PCM, 18 for float, 40 where EXTENSIBLE is needed.

    EXTENSIBLE is written for more than two channels, for valid bits below the container's, and
    where loudspeaker positions are stated; elsewhere the plain form has the widest reach. Raises
    MaterialError for what the fields cannot hold.
    """
    tag = IEEE_FLOAT if pcm.is_float else PCM
    extensible = (
        pcm.channels > 2 or pcm.valid_bits != pcm.container_bits or pcm.channel_mask is not None
    )
    try:
        base = _BASE.pack(
            EXTENSIBLE if extensible else tag,
            pcm.channels,
            pcm.sample_rate_hz,
            pcm.sample_rate_hz * pcm.frame_octets,
            pcm.frame_octets,
            pcm.container_bits,
        )
        if extensible:
            mask = pcm.channel_mask or 0
            tail = _EXTENSION.pack(_EXTENSION_OCTETS, pcm.valid_bits, mask, tag, _GUID_TAIL)
            return base + tail
    except struct.error as error:
        sentence = f"A fmt chunk cannot hold {pcm.channels} channels at {pcm.sample_rate_hz} Hz."
        raise MaterialError(sentence) from error
    return base + b"\0\0" if pcm.is_float else base


def _hindrance(payload: bytes, tag: int, offset: int) -> Damage | None:
    """Say what keeps the format from being understood, if anything."""
    _, channels, rate, _, align, bits = _BASE.unpack_from(payload)
    if tag not in _CONTAINER_BITS:
        return _coding(_name_of(tag), offset)
    if 0 in {channels, rate, bits}:
        text = f"The format has {channels} channels at {rate} Hz of {bits} bits: none may be 0."
        return _inconsistent(text, offset + 2)
    container_bits = _container_bits(bits)
    if container_bits not in _CONTAINER_BITS[tag]:
        kind = "IEEE float" if tag == IEEE_FLOAT else "PCM"
        return _coding(f"{kind} of {bits} bits", offset + 14)
    frame_octets = channels * container_bits // 8
    if align != frame_octets:
        text = (
            f"A frame is said to take {align} octets; {counted(channels, 'channel')} of {bits} "
            f"bits each come to {frame_octets}."
        )
        return _inconsistent(text, offset + 12)
    return None


def _container_bits(bits: int) -> int:
    return (bits + 7) // 8 * 8


def _extension(
    payload: bytes, tag: int, offset: int
) -> tuple[int, int, int | None, tuple[Damage, ...]]:
    """Return the true tag (0 for none of ours), valid bits, mask and faults."""
    channels = int.from_bytes(payload[2:4], "little")
    bits = int.from_bytes(payload[14:16], "little")
    if tag != EXTENSIBLE:
        stated = int.from_bytes(payload[16:18], "little")
        present = max(0, len(payload) - _BASE_OCTETS - 2)
        if stated > present:
            return tag, bits, None, (_extension_size(stated, present, offset),)
        return tag, bits, None, ()
    stated, valid_bits, mask, tag, tail = _EXTENSION.unpack_from(payload, _BASE_OCTETS)
    faults: list[Damage] = []
    if stated != _EXTENSION_OCTETS:
        faults.append(_extension_size(stated, _EXTENSION_OCTETS, offset))
    if tail != _GUID_TAIL:
        tag = EXTENSIBLE
    if not 0 < valid_bits <= bits:
        text = f"{valid_bits} bits are said to be valid of {bits}; all are taken."
        faults.append(Damage(kind="fmt-valid-bits", offset=offset + 18, text=text))
        valid_bits = bits
    if mask.bit_count() > channels:
        text = f"The mask names {mask.bit_count()} loudspeakers for {channels} channels."
        faults.append(Damage(kind="fmt-mask", offset=offset + 20, text=text))
    return tag, valid_bits, mask, tuple(faults)


def _name_of(tag: int) -> str:
    if tag == EXTENSIBLE:
        return "an EXTENSIBLE sub-format that is not a WAVE tag"
    return _OTHER_CODINGS.get(tag, f"tag 0x{tag:04X}")


def _short(octets: int, needed: int, offset: int) -> Damage:
    text = f"The fmt chunk has {counted(octets, 'octet')}, it needs {needed}."
    return Damage(kind="fmt-short", offset=offset, text=text)


def _coding(name: str, offset: int) -> Damage:
    text = f"The coding is {name}, not linear PCM or float of a usual width; it is not decoded."
    return Damage(kind="fmt-coding", offset=offset, text=text)


def _extension_size(stated: int, octets: int, offset: int) -> Damage:
    text = f"The extension of the format is said to have {stated} octets, there are {octets}."
    return Damage(kind="fmt-extension", offset=offset + _BASE_OCTETS, text=text)


def _inconsistent(text: str, offset: int) -> Damage:
    return Damage(kind="fmt-inconsistent", offset=offset, text=text)
