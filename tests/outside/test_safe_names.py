"""Published sets of safe names, and published patterns of names, against our templates.

Sources: IEEE Std 1003.1-2017 §3.281 and §3.282 (portable filename character set; from memory);
the page "Naming Files, Paths, and Namespaces" of the Windows documentation (reserved characters and
device names; from memory); RFC 8493 §6.1.2 (names that Windows keeps), §6.1.3 (normal forms); the
naming rules of the New York Public Library's asset specification, of Columbia University Libraries
(rev. 2010-08-23) and of IASA-TC 04 §4.3, as far as they could be read in a summary of them.
"""

import string
import unicodedata
from collections.abc import Mapping

import pytest

from tailsout.ground.portable import MAX_NAME_OCTETS, PORTABLE_LETTERS, not_portable, twin_key
from tailsout.mapping.names.fields import LETTERS, Fault, Template, Value
from tailsout.mapping.names.filling import fill, read_back
from tailsout.mapping.names.template import parse

DEVICES = (
    *("CON", "PRN", "AUX", "NUL"),
    *(f"COM{digit}" for digit in "0123456789¹²³"),
    *(f"LPT{digit}" for digit in "0123456789¹²³"),
)
RESERVED = '<>:"/\\|?*'


def name_by(text: str, known: Mapping[str, Value], **how: str) -> str | Fault:
    template = parse(text, roles=("pm", "em", "m", "r", "s"), **how)
    assert isinstance(template, Template), template
    return fill(template, known)


# IEEE Std 1003.1


def test_the_portable_set() -> None:
    """§3.282: the letters of English, the digits, full stop, low line, hyphen."""
    published = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789._-"
    assert frozenset(published) == PORTABLE_LETTERS == LETTERS["POSIX portable"]
    assert LETTERS["lower-case portable"] == PORTABLE_LETTERS - set(string.ascii_uppercase)


def test_by_a_template_no_other_letter_gets_into_a_name() -> None:
    for letter in map(chr, range(0x20, 0x250)):
        name = name_by("{package}_{side}", {"package": f"a{letter}b", "side": "A"})
        assert isinstance(name, str) is (letter in PORTABLE_LETTERS), letter
        small = {"package": f"a{letter}b"}
        lower = name_by("{package:lower}", small, letters="lower-case portable")
        wanted = letter.lower() in LETTERS["lower-case portable"]
        assert isinstance(lower, str) is wanted, letter


def test_a_hyphen_comes_never_first() -> None:
    """§3.281: it is not a portable name that begins with one."""
    assert isinstance(parse("-{package}"), Fault)


# Windows, as published


@pytest.mark.parametrize("device", DEVICES)
@pytest.mark.parametrize("ending", ["", ".wav", ".tar.gz"])
def test_names_of_devices(device: str, ending: str) -> None:
    for name in (device + ending, device.lower() + ending):
        assert not_portable(name)
    assert not not_portable(f"{device}x{ending}")
    assert not not_portable(f"x{device}{ending}")


@pytest.mark.parametrize("letter", RESERVED.replace("/", ""))
def test_reserved_characters(letter: str) -> None:
    assert not_portable(f"a{letter}b")
    assert isinstance(parse(f"{{package}}{letter}{{side:1}}", letters="any"), Fault)
    assert isinstance(name_by("{package}", {"package": f"a{letter}b"}, letters="any"), Fault)


def test_no_part_of_a_path_comes_out_of_a_value() -> None:
    for value in ("../x", "a/b", "/etc", "a\x00b", "a\nb", "a%2fb"):
        assert isinstance(name_by("{package}", {"package": value}, letters="any"), Fault)


@pytest.mark.parametrize("name", ["tape ", "tape.", " tape"])
def test_blanks_and_full_stops_at_the_ends(name: str) -> None:
    assert not_portable(name)


# RFC 8493 §6.1


@pytest.mark.parametrize(
    ("one", "other"),
    [("Tape.wav", "tape.wav"), ("N\u00f8\u00e9", "N\u00f8e\u0301"), ("STRASSE", "straße")],
)
def test_names_that_some_system_takes_for_one(one: str, other: str) -> None:
    assert twin_key(one) == twin_key(other)
    assert one != other


