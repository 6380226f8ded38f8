"""Side-cars as an enemy or a broken program would write them, each in an otherwise good package.

The manifests fit what lies there, so that the side-car alone is at fault. What JSON allows is
RFC 8259; what a side-car allows is its schema.
"""

import json
import re
import socket
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Silent
from tailsout.mapping import schemas
from tailsout.mapping.strict_json import MAX_JSON_OCTETS
from tailsout.work.check import Checked, check

DESCRIPTIONS = ("metadata/premis.xml", "metadata/mets.xml")
"""Those that hold digests, and so would have to be made anew."""
A, B = "data/audio/skl8-side-a.json", "data/audio/skl8-side-b.json"
ASKED = "region-overlap"
"""Asked and answered in the good package."""
SCHEMA_COPY = "metadata/schemas/sidecar-0.1.schema.json"

Change = Callable[[bytes], bytes]
NOT_JSON, NOT_ALLOWED, LOST = "sidecar-not-json", "sidecar-schema", "sidecar-lost"


def swapped(old: str, new: str | bytes) -> Change:
    """Put one piece of text in the place of another, which must be there."""

    def change(content: bytes) -> bytes:
        assert old.encode() in content
        octets = new.encode() if isinstance(new, str) else new
        return content.replace(old.encode(), octets, 1)

    return change


def extended(value: str | bytes) -> Change:
    """Put a value into the one open object."""
    octets = value.encode() if isinstance(value, str) else value
    return swapped("{", b'{"extensions": {"x": ' + octets + b"},")


def ending(value: str) -> Change:
    """Put a value into the one open object, behind everything else."""
    more = b', "extensions": {"x": ' + value.encode() + b"}}"
    return lambda content: content.rstrip().removesuffix(b"}") + more


def valued(path: str, value: object) -> Change:
    """Set what stands at a path of keys and numbers; other keys keep their order."""

    def change(content: bytes) -> bytes:
        data = json.loads(content)
        *way, last = (int(part) if part.isdecimal() else part for part in path.split("."))
        inside = data
        for part in way:
            inside = inside[part]
        inside[last] = value
        return json.dumps(data, ensure_ascii=False).encode()

    return change


def encoded(encoding: str) -> Change:
    return lambda content: content.decode().encode(encoding)


def whole(content: str) -> Change:
    return lambda _: content.encode()


def shouted(content: bytes) -> bytes:
    return content.replace(b'"', b"'")


NUMBER = '"frames": 24000'
TITLE = "Log of December, second half"

