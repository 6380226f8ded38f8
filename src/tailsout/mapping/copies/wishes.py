"""What a recipient may ask of access copies, by what each format can hold; the rest is refused."""

from collections.abc import Mapping
from fractions import Fraction

from tailsout.ground.errors import MaterialError
from tailsout.ground.pcm import Pcm
from tailsout.ground.units import printable
from tailsout.mapping.names import tree
from tailsout.records.access import CopyRecipe
from tailsout.records.recipient import CopyAsked
from tailsout.records.transfer import Transfer
from tailsout.records.vocab import CopyFormat

ENDINGS: Mapping[CopyFormat, str] = {"WAV": "wav", "FLAC": "flac", "MP3": "mp3", "Opus": "opus"}
_RATES: Mapping[CopyFormat, tuple[int, ...]] = {
    "MP3": (32_000, 44_100, 48_000),  # MPEG-1 layer III, from memory
    "Opus": (8_000, 12_000, 16_000, 24_000, 48_000),  # RFC 6716 §2.1.3, from memory
}
_KILOBITS: Mapping[CopyFormat, int] = {"MP3": 256, "Opus": 128}
"""Where nothing is asked; the formats that have such a rate."""
_CHANNELS: Mapping[CopyFormat, int] = {"FLAC": 8, "MP3": 2, "Opus": 2}
_MP3_KILOBITS = (96, 128, 160, 192, 224, 256, 320)
_OPUS_MOST = 256
"""Kilobits per second and channel."""
_WAVE_MOST_OCTETS = 0xFFFF_0000
_USUAL_RATE_HZ = 48_000


def unmet(transfer: Transfer, wish: str) -> MaterialError:
    """Return the error for a wish that cannot be met."""
    name = transfer.recipient.id if transfer.recipient is not None else ""
    return MaterialError(
        f"The form of the recipient {printable(name)!r} asks for {wish}.",
        "Correct the [[copies]] of that form, or ask them what they want instead.",
    )


def refuse_contradicting(transfer: Transfer, asked: CopyAsked) -> None:
    """Refuse what the form alone shows cannot be. Raises MaterialError."""
    form = asked.format
    is_coded = form in _KILOBITS
    rates = _RATES.get(form, ())
    kilobits = asked.kilobits_per_second
    wrong = ""
    if tree.folder(transfer.recipient, "access") == tree.folder(transfer.recipient, "master"):
        wrong = "access copies in the folder of the masters"
    elif is_coded and asked.bits is not None:
        wrong = f"{asked.bits} bits a sample as {form}, which has none"
    elif not is_coded and kilobits is not None:
        wrong = f"a rate in kilobits as {form}, which takes whatever the samples need"
    elif form == "MP3" and kilobits not in {None, *_MP3_KILOBITS}:
        shown = ", ".join(str(one) for one in _MP3_KILOBITS)
        wrong = f"{kilobits} kbit/s as MP3, which is made with {shown}"
    elif asked.corrections and asked.per != "region":
        wrong = "corrections of copies that are not of one region each"
    elif rates and asked.sample_rate_hz not in {None, *rates}:
        shown = ", ".join(str(one) for one in rates)
        wrong = f"{asked.sample_rate_hz} Hz as {form}, which has {shown}"
    if wrong:
        raise unmet(transfer, wrong)


def recipe_of(
    transfer: Transfer, asked: CopyAsked, pcm: Pcm, *, start: int, end: int, path: str
) -> CopyRecipe:
    """Return how a copy of so much of a master is made, nothing put right yet.

    `path` is what the master is made of. Raises MaterialError where the format cannot hold it.
    """
    form = asked.format
    rate = asked.sample_rate_hz or pcm.sample_rate_hz
    if rate not in _RATES.get(form, (rate,)):
        rate = _USUAL_RATE_HZ
    kilobits = asked.kilobits_per_second or _KILOBITS.get(form)
    most = _CHANNELS.get(form, pcm.channels)
    if pcm.channels > most:
        raise unmet(
            transfer,
            f"copies of {printable(path)} as {form}, which is written with {most} channels at most,"
            f" and it has {pcm.channels}",
        )
    if form == "Opus" and kilobits is not None and kilobits > _OPUS_MOST * pcm.channels:
        raise unmet(transfer, f"{kilobits} kbit/s as Opus with {pcm.channels} channel")
    own_bits = 16 if pcm.valid_bits <= 16 else 24
    return CopyRecipe(
        format=form,
        start=start,
        end=end,
        sample_rate_hz=rate,
        bits=None if form in _KILOBITS else asked.bits or own_bits,
        kilobits_per_second=kilobits,
    )


def refuse_too_long(transfer: Transfer, recipe: CopyRecipe, pcm: Pcm, path: str) -> None:
    """Refuse a wave file whose sizes RIFF could not hold. Raises MaterialError."""
    seconds = Fraction(recipe.end - recipe.start) * recipe.speed_ratio / pcm.sample_rate_hz
    octets = seconds * recipe.sample_rate_hz * pcm.channels * ((recipe.bits or 0) // 8)
    if recipe.format == "WAV" and octets > _WAVE_MOST_OCTETS:
        raise unmet(transfer, f"a copy of {printable(path)} as WAV, which would be past 4 GiB")
