"""Personal data in free text: what is told, and all that looks like it and is not."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailsout.records.description import Description
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import Embedded, InfoLine, PackageFacts
from tailsout.records.tags import CartFacts, InfoEntry, SetMark, Tags, XmlDocument
from tailsout.records.transfer import Studio, Transfer

RunRule = Callable[[str, Dossier], list[tuple[str, str]]]
RULE = "personal data"
NOTE = "data/audio/reel.json#/transfer/note"

# Put together here: no file of this project tells of somebody's own folders.
HOME, USERS = "/ho" + "me", "/Us" + "ers"

MAILS = ("write to oran@lamp.example", "Oran.Teague+tape@keeper.skerrow-light.example!")
PHONES = (
    "+44 20 7946 0018",
    "ring +49 (0)30 901820 first",
    "+1-555-010-9999",
    "+49 30/901820",
    "Tel. 01632 960018",
    "phone: (01632) 960-018",
    "Fax 030 90182030",
    "FON 030 90182030",
    "his Telefon: 030/90182030",
    "Mob. 0171 2345678",
    "a note\nof two lines, tel 01632 960018",
)
HOMES = (
    r"C:\Users\oran\Desktop\reel.wav",
    "d:/users/oran/reel.wav",
    r"C:\Documents and Settings\Oran\reel.wav",
    f"{HOME}/oran/reel.wav",
    f"file://{USERS}/oran/Music/reel.wav",
)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        *((text, "an e-mail address") for text in MAILS),
        *((text, "a telephone number") for text in PHONES),
        *((text, "the path of somebody's home folder") for text in HOMES),
    ],
)
def test_what_is_somebodys_own(
    *,
    run: RunRule,
    told: Callable[[str, Dossier], list[str]],
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    text: str,
    what: str,
) -> None:
    dossier = stating(transfer(note=f"{text}, or so"))
    assert run(RULE, dossier) == [("personal-data", NOTE)]
    # What was found is not repeated: a report travels further than the package.
    assert told(RULE, dossier) == [f"it holds {what}."]


INNOCENT = (
    "HA/SKL/8, shelf 0000418207, order 2026-11, item 978-3-16-148410-0",
    "1961-12-24T18:30:00+01:00, +0100, 1961-12~, 24.12.1961, 19611224",
    "P3Y6M4DT12H30M5S, PT0.5S, 0:22.4 to 1:02:03.004",
    "+3 dB at 10 kHz, +0.1 / 0.2 / 0.3 / 0.5 / 1 / 2 / 3 %, +4 dBu = 1.2277 V",
    "speeds 3.75 7.5 15 30, time constants 3180 50 90 120 140 200",
    "tel quel; phones output; headphones 600 ohm; mobile recorder 1234",
    "Model M-15/2 No. 01632960018",
    "urn:uuid:0b7d6c1e-8a54-4f39-9c2b-27d0a3f6e518",
    f"captures{HOME}/reel.wav; images{USERS}/box.jpg; archive.example{HOME}/oran",
    rf"C:\Users\Public\reel.wav; {USERS}/Shared/reel.wav; D:\Tapes\reel.wav; /mnt{HOME}",
    "@ 7½ ips; heard@start; 5 reels @ 10 inches",
    "http://rightsstatements.org/vocab/InC/1.0/",
    "",
)


@pytest.mark.parametrize("text", INNOCENT)
def test_what_only_looks_like_it(
    run: RunRule,
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    text: str,
) -> None:
    assert run(RULE, stating(transfer(note=text))) == []


def test_a_contact_that_is_declared_may_stand_anywhere(
    run: RunRule,
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    package: Callable[..., PackageFacts],
) -> None:
    studio = Studio(name="Saltpan Row", contact_email="Desk@saltpan-row.example")
    note = "ask desk@saltpan-row.example, or +44 (20) 7946-0018"
    dossier = stating(transfer(studio=studio, note=note))
    assert len(run(RULE, dossier)) == 1
    declared = (
        *package().bag_info,
        InfoLine(label="CONTACT-PHONE", value="+44 20 7946 0018", line=9),
    )
    both = replace(dossier, package=package(bag_info=declared))
    assert run(RULE, both) == []
    other = replace(studio, contact_email=None)
    assert len(run(RULE, replace(both, transfer=transfer(studio=other, note=note)))) == 1


def test_every_text_is_looked_at_wherever_it_is_stated(
    run: RunRule, stating: Callable[[Transfer], Dossier], transfer: Callable[..., Transfer]
) -> None:
    made = transfer(not_played_because=MAILS[0])
    capture = replace(made.captures[0], original_name=HOMES[0], note=PHONES[0])
    found = run(RULE, stating(replace(made, captures=(capture,))))
    assert sorted(place.partition("/transfer")[2] for _, place in found) == [
        "/captures/0/note",
        "/captures/0/original_name",
        "/not_played_because",
    ]


def document(chunk: str, texts: str) -> XmlDocument:
    return XmlDocument(chunk=chunk, octets=1, root="a", namespace="", all_text=f"SKL-0007\n{texts}")


@pytest.mark.parametrize(
    ("tags", "part"),
    [
        (Tags(info=(InfoEntry(id="ICMT", text=MAILS[0]),)), "INFO.ICMT"),
        (
            Tags(
                marks=(SetMark(frame=0, label="", note=MAILS[0], frames=None, purpose="", text=""),)
            ),
            "cue",
        ),
        (Tags(documents=(document("iXML", MAILS[0]),)), "iXML"),
        (Tags(documents=(document("axml", PHONES[0]),)), "axml"),
        (Tags(cart=CartFacts(texts={"URL": MAILS[0]})), "cart.URL"),
    ],
)
def test_chunks_beside_the_audio(
    run: RunRule,
    foreign: Dossier,
    tags: Tags,
    part: str,
) -> None:
    files = tuple(replace(one, tags=tags) for one in foreign.files)
    found = run(RULE, replace(foreign, files=files))
    assert found == [("personal-data", f"data/audio/reel.wav#{part}")]


@pytest.mark.parametrize("text", [MAILS[0], PHONES[0], HOMES[0]])
def test_descriptions_in_xml(run: RunRule, foreign: Dossier, text: str) -> None:
    described = Description(path="metadata/mets.xml", standards=("METS",), all_text=f"a\n{text}\nb")
    found = run(RULE, replace(foreign, descriptions=(described,)))
    assert found == [("personal-data", "metadata/mets.xml")]


@pytest.mark.parametrize("text", [MAILS[0], PHONES[0], HOMES[0]])
def test_payload_documents_of_plain_text(run: RunRule, foreign: Dossier, text: str) -> None:
    held = replace(foreign, papers={"data/letter.txt": f"Dear all,\n{text}\n", "data/x.txt": "x"})
    assert run(RULE, held) == [("personal-data", "data/letter.txt")]


@pytest.mark.parametrize("text", [MAILS[0], PHONES[0], HOMES[0]])
def test_what_a_document_repeats_is_told_of_the_statement_alone(
    run: RunRule,
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    text: str,
) -> None:
    dossier = stating(transfer(note=text))
    files = tuple(
        replace(one, tags=Tags(documents=(document("axml", text),))) for one in dossier.files
    )
    described = Description(path="metadata/mets.xml", standards=("METS",), all_text=text)
    repeated = replace(dossier, files=files, descriptions=(described,))
    assert run(RULE, repeated) == [("personal-data", NOTE)]
    other = replace(described, all_text="harbour@keeper.skerrow-light.example")
    found = run(RULE, replace(repeated, descriptions=(other,)))
    assert found == [("personal-data", NOTE), ("personal-data", "metadata/mets.xml")]


@pytest.mark.parametrize("field", ["description", "originator", "originator_reference"])
def test_the_bext_chunk_of_a_stranger(
    run: RunRule, foreign: Dossier, embedded: Callable[..., Embedded], field: str
) -> None:
    files: tuple[FileRecord, ...] = tuple(
        replace(one, embedded=embedded(**{field: HOMES[0]})) for one in foreign.files
    )
    [(code, place)] = run(RULE, replace(foreign, files=files))
    assert code == "personal-data"
    assert place.lower() == f"data/audio/reel.wav#bext.{field.replace('_', '')}"


@pytest.mark.parametrize(
    "text",
    ["a" * 100_000, "a." * 50_000 + "@", "+1 " * 30_000, "+1" + "(-" * 50_000, "/home /" * 20_000],
)
def test_no_text_keeps_it_busy(
    run: RunRule,
    stating: Callable[[Transfer], Dossier],
    transfer: Callable[..., Transfer],
    text: str,
) -> None:
    assert run(RULE, stating(transfer(note=text))) == []
