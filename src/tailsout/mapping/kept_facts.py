"""What `gate` keeps of the captures it has measured, so that it need not read them again.

Each entry stands under a digest of all that settles it. What does not fit is passed over: it is
measured again.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tailsout.ground.damage import Damage
from tailsout.mapping import schemas, strict_json
from tailsout.mapping.plain import json_page, plain, record
from tailsout.records.sound import AudioFacts, RegionFacts
from tailsout.records.tones import ToneFacts

FILE_NAME = ".gate-facts.json"
"""In the job folder; hidden, so that it is never packed."""

_NAME = "kept-facts-0.1"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCapture:
    """What one read of a capture gave."""

    key: str
    """Digest of all that settles it."""
    facts: AudioFacts
    regions: tuple[RegionFacts, ...] = ()
    damage: tuple[Damage, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptTones:
    """What was read of a capture of a calibration tape."""

    key: str
    tones: ToneFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptFacts:
    """Everything kept, each by its key."""

    captures: Mapping[str, KeptCapture] = field(default_factory=dict)
    tones: Mapping[str, KeptTones] = field(default_factory=dict)


def read(content: bytes) -> KeptFacts:
    """Read what was kept; nothing if it is broken, or of another version."""
    try:
        data = strict_json.load(content)
    except strict_json.StrictJsonError:
        return KeptFacts()
    if schemas.faults(data, _NAME):
        return KeptFacts()
    captures = [record(one, KeptCapture) for one in data.get("captures", ())]
    tones = [record(one, KeptTones) for one in data.get("tones", ())]
    return KeptFacts(
        captures={one.key: one for one in captures}, tones={one.key: one for one in tones}
    )


def write(facts: KeptFacts) -> bytes:
    """Return the page of everything kept."""
    page = {
        "schema": schemas.urn(_NAME),
        "captures": [plain(one) for one in facts.captures.values()],
        "tones": [plain(one) for one in facts.tones.values()],
    }
    return json_page(page)
