"""The owner's page: what stands on it, that it fits, and that nothing of a stranger runs in it."""

from decimal import Decimal

import html5lib
import pytest

from tailsout.ground.findings import Kind, Place, Severity
from tailsout.ground.pcm import Pcm
from tailsout.records.access import AccessCopy
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import ContainerFacts, FoundFile, Manifest, PackageFacts
from tailsout.records.playing import Pass
from tailsout.records.reel import Event, Reel
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import SideCar, Studio, ThisFile, Transfer
from tailsout.views.report import owner

PCM = Pcm(is_float=False, sample_rate_hz=48_000, channels=1, container_bits=24, valid_bits=24)
MARKUP = "</dd><script>alert(1)</script>\"'><img src=x onerror=alert(1)>&amp;"
KIND = Kind(code="c", severity=Severity.QUERY, title="t", basis="b", remedy="r")


def transfer(text: str = "Log", events: int = 0) -> Transfer:
    return Transfer(
        job_id="j",
        package_id="SKL-1",
        studio=Studio(name="Saltpan Row"),
        reel=Reel(
            title=text,
            events=tuple(
                Event(kind="winding", on="2026-03-14", note=f"{text} turn {n}")
                for n in range(events)
            ),
        ),
        passes=(
            Pass(id="p1", hands_on_minutes=Decimal(50), programme_minutes=Decimal(20)),
            Pass(id="p2", hands_on_minutes=Decimal(10), programme_minutes=Decimal(10)),
        ),
    )


def dossier(told: Transfer) -> Dossier:
    copy = AccessCopy(
        path="data/access/a.mp3",
        octets=1,
        sha256="a" * 64,
        sha512="b" * 128,
        format="MP3",
        start=0,
        end=1,
        regions=(),
        sample_rate_hz=48_000,
        channels=1,
        frames=1,
        clipped_samples=0,
        steps=(),
    )
    this = ThisFile(
        id="i",
        path="data/audio/a.wav",
        capture="a",
        octets=1,
        sha256="a" * 64,
        sha512="b" * 128,
        made="as captured",
        sources=(),
        pcm=PCM,
        measured=AudioFacts(frames=48_000, sample_rate_hz=48_000, essence_sha256="", channels=()),
        methods={},
        copies=(copy,),
    )
    car = SideCar(
        schema="s",
        software="tailsout",
        written="2026-03-15T08:00:00Z",
        transfer=told,
        this_file=this,
    )
    file = FileRecord(
        path="data/audio/a.wav",
        octets=1,
        capture="a",
        container=ContainerFacts(form="RIFF", chunks=()),
        pcm=PCM,
        frames=48_000,
        sidecar=car,
    )
    listed = Manifest(name="manifest-sha512.txt", algorithm="sha512", is_tag=False, lines=())
    package = PackageFacts(
        name="SKL-1",
        bagit_version="1.0",
        encoding="UTF-8",
        bag_info=(),
        manifests=(listed,),
        files=(FoundFile(path="data/audio/a.wav", octets=1),),
    )
    return Dossier(origin="received", transfer=told, files=(file,), package=package)


def told(one: Dossier, **assets: bytes) -> str:
    page = owner.render(one, (KIND.at(Place(file="x"), "why is that?"),), assets)
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(page.decode())
    assert [node.tag for node in tree.iter("script")] == []
    assert [node.tag for node in tree.iter("img")] == []
    return " ".join(" ".join(tree.find("body").itertext()).split())


def test_it_says_what_an_owner_asks() -> None:
    page = told(dossier(transfer(events=2)), seal=b"tagmanifest-sha512.txt, SHA-512: 5eal")
    for part in (
        "Saltpan Row",
        "winding: Log turn 0",
        "1 question is open: why is that?",
        "tape ran 30.0 min",
        "work 60.0 min",
        "work to tape 2.00 : 1",
        "data/access/a.mp3",
        "data/audio/a.wav",
        "SHA-512: 5eal",
        "`sha512sum -c manifest-sha512.txt`",
        "`shasum -a 512 -c manifest-sha512.txt`",
    ):
        assert part in page, part


def test_it_stays_short() -> None:
    page = told(dossier(transfer(text="x" * 5_000, events=300)))
    assert "294 more" in page
    assert len(page) < 8_000


def test_a_strangers_markup_stays_text() -> None:
    assert "<script>alert(1)</script>" in told(dossier(transfer(text=MARKUP, events=1)))


@pytest.mark.parametrize(
    "one",
    [
        Dossier(origin="received"),
        Dossier(
            origin="received",
            package=PackageFacts(
                name="theirs",
                bagit_version="0.97",
                encoding="UTF-8",
                bag_info=(),
                manifests=(
                    Manifest(name="manifest-md5.txt", algorithm="md5", is_tag=False, lines=()),
                ),
                files=(),
            ),
        ),
    ],
)
def test_a_package_of_which_nothing_is_told_has_a_page_too(one: Dossier) -> None:
    page = told(one)
    assert "Nobody states here what is on the tape" in page
    assert "no list of digests that a usual program can check" in page


def test_the_same_package_makes_the_same_page() -> None:
    one = dossier(transfer(events=3))
    assert owner.render(one, (), {}) == owner.render(one, (), {})