def test_a_name_is_made_in_normal_form_c() -> None:
    decomposed = unicodedata.normalize("NFD", "Skerrow Löck")
    assert name_by("{package}", {"package": decomposed}, letters="any") == "Skerrow Löck"


def test_most_octets_of_a_name() -> None:
    """POSIX NAME_MAX as most file systems have it, and 255 units of NTFS; from memory."""
    assert MAX_NAME_OCTETS == 255
    assert not not_portable("x" * 255)
    assert not_portable("x" * 256)
    assert not_portable("ä" * 128)


# Patterns of names as published by archives, each in our templates


@pytest.mark.parametrize(
    ("template", "known", "name"),
    [
        (
            # A public library: division, object id, components of two digits each, role of two
            # letters, parted by low lines; the side-car has the same stem.
            "{identifier:local-number:lower}_v{work-part:02}f{side-number:02}[p{part:02}]_{role}",
            {
                "identifier:local-number": "MYD_123456",
                "work-part": 1,
                "side-number": 2,
                "role": "pm",
            },
            "myd_123456_v01f02_pm",
        ),
        (
            # The same, of a reel whose face is split into two files.
            "{identifier:local-number:lower}_v{work-part:02}f{side-number:02}[p{part:02}]_{role}",
            {
                "identifier:local-number": "MYD_123456",
                "work-part": 1,
                "side-number": 2,
                "part": 1,
                "role": "em",
            },
            "myd_123456_v01f02p01_em",
        ),
        (
            # A university: name, the catalogue's number, tape, face, part if any, letter of role.
            "{work}_{identifier:catalogue-number}_{work-part:02}_{side-number:1}[_{part:02}]_{role}",
            {
                "work": "teague_oran",
                "identifier:catalogue-number": "7654321",
                "work-part": 3,
                "side-number": 1,
                "role": "m",
            },
            "teague_oran_7654321_03_1_m",
        ),
        (
            # A national archive: group, series, item; every channel a mono file.
            "{identifier:shelf-mark}-c{track:02}",
            {"identifier:shelf-mark": "111-SK-7", "track": 4},
            "111-SK-7-c04",
        ),
        (
            # IASA-TC 04 §4.3: every file of the family carries the root id.
            "{package}.{role}",
            {"package": "SKL-0007", "role": "m"},
            "SKL-0007.m",
        ),
    ],
)
def test_a_published_pattern(template: str, known: dict[str, Value], name: str) -> None:
    made = parse(template, roles=("pm", "em", "m", "r", "s"))
    assert isinstance(made, Template)
    assert fill(made, known) == name
    said = read_back(made, name)
    assert not isinstance(said, Fault)
    folded = {key: str(value).lower() for key, value in said.items()}
    assert folded == {key: str(value).lower() for key, value in known.items()}


@pytest.mark.parametrize(
    "name",
    [
        "myd_123456_v1f02_pm",
        "myd_123456_v01f02",
        "myd_123456_v01f02_pm_",
        "MYD_123456_v01f02_pm",
        "myd_123456_v01f02_xx",
        "myd 123456_v01f02_pm",
        "_v01f02_pm",
    ],
)
def test_a_broken_name_of_the_first_pattern(name: str) -> None:
    text = "{identifier:local-number:lower}_v{work-part:02}f{side-number:02}[p{part:02}]_{role}"
    made = parse(text, roles=("pm", "em"))
    assert isinstance(made, Template)
    assert isinstance(read_back(made, name), Fault)


def test_common_safe_rules_in_one_form() -> None:
    """Common practice, no source: a-z 0-9 _ - and full stop, lower case, fixed widths."""
    text = "{identifier:lower}_{side:lower}_{part:02}"
    known: dict[str, Value] = {"identifier": "SKL-7", "side": "A", "part": 2}
    assert name_by(text, known, letters="lower-case portable") == "skl-7_a_02"
    unfolded = name_by("{identifier}_{part:02}", known, letters="lower-case portable")
    assert isinstance(unfolded, Fault)
    assert isinstance(name_by(text, {**known, "part": 100}), Fault)
