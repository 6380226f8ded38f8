import math
import wave
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.pcm import Pcm
from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ContainerFacts
from tailsout.records.recipient import Recipient, RoleAsked
from tailsout.records.reel import Reel
from tailsout.records.transfer import Studio, Transfer
from tailsout.views.readme import render


def shown(dossier: Dossier) -> str:
    return render(dossier, (), {}).decode("utf-8")


def transfer(**more: Any) -> Transfer:
    usual = {
        "job_id": "j",
        "package_id": "SKL-0007",
        "studio": Studio(),
        "reel": Reel(title="Log of the keeper – 7½"),
        "captures": (
            Capture(id="a", file="captures/skl7-side-a.wav"),
            Capture(id="b", file="captures/skl7-side-b.BWF"),
        ),
    }
    return Transfer(**{**usual, **more})


def closing(**more: Any) -> Dossier:
    stated = transfer(**more)
    files = tuple(
        FileRecord(path=one.file, octets=0, container=ContainerFacts(form="RIFF", chunks=()))
        for one in stated.captures
    )
    return Dossier(origin="closing", transfer=stated, files=files)


def test_it_begins_with_what_this_is() -> None:
    rows = shown(closing()).split("\n")
    assert rows[0] == "SKL-0007: Log of the keeper – 7½"
    assert rows[1] == "=" * len(rows[0])


@pytest.mark.parametrize(
    "named",
    [
        "data/audio/skl7-side-a.wav",
        "data/audio/skl7-side-a.json",
        "data/audio/skl7-side-b.wav",
        "data/audio/skl7-side-b.json",
        "bagit.txt",
        "bag-info.txt",
        "manifest-*.txt",
        "tagmanifest-*.txt",
        "metadata/schemas/",
        "metadata/checks.json",
        "metadata/report.html",
        "metadata/premis.xml",
        "metadata/mets.xml",
        "metadata/as-captured/",
        "metadata/README.txt",
        "    sha512sum -c manifest-sha512.txt",
        "    sha512sum -c tagmanifest-sha512.txt",
    ],
)
def test_every_thing_in_the_package_has_a_line_of_its_own(named: str) -> None:
    assert named in shown(closing()).split("\n")


@pytest.mark.parametrize("standard", ["RFC 8493", "EBU Tech 3285", "RFC 8259", "FIPS 180-4"])
def test_it_names_the_standards(standard: str) -> None:
    assert standard in " ".join(shown(closing()).split())


def test_the_sound_can_be_read_without_a_player() -> None:
    mono = Pcm(is_float=False, sample_rate_hz=96_000, channels=1, container_bits=24, valid_bits=24)
    held = closing()
    files = (
        replace(held.files[0], pcm=mono, frames=96_000),
        replace(held.files[1], pcm=replace(mono, is_float=True, container_bits=32), frames=1),
    )
    page = shown(replace(held, files=files))
    assert (
        "\ndata/audio/skl7-side-a.wav\n    1 channel, 24 bits a sample, 96000 moments a second,\n"
        "    96000 moments: 1.000 seconds\n"
    ) in page
    assert "32 bits a sample, float" in page
    assert "numbers of IEEE 754 instead" in " ".join(page.split())
    assert "FLAC" not in page
    assert max(map(len, page.split("\n"))) <= 79


def test_what_it_describes_is_how_a_wave_file_lies(tmp_path: Path) -> None:
    """RIFF 1991 ch. 2 and 3, as the standard library writes it and the page tells it."""
    with wave.open(str(tmp_path / "x.wav"), "wb") as made:
        made.setparams((2, 3, 48_000, 0, "NONE", ""))
        made.writeframes(bytes([1, 0, 0, 0xFE, 0xFF, 0xFF]))
    octets = (tmp_path / "x.wav").read_bytes()[12:]
    while octets[:4] != b"data":
        size = int.from_bytes(octets[4:8], "little")
        octets = octets[8 + size + size % 2 :]
    samples = octets[8 : 8 + int.from_bytes(octets[4:8], "little")]
    pairs = [int.from_bytes(samples[at : at + 3], "little", signed=True) for at in (0, 3)]
    assert pairs == [1, -2]