HOSTILE: dict[str, tuple[Change, str]] = {
    # names should be unique (§4)
    "F01 duplicate name": (swapped("{", '{"software": "x",'), NOT_JSON),
    "F01 nested": (swapped('"reel": {', '"reel": {"title": "x",'), NOT_JSON),
    "F01 escaped": (swapped('"reel": {', '"reel": {"\\u0074itle": "x",'), NOT_JSON),
    # numbers (§6)
    **{
        f"F02 {word}": (swapped(NUMBER, f'"frames": {word}'), NOT_JSON)
        for word in ("NaN", "Infinity", "-Infinity")
    },
    **{
        f"F03 {word}": (swapped(NUMBER, f'"frames": {word}'), NOT_JSON)
        for word in ("1e999", "-1e999", "1e-400")
    },
    **{
        f"F04 {count} digits": (swapped(NUMBER, f'"frames": {"1" * count}'), NOT_JSON)
        for count in (33, 5_000, 1_000_000)
    },
    # Beyond 2^53 a reader with doubles takes another number (§6); the schema's bound is lower.
    "F05 2^53": (swapped(NUMBER, f'"frames": {2**53}'), NOT_ALLOWED),
    "F06 depth 65": (extended("[" * 65 + "]" * 65), NOT_JSON),
    "F06 depth 1,000": (extended("[" * 1000 + "]" * 1000), NOT_JSON),
    "F06 depth 1,000,000": (extended("[" * 1_000_000), NOT_JSON),
    "F06 depth of objects": (extended('{"a":' * 100_000), NOT_JSON),
    # text (§7, §8.2)
    "F08 half a character": (swapped(TITLE, "\\ud800"), NOT_JSON),
    "F08 NUL": (swapped(TITLE, "\\u0000"), NOT_JSON),
    "F08 raw NUL": (swapped(TITLE, "\x00"), NOT_JSON),
    "F08 U+FFFE": (swapped(TITLE, "\ufffe"), NOT_JSON),
    "F08 U+FFFE escaped": (swapped(TITLE, "\\ufffe"), NOT_JSON),
    "F08 U+FFFE in a name": (swapped("{", '{"\\ufffe": 1,'), NOT_JSON),
    # UTF-8 without a mark (§8.1)
    "F09 byte-order mark": (encoded("utf-8-sig"), NOT_JSON),
    **{
        f"F09 {encoding}": (encoded(encoding), NOT_JSON)
        for encoding in ("utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le", "utf-32-be")
    },
    "F09 Latin-1": (swapped(TITLE, "7½".encode("latin-1")), NOT_JSON),
    # grammar (§2)
    "F10 comment": (lambda content: b"/* ours */" + content, NOT_JSON),
    "F10 line comment": (lambda content: content + b"// ours\n", NOT_JSON),
    "F10 trailing comma": (swapped("[", "[,"), NOT_JSON),
    "F10 single quotes": (shouted, NOT_JSON),
    "F10 garbage behind": (lambda content: content + b"x", NOT_JSON),
    "F10 two documents": (lambda content: content + content, NOT_JSON),
    "F10 half of it": (lambda content: content[: len(content) // 2], NOT_JSON),
    # Nothing of ours, beside a master that the other side-car tells of.
    **{
        f"F11 {text[:20] or 'empty'}": (whole(text), LOST)
        for text in ("null", "[]", '"text"', "0", "", "{}", f'["{schemas.urn("sidecar-0.1")}"]')
    },
    "F11 a schema of another": (valued("schema", "urn:other:schema:sidecar:0.1"), LOST),
    # keys that the schema does not know
    **{
        f"F12 {key[:12] or 'empty'} {where}": (swapped(old, f'{old}"{key}": {{}},'), NOT_ALLOWED)
        for key in ("__proto__", "constructor", "k" * 10_000, "")
        for where, old in (("on top", "{"), ("within", '"reel": {'), ("at the end", '"pcm": {'))
    },
    "F16 100,000 entries": (valued("transfer.people", [{"id": "x"}] * 100_000), NOT_ALLOWED),
    "F16 100,000 words": (
        valued("transfer.recording.languages", ["eng"] * 100_000),
        NOT_ALLOWED,
    ),
    "F16 100,000 keys": (
        valued("transfer.reel", {str(n): 0 for n in range(100_000)}),
        NOT_ALLOWED,
    ),
    "F15 a long name": (valued("transfer.package_id", "a" * 100_000), NOT_ALLOWED),
    "F15 a long name that almost fits": (
        valued("transfer.package_id", "a" * 100_000 + "\n"),
        NOT_ALLOWED,
    ),
    # no calendar or clock has these (RFC 3339 §5.6 and §5.7 allow a leap second; we do not)
    **{
        f"F17 {when}": (valued("transfer.captures.1.started", when), NOT_ALLOWED)
        for when in (
            "2026-02-30",
            "2026-13-01",
            "2026-03-14T10:51:30+99:99",
            "2026-03-14T24:00:00Z",
            "2016-12-31T23:59:60Z",
            "0000-03-14",
            "10000-03-14",
            "2026-3-14",
            "٢٠٢٦-03-14",
            "2026-03-14\n",
            "",
        )
    },
    # numbers as text, and what is not a number in JSON
    **{
        f"F21 {text}": (valued("transfer.passes.0.set_up.speed_ips", text), NOT_ALLOWED)
        for text in ("38,1", "7.5", "٣٨", "1_000", "7½")
    },
    **{
        f"F21 bare {text}": (swapped(NUMBER, f'"frames": {text}'), NOT_JSON)
        for text in ("٣٨", "24_000", "24,000", "+24000", "024000", "0x5dc0")
    },
    # the lines of numbers that a waveform is drawn from
    **{
        f"F21 a line of {text[:12]!r}": (
            valued("this_file.overview.channels.0.high", text),
            NOT_ALLOWED,
        )
        for text in ("1,2", "1 2\n", "٣٨ 1", "1 " * 3000 + "1")
    },
    "F16 100,000 bands": (
        valued("this_file.overview.spectrogram.levels", ["0"] * 100_000),
        NOT_ALLOWED,
    ),
    "F21 true": (swapped(NUMBER, '"frames": true'), NOT_ALLOWED),
    "F21 null": (swapped(NUMBER, '"frames": null'), NOT_ALLOWED),
}


@pytest.fixture
def judged(kept: Path, seal: Callable[..., None]) -> Callable[..., Checked]:
    """Change side-cars of a good package without descriptions, seal it again, check it."""
    for path in DESCRIPTIONS:
        (kept / path).unlink()

    def make(change: Change, *names: str) -> Checked:
        for name in names:
            path = kept / name
            path.write_bytes(change(path.read_bytes()))
        seal(kept, describing=False)
        return check(kept, Silent())

    return make


def codes(checked: Checked) -> list[str]:
    """Give what was found, apart from what is asked and answered in the good package."""
    return [f.code for f in checked.judgement.findings if not (f.code == ASKED and f.answered)]


def test_the_package_is_good_as_it_is(judged: Callable[..., Checked]) -> None:
    checked = judged(lambda content: content, A, B)
    assert codes(checked) == []
    assert checked.judgement.verdict is Verdict.PASS


@pytest.mark.parametrize("case", HOSTILE)
def test_what_no_side_car_may_be_fails(judged: Callable[..., Checked], case: str) -> None:
    change, code = HOSTILE[case]
    checked = judged(change, B)
    assert set(codes(checked)) == {code}
    assert checked.judgement.verdict is Verdict.FAIL
    # The other side-car is judged as it stands.
    assert checked.dossier.transfer is not None
    for finding in checked.judgement.findings:
        shown = f"{finding.place} {finding.text} {finding.answer_at}"
        assert shown.isprintable()
        assert len(shown) < 2500


@pytest.mark.parametrize("case", ["F01 duplicate name", "F12 __proto__ on top", "F17 2026-02-30"])
def test_when_no_side_car_can_be_taken_nothing_is_stated(
    judged: Callable[..., Checked], case: str
) -> None:
    change, code = HOSTILE[case]
    checked = judged(change, A, B)
    assert set(codes(checked)) == {code}
    assert checked.dossier.transfer is None
    assert checked.judgement.verdict is Verdict.FAIL


@pytest.mark.parametrize(
    ("case", "change"),
    [
        ("F03 -0 is a number like any other (§6)", swapped('"start": 0', '"start": -0')),
        ("F05 beyond 2^53 where nothing is counted", extended(str(2**53))),
        ("F06 as deep as is allowed", extended("[" * 62 + "]" * 62)),
        ("F12 in the open object", extended('{"__proto__": {}, "": 1}')),
        ("F07 many small tables", extended(f"[{'{},' * 100_000}{{}}]")),
        # This path is a word about the job's folder; nothing is opened by it.
        ("F18 a capture's path", valued("transfer.captures.1.file", "/var/../skl8-side-b.wav")),
    ],
)
def test_what_looks_odd_and_is_not_wrong_passes(
    judged: Callable[..., Checked], case: str, change: Change
) -> None:
    checked = judged(change, A, B)
    assert (case, codes(checked)) == (case, [])
    assert checked.judgement.verdict is Verdict.PASS


def test_an_image_is_looked_for_among_the_files_of_the_package(
    judged: Callable[..., Checked],
) -> None:
    """F18: by its name alone; what lies elsewhere is not there, whether it exists or not."""
    checked = judged(valued("transfer.reel.inscriptions.0.image", "../../etc/passwd"), A, B)
    assert codes(checked) == ["image-missing"]


# F07: our limit, so nothing is said about what lies beyond


@pytest.mark.parametrize(
    "change",
    [
        lambda content: content + b" " * MAX_JSON_OCTETS,
        ending(f"[{'{},' * 2_000_000}{{}}]"),
        ending('"' + "a" * MAX_JSON_OCTETS + '"'),
    ],
    ids=["blanks", "2,000,000 tables", "one long text"],
)
def test_a_side_car_beyond_the_limit_is_not_examined(
    judged: Callable[..., Checked], change: Change
) -> None:
    checked = judged(change, B)
    assert codes(checked) == ["sidecar-too-large"]
    [finding] = [f for f in checked.judgement.findings if f.code == "sidecar-too-large"]
    assert (str(finding.place), finding.text) == (B, "it holds more than 4 MiB.")
    assert checked.judgement.verdict is Verdict.NOT_EXAMINED


def test_a_side_car_at_the_limit_is_read(judged: Callable[..., Checked]) -> None:
    checked = judged(lambda content: content.ljust(MAX_JSON_OCTETS), A, B)
    assert codes(checked) == []
    checked = judged(lambda content: content + b" ", A, B)
    assert codes(checked) == ["sidecar-too-large"] * 2


def test_anothers_large_file_beside_audio_is_no_side_car(judged: Callable[..., Checked]) -> None:
    checked = judged(lambda _: b"[" + b"0," * (MAX_JSON_OCTETS // 2) + b"0]", A, B)
    assert codes(checked) == ["sidecar-missing"] * 2
    assert checked.judgement.verdict is Verdict.PASS


# F13: the schema is chosen by our own table; nothing that a side-car or package names is run


@pytest.fixture
def listener() -> Iterator[socket.socket]:
    """A place on this machine where a fetch would be heard."""
    with socket.create_server(("127.0.0.1", 0)) as heard:
        heard.setblocking(False)
        yield heard


@pytest.mark.parametrize("key", ["$schema", "$ref", "$id", "$dynamicRef"])
@pytest.mark.parametrize("place", ["{", '"reel": {', '"this_file": {', '{"extensions": {'])
def test_no_schema_is_fetched(
    judged: Callable[..., Checked], listener: socket.socket, key: str, place: str
) -> None:
    address = f"http://127.0.0.1:{listener.getsockname()[1]}/s.json"
    inside = f'"{key}": "{address}"'
    change = (
        swapped("{", f"{place}{inside}}},")
        if "ext" in place
        else swapped(place, f"{place}{inside},")
    )
    checked = judged(change, B)
    assert codes(checked) == ([] if "ext" in place else [NOT_ALLOWED])
    with pytest.raises(BlockingIOError):
        listener.accept()


def test_a_fetch_would_be_heard(listener: socket.socket) -> None:
    listener.setblocking(True)
    with socket.create_connection(listener.getsockname()), listener.accept()[0]:
        pass


@pytest.mark.parametrize("reference", [f"file:///{SCHEMA_COPY}", SCHEMA_COPY, "#/$defs/reel"])
def test_no_schema_of_the_package_is_run(
    kept: Path, judged: Callable[..., Checked], reference: str
) -> None:
    (kept / SCHEMA_COPY).write_text("true")
    change = swapped('"reel": {', f'"reel": {{"$ref": "{reference}",')
    assert codes(judged(change, B)) == [NOT_ALLOWED]


@pytest.mark.parametrize("content", ["false", "{", '{"$ref": "#"}', "", '{"pattern": "(a+)+$"}'])
def test_a_strangers_copy_of_the_schema_changes_nothing(
    kept: Path, judged: Callable[..., Checked], content: str
) -> None:
    (kept / SCHEMA_COPY).write_text(content)
    checked = judged(lambda unchanged: unchanged)
    assert codes(checked) == []
    assert checked.judgement.verdict is Verdict.PASS


# F14, F15: our own schemas


def every(value: Any, key: str) -> Iterator[Any]:
    """Yield what stands under a key, anywhere in a schema."""
    if isinstance(value, dict):
        yield from (inside for name, inside in value.items() if name == key)
        for inside in value.values():
            yield from every(inside, key)
    elif isinstance(value, list):
        for inside in value:
            yield from every(inside, key)


def loops(definitions: dict[str, Any]) -> list[str]:
    """Name the definitions that lead back to themselves."""
    leads = {
        name: {str(to).rpartition("/")[2] for to in every(one, "$ref")}
        for name, one in definitions.items()
    }
    found = []
    for start in definitions:
        seen: set[str] = set()
        ahead = set(leads[start])
        while ahead:
            name = ahead.pop()
            if name not in seen:
                seen.add(name)
                ahead |= leads[name]
        if start in seen:
            found.append(start)
    return found


def test_no_schema_of_ours_refers_back_to_itself() -> None:
    defining = {name: schemas.schema(name).get("$defs", {}) for name in schemas.schema_names()}
    assert {name for name, inside in defining.items() if inside} == {
        "bagit-profile-0.1",
        "profile-0.1",
        "reception-0.1",
        "show-0.1",
        "sidecar-0.1",
    }
    assert [one for inside in defining.values() for one in loops(dict(inside))] == []


def test_what_counts_as_a_loop() -> None:
    to = {name: {"items": [{"$ref": f"#/$defs/{name}"}]} for name in "abc"}
    assert loops({"a": to["b"], "b": to["c"], "c": {}}) == []
    assert loops({"a": to["b"], "b": to["a"], "c": to["a"]}) == ["a", "b"]
    assert loops({"a": to["a"]}) == ["a"]


PATTERNS = sorted(
    {p for name in schemas.schema_names() for p in every(schemas.schema(name), "pattern")}
)
LONG = 100_000


@pytest.mark.parametrize("pattern", PATTERNS)
def test_no_pattern_of_ours_takes_the_square_of_a_texts_length(pattern: str) -> None:
    # With the square of the length, these would not come back within the minute.
    for piece in ("a", "0", "-", ".", "_", " ", "a-", "0.", "2026-03-14T", "00:00", "ä", "\n"):
        repeated = piece * (LONG // len(piece))
        for text in (repeated, f"{repeated}\n", f"{repeated}!", f"2026-03-14T10:00{repeated}"):
            re.search(pattern, text)


def test_there_are_patterns() -> None:
    assert len(PATTERNS) > 3


# F18, F19: a side-car against its file, manifests and bext


@pytest.mark.parametrize(
    "path",
    [
        "../skl8-side-b.wav",
        "data/audio/../audio/skl8-side-b.wav",
        "data/audio/./skl8-side-b.wav",
        "/etc/passwd",
        "C:\\skl8-side-b.wav",
        "file:///data/audio/skl8-side-b.wav",
        "https://example.org/skl8-side-b.wav",
        "data/audio/skl8-side-a.wav",
        "data/audio/SKL8-side-b.wav",
        "data/audio/skl8-side-b.wav\x1b[2J",
    ],
)
def test_a_path_that_is_not_the_files_own_differs(
    judged: Callable[..., Checked], path: str
) -> None:
    checked = judged(valued("this_file.path", path), B)
    [finding] = [f for f in checked.judgement.findings if f.code != ASKED]
    assert (finding.code, str(finding.place)) == (
        "sidecar-audio-differs",
        f"{B}#/this_file/path",
    )
    assert finding.text.endswith("the file has data/audio/skl8-side-b.wav.")
    assert finding.text.isprintable()
    assert checked.judgement.verdict is Verdict.FAIL


@pytest.mark.parametrize(
    ("path", "value", "code", "words"),
    [
        ("this_file.octets", 7, "sidecar-audio-differs", ("7", "72")),
        ("this_file.measured.frames", 23_999, "sidecar-audio-differs", ("23999", "24000")),
        ("this_file.pcm.sample_rate_hz", 44_100, "sidecar-audio-differs", ("44100", "48000")),
        ("this_file.pcm.channels", 2, "sidecar-audio-differs", ("2", "1")),
        ("this_file.pcm.valid_bits", 16, "sidecar-audio-differs", ("16", "24")),
        ("this_file.sha256", "0" * 64, "sidecar-audio-differs", ("sha256", "manifests")),
        ("this_file.sha512", "0" * 128, "sidecar-audio-differs", ("sha512", "manifests")),
        ("this_file.measured.essence_sha256", "0" * 64, "essence-differs", ("SHA-256",)),
        ("this_file.measured.integrated_lufs", -5, "bext-loudness-differs", ("-5", "reads -")),
    ],
)
def test_a_side_car_that_contradicts_its_file_fails_and_both_are_shown(
    judged: Callable[..., Checked], path: str, value: object, code: str, words: tuple[str, ...]
) -> None:
    checked = judged(valued(path, value), B)
    [finding] = [f for f in checked.judgement.findings if f.code != ASKED]
    assert finding.code == code
    assert [word for word in words if word not in finding.text] == []
    assert checked.judgement.verdict is Verdict.FAIL


def test_side_cars_that_contradict_each_other_fail(judged: Callable[..., Checked]) -> None:
    checked = judged(valued("transfer.reel.title", "another reel"), B)
    assert codes(checked) == ["sidecars-disagree"]
    assert checked.judgement.verdict is Verdict.FAIL


# F20: a version that this program does not know


def test_of_a_newer_minor_version_the_known_parts_are_read(judged: Callable[..., Checked]) -> None:
    newer = swapped("sidecar:0.1", "sidecar:0.7")

    def change(content: bytes) -> bytes:
        data = json.loads(newer(content))
        data["seal"] = {"of": "wax"}
        data["transfer"]["reel"]["sides"][0]["regions"][0]["hiss"] = 1
        data["transfer"]["reel"]["colour"] = "grey"
        data["this_file"]["pcm"]["layout"] = "planar"
        return json.dumps(data).encode()

    checked = judged(change, A, B)
    assert codes(checked) == ["sidecar-newer"] * 2
    assert checked.judgement.verdict is Verdict.NOT_EXAMINED
    transfer = checked.dossier.transfer
    assert transfer is not None
    assert transfer.reel.title == "Skerrow Light, spoken log of the keeper, reel 8"
    assert [file.stated is not None for file in checked.dossier.files] == [True, True]
    # What is known is judged.
    failing = judged(valued("this_file.octets", 7), B)
    assert codes(failing) == ["sidecar-audio-differs", "sidecar-newer", "sidecar-newer"]
    assert failing.judgement.verdict is Verdict.FAIL


@pytest.mark.parametrize("version", ["0.2", "0.9999", "1.0", "9999.0", "0.0"])
def test_a_known_part_that_cannot_be_taken_is_neither_good_nor_bad(
    judged: Callable[..., Checked], version: str
) -> None:
    def change(content: bytes) -> bytes:
        renamed = swapped("sidecar:0.1", f"sidecar:{version}")(content)
        return valued("transfer.reel", "quite another thing")(renamed)

    checked = judged(change, A, B)
    assert codes(checked) == ["sidecar-newer"] * 2
    assert checked.dossier.transfer is None
    assert checked.judgement.verdict is Verdict.NOT_EXAMINED


@pytest.mark.parametrize("version", ["1.0", "2.1"])
def test_of_another_major_version_nothing_is_read(
    judged: Callable[..., Checked], version: str
) -> None:
    checked = judged(swapped("sidecar:0.1", f"sidecar:{version}"), A, B)
    assert codes(checked) == ["sidecar-newer"] * 2
    assert checked.dossier.transfer is None
    assert checked.judgement.verdict is Verdict.NOT_EXAMINED


@pytest.mark.parametrize("version", ["0.1.0", "00000.1", "0.1\\n", "٠.١", "-0.1", "0", ""])
def test_what_is_no_version_of_ours_is_no_side_car_of_ours(
    judged: Callable[..., Checked], version: str
) -> None:
    checked = judged(swapped("sidecar:0.1", f"sidecar:{version}"), B)
    assert codes(checked) == ["sidecar-lost"]
    assert checked.judgement.verdict is Verdict.FAIL
