"""What published guidance asks to be recorded, each item with the place where it is kept.

IASA-TC 03 (ethics and principles) §15 lists what preservation metadata tells at the least. The rest
are fields that published delivery specifications and guidelines require: the New York Public
Library's specifications for audio, IASA-TC 04 §5.4 and IASA-TC 05 §2.2, FADGI's guideline on
embedded metadata, RFC 8493 for the bag. What was read of them, and at second hand, is named.
"""

from typing import Any

import pytest

from tailsout.mapping import schemas

SIDE_CAR = schemas.schema("sidecar-0.1")

ASKED = (
    # IASA-TC 03 §15, read
    ("the original carrier and its format", "transfer.reel.width_mm"),
    ("its state of preservation", "transfer.reel.condition"),
    ("replay equipment", "transfer.machines.maker"),
    ("its parameters", "transfer.passes.set_up"),
    ("digital resolution and format", "this_file.pcm"),
    ("all equipment used", "transfer.chain.steps"),
    ("the operators involved", "transfer.passes.by"),
    ("a checksum", "this_file.sha512"),
    ("secondary information sources", "transfer.reel.inscriptions"),
    # Delivery specification of the New York Public Library, read: package and file
    ("the owner's identifier", "transfer.reel.identifiers.value"),
    ("every other identifier, typed", "transfer.reel.identifiers.kind"),
    ("order or agreement", "transfer.commission.agreement"),
    ("version of the specification", "transfer.commission.profile_version"),
    ("rights holder", "transfer.recording.rights.holder"),
    ("restriction", "transfer.recording.rights.restriction"),
    ("file name and path", "this_file.path"),
    ("size", "this_file.octets"),
    ("sampling frequency", "this_file.pcm.sample_rate_hz"),
    ("bit depth", "this_file.pcm.valid_bits"),
    ("channels", "this_file.pcm.channels"),
    ("channel to track", "transfer.passes.channels.track"),
    ("when the file was made", "transfer.captures.started"),
    ("capture program and version", "transfer.captures.program"),
    # The same, carrier and region
    ("generation", "transfer.recording.generation"),
    ("reel diameter", "transfer.reel.diameter_in"),
    ("stock maker", "transfer.reel.stock.maker"),
    ("stock number", "transfer.reel.stock.number"),
    ("base", "transfer.reel.stock.base"),
    ("thickness", "transfer.reel.stock.thickness_um"),
    ("back-coat", "transfer.reel.stock.back_coat"),
    ("track format", "transfer.reel.sides.regions.tracks"),
    ("recorded speed", "transfer.reel.sides.regions.speed_ips"),
    ("equalisation by name", "transfer.reel.sides.regions.equalisation.standard"),
    ("noise reduction", "transfer.reel.sides.regions.noise_reduction"),
    ("face", "transfer.reel.sides.id"),
    ("region", "transfer.reel.sides.regions.start"),
    ("signal faults with times", "transfer.signal_notes.start"),
    ("machine serial number", "transfer.machines.serial"),
    ("converter serial number", "transfer.converters.serial"),
    ("treatment, its parameters", "transfer.reel.events.temperature_c"),
    ("approval of the treatment", "transfer.reel.events.approved_by"),
    ("correction of the owner's data", "transfer.corrections.is_so"),
    ("quality control: who", "transfer.listening.by"),
    ("quality control: how much", "transfer.listening.share_percent"),
    ("quality control: verdict", "transfer.listening.verdict"),
    ("why an item was not captured", "transfer.not_played_because"),
    ("photographs by role", "transfer.reel.images.role"),
    # IASA-TC 04 §5.4.7 and §5.4.10, read
    ("equalisation as time constants", "transfer.reel.sides.regions.equalisation.t2_us"),
    ("evidence for speed and curve", "transfer.reel.sides.regions.basis"),
    ("calibration tape", "transfer.calibration_tapes.number"),
    ("its fluxivity", "transfer.calibration_tapes.reference_fluxivity_nwb_m"),
    ("readings as found", "transfer.sessions.settings.as_found.level_db"),
    ("readings as left", "transfer.sessions.settings.as_left.level_db"),
    ("azimuth", "transfer.passes.azimuth.set_to"),
    # IASA-TC 05 §2.2.1.1.4, read: a logbook for each machine
    ("hours run", "transfer.machines.hour_meter.hours"),
    ("cleaning", "transfer.machines.care.agent"),
    ("hours since", "transfer.machines.hours_since.at_least_hours"),
    # ISO 18933 and AES49, contents read
    ("wind on arrival", "transfer.reel.end_out_on_arrival"),
    ("wind on leaving", "transfer.reel.end_out_on_leaving"),
    ("pack", "transfer.reel.condition.pack"),
    ("odour", "transfer.reel.condition.odour"),
    ("mould", "transfer.reel.condition.mould"),
    ("splices", "transfer.reel.splices.condition"),
    ("storage", "transfer.reel.custody.conditions"),
    # A published asset specification for tape transfers (New York Public Library), read
    ("overlap between files at a change of speed", "transfer.reel.sides.regions.overlap_seconds"),
    ("how long it is to be", "transfer.recipient.overlap.seconds"),
)

NOT_KEPT = (
    # What they ask for that has no key yet.
    "parent of a derivative: no derivative is made",
    "delivery: volume and shipment",
)


def _resolved(node: Any) -> Any:
    while "$ref" in node or "items" in node:
        if "items" in node:
            node = node["items"]
            continue
        target: Any = SIDE_CAR
        for part in node["$ref"].partition("#")[2].split("/")[1:]:
            target = target[part]
        node = target
    return node


def _at(path: str) -> Any:
    node: Any = SIDE_CAR
    for part in path.split("."):
        node = _resolved(node)["properties"][part]
    return node


@pytest.mark.parametrize(("asked", "path"), ASKED, ids=[asked for asked, _ in ASKED])
def test_what_is_asked_has_its_place(asked: str, path: str) -> None:
    place = _at(path)
    assert place.get("description") or _resolved(place).get("description"), asked


def test_a_place_that_is_not_there_is_seen() -> None:
    with pytest.raises(KeyError):
        _at("transfer.reel.colour_of_the_box")


@pytest.mark.parametrize(
    ("path", "word"),
    [
        # Common practice, no source: cotton on fixed heads, foam or chamois on rotary ones.
        ("transfer.machines.care.swab", "cotton"),
        ("transfer.machines.care.swab", "foam"),
        ("transfer.machines.heads.kind", "rotary"),
        # Common practice, no source: demagnetised about every ten hours of contact.
        ("transfer.machines.care.kind", "demagnetised"),
        # Common practice, no source: tails out, print-through falls behind the sound.
        ("transfer.reel.end_out_on_leaving", "tails"),
        # Track formats and fluxivity methods as the trade names them (JAES, AES7 at second hand).
        ("transfer.reel.sides.regions.tracks", "quarter-track stereo"),
        ("transfer.calibration_tapes.fluxivity_method", "DIN transfer"),
    ],
)
def test_the_trade_words_can_be_said(path: str, word: str) -> None:
    assert word in _resolved(_at(path))["enum"]


def test_what_has_no_place_is_said() -> None:
    """A list to shorten: each entry names something, and none of them has slipped in unseen."""
    assert len(NOT_KEPT) == len(set(NOT_KEPT)) == 2
    for word in ("parent", "shipment"):
        assert f'"{word}"' not in schemas.schema_text("sidecar-0.1").decode()