def test_it_names_the_receipt_and_the_words_of_the_trade() -> None:
    page = " ".join(shown(closing()).split())
    assert "in the receipt, SKL-0007.receipt.json, which" in page
    assert "50 µs for 3183 Hz" in page
    assert round(1 / (2 * math.pi * 50e-6)) == 3183


def test_it_fits_a_narrow_terminal() -> None:
    assert max(map(len, shown(closing()).split("\n"))) <= 79
    assert shown(closing()).endswith("\n")
    assert "\r" not in shown(closing())


def test_a_reel_without_a_title() -> None:
    assert shown(closing(reel=Reel())).startswith("SKL-0007\n========\n")


def test_a_package_that_nobody_stated_anything_about() -> None:
    text = shown(Dossier(origin="received"))
    assert text.startswith("this package\n============\n")
    assert "preservation master" not in text
    assert "bagit.txt" in text


def test_a_long_title_has_a_rule_that_fits() -> None:
    rows = shown(closing(reel=Reel(title="t" * 300))).split("\n")
    assert rows[1] == "=" * 79


def test_text_from_forms_cannot_command_a_terminal(
    hostile: Dossier, stranger: tuple[str, str]
) -> None:
    text, escaped = stranger
    page = shown(hostile)
    assert page.replace("\n", "").isprintable()
    assert page.split("\n")[0] == f"{escaped}: {escaped}"
    capture = Capture(id="a", file=f"captures/{text}.wav")
    assert f"data/audio/{escaped}.wav" in shown(closing(captures=(capture,))).split("\n")


def test_it_is_the_same_each_time(hostile: Dossier) -> None:
    assert render(hostile, (), {}) == render(replace(hostile), (), {"x": b"y"})


def entry(page: str, path: str) -> str:
    """What the page says of a path."""
    rows = page.split("\n")
    return rows[rows.index(path) + 1].strip()


@pytest.mark.parametrize(
    ("path", "shown_as", "begins"),
    [
        ("data/images/box/1.jpg", "data/images/", "photographs as they came"),
        ("data/documents/order.pdf", "data/documents/", "papers as they came"),
        ("data/access/a-A1.mp3", "data/access/", "copies for listening"),
        ("data/letters/1.txt", "data/letters/1.txt", "carried along as it was"),
        ("data/ro-crate-metadata.json", "data/ro-crate-metadata.json", "the payload, people"),
        ("metadata/recipient.toml", "metadata/recipient.toml", "what the recipient asked"),
        ("metadata/pbcore.xml", "metadata/pbcore.xml", "recording, reel and masters in PBCore"),
        ("metadata/inventory.csv", "metadata/inventory.csv", "one row for a catalogue"),
        ("metadata/label.svg", "metadata/label.svg", "the label for the box"),
    ],
)
def test_what_not_every_package_has_is_told_where_it_is(
    path: str, shown_as: str, begins: str
) -> None:
    assert shown_as not in shown(closing()).split("\n")
    page = render(closing(), (), {"paths": f"data/audio/skl7-side-a.wav\n{path}".encode()})
    assert entry(page.decode(), shown_as).startswith(begins)
    assert page.decode().count("\ndata/audio/skl7-side-a.wav\n") == 1


def test_folders_by_the_recipients_names() -> None:
    role = RoleAsked(role="image", folder="photographs")
    recipient = Recipient(id="archive", roles=(role,))
    page = render(closing(recipient=recipient), (), {"paths": b"data/photographs/box.jpg"})
    assert entry(page.decode(), "data/photographs/").startswith("photographs as they came")


def test_a_reel_that_was_not_played_holds_no_sound() -> None:
    page = " ".join(shown(closing(captures=())).split())
    assert "a reel" not in page
    assert "one reel of magnetic tape that was not played" in page
    assert "data/SKL-0007.json all that is known of the reel" in page
    assert "broadcast wave" not in page
