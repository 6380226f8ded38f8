"""What `gate` keeps: read back as it was written, or not at all."""

from decimal import Decimal

import pytest

from tailsout.ground.damage import Damage
from tailsout.mapping import kept_facts
from tailsout.mapping.kept_facts import KeptCapture, KeptFacts, KeptTones
from tailsout.records.sound import AudioFacts, ChannelFacts, RegionChannel, RegionFacts, RegionSound
from tailsout.records.tones import ToneFacts

SOUND = RegionSound(start=0, end=9, seconds=0, channels=(RegionChannel(rms_dbfs=Decimal("-3.1")),))
CAPTURE = KeptCapture(
    key="a" * 64,
    facts=AudioFacts(
        frames=9,
        sample_rate_hz=48_000,
        essence_sha256="b" * 64,
        channels=(ChannelFacts(sample_peak_dbfs=Decimal(-3)),),
        integrated_lufs=Decimal("-23.00"),
    ),
    regions=(RegionFacts(region="r", side="A", sound=SOUND),),
    damage=(Damage(kind="flac-md5", offset=4, text="another one."),),
)
TONES = ToneFacts(
    frames=9,
    sample_rate_hz=48_000,
    channels=(),
    tones=(),
    methods={"frequency_hz": "zero crossings"},
)
FACTS = KeptFacts(
    captures={CAPTURE.key: CAPTURE},
    tones={"d" * 64: KeptTones(key="d" * 64, tones=TONES)},
)


def test_what_was_kept_comes_back() -> None:
    assert kept_facts.read(kept_facts.write(FACTS)) == FACTS


def test_cut_at_any_octet_it_is_nothing() -> None:
    content = kept_facts.write(FACTS)
    for end in range(len(content) - 2):
        assert kept_facts.read(content[:end]) == KeptFacts()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"kept-facts:0.1", b"kept-facts:9.1"),
        (b'"frames": 9', b'"frames": "9"'),
        (b'"essence_sha256": "b', b'"essence_sha256": "X'),
        (b'"damage"', b'"damages"'),
    ],
)
def test_what_departs_from_its_schema_is_nothing(old: bytes, new: bytes) -> None:
    content = kept_facts.write(FACTS)
    assert old in content
    assert kept_facts.read(content.replace(old, new)) == KeptFacts()
