import json
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from referencing.exceptions import Unresolvable

from tailsout.mapping import schema_faults, schemas
from tailsout.mapping.schema_faults import Fault

NAMES = schemas.schema_names()
UUID = "5f0c7a52-3f5e-4c0e-9a53-6d1f5f3b2c07"


def transfer(**more: object) -> dict[str, object]:
    return {"job_id": UUID, "package_id": "SKL-0007", "studio": {}, "reel": {}, **more}


def faults(document: object) -> tuple[Fault, ...]:
    return schemas.faults(document, "sidecar-0.1", "transfer")


def only(document: object) -> Fault:
    found = faults(document)
    assert len(found) == 1, found
    return found[0]


def nodes(value: object, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every object in a schema, with its path."""
    if isinstance(value, dict):
        yield path, value
        for key, inside in value.items():
            yield from nodes(inside, f"{path}/{key}")
    elif isinstance(value, list):
        for index, inside in enumerate(value):
            yield from nodes(inside, f"{path}/{index}")


def test_all_schemas_are_found_and_sorted() -> None:
    assert NAMES == (
        "acceptance-0.1",
        "amendment-0.1",
        "amendments-0.1",
        "arrival-0.1",
        "bagit-profile-0.1",
        "batch-0.1",
        "calibration-tape-0.1",
        "check-0.1",
        "compare-0.1",
        "converter-0.1",
        "delivery-0.1",
        "gate-0.1",
        "job-0.1",
        "kept-facts-0.1",
        "logbook-0.1",
        "machine-0.1",
        "measure-0.1",
        "people-0.1",
        "profile-0.1",
        "receipt-0.1",
        "reception-0.1",
        "recipient-0.1",
        "reckon-0.1",
        "session-0.1",
        "show-0.1",
        "sidecar-0.1",
        "studio-0.1",
        "tones-0.1",
    )


@pytest.mark.parametrize("name", NAMES)
def test_each_schema_is_valid_and_named_as_its_file(name: str) -> None:
    schema = schemas.schema(name)
    Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    stem, _, version = name.rpartition("-")
    assert schema["$id"] == schemas.urn(name) == f"urn:tailsout:schema:{stem}:{version}"


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_file_is_plain_utf8_with_lf(name: str) -> None:
    text = schemas.schema_text(name)
    assert b"\r" not in text
    assert text.endswith(b"}\n")
    assert json.loads(text) == schemas.schema(name)


@pytest.mark.parametrize("name", NAMES)
def test_no_schema_leaves_a_table_open_or_a_text_without_an_end(name: str) -> None:
    for path, node in nodes(schemas.schema(name)):
        if "properties" in node and "type" in node:
            assert node["additionalProperties"] is False, path
        if node.get("type") == "string" and name not in {"check-0.1", "receipt-0.1"}:
            bounded = {"maxLength", "pattern", "format"} & set(node)
            assert bounded or path.endswith(("/path", "/error")), path


@pytest.mark.parametrize("name", NAMES)
def test_every_reference_of_a_schema_is_there(name: str) -> None:
    for _, node in nodes(schemas.schema(name)):
        if "$ref" in node:
            base, _, pointer = node["$ref"].partition("#")
            stem = base.removeprefix(schemas.URN).replace(":", "-") or name
            target: Any = schemas.schema(stem)
            for part in pointer.split("/")[1:]:
                target = target[part]
            assert target


def test_every_key_that_people_fill_in_has_a_description() -> None:
    for definition in schemas.schema("sidecar-0.1")["$defs"].values():
        for key, value in definition.get("properties", {}).items():
            assert value.get("description") or "$ref" in value, key
        assert definition["description"]


def test_no_schema_of_that_name() -> None:
    with pytest.raises(FileNotFoundError):
        schemas.schema_text("sidecar-9.9")


def test_a_reference_to_elsewhere_is_an_error_and_is_not_fetched() -> None:
    for target in ("urn:tailsout:schema:nowhere:0.1", "http://127.0.0.1:9/x.json"):
        validator = schemas._Validator({"$ref": target}, registry=schemas._registry())
        with pytest.raises(Exception, match="Unresolvable") as raised:
            list(validator.iter_errors({}))
        assert isinstance(raised.value, Unresolvable)


def test_schema_keys_in_a_document_are_strange_keys_only() -> None:
    found = faults(transfer(**{"$ref": "file:///etc/passwd", "$schema": "http://127.0.0.1:9/"}))
    assert [fault.key for fault in found] == ["$ref", "$schema"]


GOOD_DAYS = ["2026-03-14", "2024-02-29", "0001-01-01", "9999-12-31"]
GOOD_MOMENTS = [
    "2026-03-14T10:20:00Z",
    "2026-03-14T10:20:00+05:45",
    "2026-03-14T23:59:59-23:59",
    "2026-03-14T00:00:00+00:00",
]
LOOSE_MOMENTS = ["2026-03-14T10:20", "2026-03-14T10:20:07", "2026-03-14T10:20Z"]
BAD = [
    "2026-02-30",
    "2026-02-29",
    "2026-13-01",
    "2026-00-10",
    "0000-01-01",
    "10000-01-01",
    "2026-3-14",
    "2026-W11-6",
    "20260314",
    "14.03.2026",
    "2026-03",
    "2026-03-14 ",
    "2026-03-14\n",
    "٢٠٢٦-03-14",
    "2026-03-14T24:00:00Z",
    "2026-03-14T25:00:00Z",
    "2026-03-14T10:60:00Z",
    "2026-12-31T23:59:60Z",
    "2026-03-14T10:20:00+99:99",
    "2026-03-14T10:20:00+24:00",
    "2026-03-14T10:20:00+00:99",
    "2026-03-14T10:20:00.5Z",
    "2026-02-30T10:20:00Z",
    "0000-01-01T00:00:00Z",
    "2026-03-14 10:20:00Z",
    "2026-03-14t10:20:00z",
    "yesterday",
    "",
]


@pytest.mark.parametrize("text", [*GOOD_DAYS, *GOOD_MOMENTS, *LOOSE_MOMENTS])
def test_dates_and_moments_that_a_calendar_holds(text: str) -> None:
    assert faults(transfer(captures=[{"id": "a", "file": "a.wav", "started": text}])) == ()


@pytest.mark.parametrize("text", BAD)
def test_dates_and_moments_that_no_calendar_holds(text: str) -> None:
    # ISO 8601-1 §5; RFC 3339 §5.6, §5.7; a leap second cannot be told from a slip of the pen.
    fault = only(transfer(captures=[{"id": "a", "file": "a.wav", "started": text}]))
    assert fault.pointer == "/captures/0/started"
    assert fault.found == f"found {text!r}"


def receipt(committed: object) -> tuple[Fault, ...]:
    found = schemas.faults({"committed": committed}, "receipt-0.1")
    return tuple(fault for fault in found if fault.pointer)


@pytest.mark.parametrize("text", [*GOOD_MOMENTS, "2026-03-14T10:20:00.25Z"])
def test_date_time_holds_every_moment_of_rfc_3339(text: str) -> None:
    assert receipt(text) == ()


@pytest.mark.parametrize(
    "text",
    [*GOOD_DAYS, *LOOSE_MOMENTS, *(one for one in BAD if one != "2026-03-14T10:20:00.5Z")],
)
def test_date_time_is_asserted(text: str) -> None:
    if text == "2026-03-14t10:20:00z":
        return  # RFC 3339 §5.6 lets the letters be small
    assert len(receipt(text)) == 1


def test_formats_judge_text_only() -> None:
    for name in ("date-time", "date-or-time"):
        assert schemas.formats.conforms(7, name)
        assert not schemas.formats.conforms("7", name)


@pytest.mark.parametrize("name", NAMES)
def test_the_nearest_word_is_told_for_every_word_of_every_list(name: str) -> None:
    for path, node in nodes(schemas.schema(name)):
        words = node.get("enum", ())
        if "propertyNames" in path or not all(isinstance(word, str) for word in words):
            continue
        for word in words:
            error = next(Draft202012Validator({"enum": words}).iter_errors(f"{word}x".upper()))
            (fault,) = schema_faults.faults_of(error)
            assert fault.nearest == word
            assert str(fault).endswith(f"did you mean {word!r}?")


@pytest.mark.parametrize(
    ("found", "meant"),
    [
        ("acetate", "cellulose acetate"),
        ("triacetate", ""),
        ("pet", "polyester"),
        ("poly", "polyester"),
        ("?", "unknown"),
        ("n/a", "not applicable"),
        ("", "unknown"),
        ("none", "none found"),
    ],
)
def test_a_word_of_the_trade_is_known_for_what_it_means(found: str, meant: str) -> None:
    assert only(transfer(reel={"stock": [{"id": "s1", "base": found}]})).nearest == meant


@pytest.mark.parametrize(
    ("found", "meant"),
    [
        ("1/4-track stereo", "quarter-track stereo"),
        ("¼ track stereo", "quarter-track stereo"),
        ("halftrack mono", "half-track mono"),
        ("Full Track Mono", "full-track mono"),
        ("quarter-track", ""),
        ("stereo", ""),
    ],
)
def test_half_a_word_that_fits_several_names_none_of_them(found: str, meant: str) -> None:
    # The nearest by letters alone would be half-track for ¼-track.
    head = {"kind": "fixed", "track_format": found}
    (fault,) = schemas.faults({"id": "m", "heads": [head]}, "machine-0.1")
    assert fault.nearest == meant


def test_music_is_no_silence() -> None:
    region = {"id": "A1", "kind": "music", "capture": "a", "start": 0}
    sides = [{"id": "A", "regions": [region]}]
    assert only(transfer(reel={"sides": sides})).nearest == "programme"


def test_a_word_within_a_list_is_no_absence() -> None:
    stock = [{"id": "s1", "base_told_by": ["?"]}]
    assert only(transfer(reel={"stock": stock})).nearest == ""


def test_a_short_name_says_which_letters_it_may_have() -> None:
    assert "letters without accents, digits, - _ and . only" in str(
        only(transfer(people=[{"id": "jörg"}]))
    )


@pytest.mark.parametrize("found", ["not polyester", "no PVC", "Never paper", "non-paper"])
def test_what_denies_a_word_does_not_mean_it(found: str) -> None:
    assert only(transfer(reel={"stock": [{"id": "s1", "base": found}]})).nearest == ""


def test_a_word_far_off_has_no_nearest() -> None:
    fault = only(transfer(reel={"last_motion": "zzz"}))
    assert fault.nearest == ""
    assert str(fault) == "found 'zzz'; allowed: head to tail, tail to head."


@pytest.mark.parametrize(
    ("more", "pointer", "key", "text"),
    [
        ({"note": 7}, "/note", "", "found 7; allowed is text in quotes."),
        ({"note": True}, "/note", "", "found true; allowed is text in quotes."),
        ({"note": ["a"]}, "/note", "", "found a list; allowed is text in quotes."),
        ({"note": ""}, "/note", "", "found an empty text; leave the key out, or say why"),
        ({"note": "a" * 4001}, "/note", "", "found 4001 characters; allowed are at most 4000."),
        ({"reel": []}, "/reel", "", "found a list; allowed is a table."),
        ({"passes": {}}, "/passes", "", "found a table; allowed is a list."),
        ({"passes": [{}]}, "/passes/0", "id", "'id' is missing; it is needed here."),
        ({"passes": [{"id": ""}]}, "/passes/0/id", "", "found an empty text"),
        ({"passes": [{"id": "a b"}]}, "/passes/0/id", "", "found 'a b'; wanted: "),
        (
            {"passes": [{"id": "p", "kept": "yes"}]},
            "/passes/0/kept",
            "",
            "found 'yes'; allowed is true or false.",
        ),
        (
            {"passes": [{"id": "p", "set_up": {"speed_ips": 0}}]},
            "/passes/0/set_up/speed_ips",
            "",
            "found 0; allowed is more than 0.",
        ),
        (
            {"passes": [{"id": "p", "set_up": {"speed_ips": Decimal("240.5")}}]},
            "/passes/0/set_up/speed_ips",
            "",
            "found 240.5; allowed is at most 240.",
        ),
        (
            {"passes": [{"id": "p", "set_up": {"speed_ips": True}}]},
            "/passes/0/set_up/speed_ips",
            "",
            "found true; allowed is a number.",
        ),
        (
            {"recipient": {"id": "r", "extra_algorithms": ["md5", "sha1", "md5"]}},
            "/recipient/extra_algorithms",
            "",
            "found 3 entries; allowed are at most 2.",
        ),
        ({"titel": 1}, "", "titel", "there is no key 'titel' here; known keys: "),
        (
            {"reel": {"tittle": "x"}},
            "/reel",
            "tittle",
            "there is no key 'tittle' here; did you mean 'title'?",
        ),
        (
            {"absent": {"note": "forgotten"}},
            "/absent/note",
            "",
            "found 'forgotten'; allowed: unknown, not applicable, ",
        ),
        (
            {"absent": {"reel": "unknown"}},
            "",
            "reel",
            "an absence word stands for 'reel'; one may stand for: recipient, ",
        ),
    ],
)
def test_each_fault_says_what_was_found_and_what_is_allowed(
    more: dict[str, object], pointer: str, key: str, text: str
) -> None:
    fault = only(transfer(**more))
    assert (fault.pointer, fault.key) == (pointer, key)
    assert str(fault).startswith(text)


def test_a_strange_key_near_a_known_one() -> None:
    assert only(transfer(reel={"tittle": "x"})).nearest == "title"
    assert only(transfer(reel={"zzz": "x"})).nearest == ""


def test_a_constant_and_a_lower_bound() -> None:
    found = schemas.faults({"schema": "urn:x", "transfer": transfer()}, "sidecar-0.1")
    said = {fault.pointer: str(fault) for fault in found}
    assert said["/schema"] == "found 'urn:x'; allowed is urn:tailsout:schema:sidecar:0.1."
    region = {"id": "A1", "kind": "blank", "capture": "a", "start": -1}
    document = transfer(reel={"sides": [{"id": "A", "regions": [region]}]})
    assert str(only(document)) == "found -1; allowed is at least 0."


@pytest.mark.parametrize(
    "text",
    ["NaN", "sNaN", "Infinity", "-Infinity", "1E+33", "1E-400", "1E+999999999", "7." + "0" * 40],
)
def test_a_number_that_json_could_not_carry_is_no_number(text: str) -> None:
    for key in ("t1_us", "t2_us"):
        curve = {key: Decimal(text)}
        document = transfer(passes=[{"id": "p", "set_up": {"equalisation": curve}}])
        fault = only(document)
        assert fault.pointer == f"/passes/0/set_up/equalisation/{key}"
        assert fault.allowed == "allowed is a number"


@pytest.mark.parametrize("name", ["job-0.1", "sidecar-0.1"])
def test_nor_is_it_one_behind_a_reference_from_another_schema(name: str) -> None:
    document = transfer(passes=[{"id": "p", "set_up": {"speed_ips": Decimal("NaN")}}])
    found = schemas.faults(document if name == "job-0.1" else {"transfer": document}, name)
    said = [str(fault) for fault in found if fault.pointer.endswith("/speed_ips")]
    assert said == ["found NaN; allowed is a number."]


def test_whole_numbers_have_no_point() -> None:
    region = {"id": "A1", "kind": "blank", "capture": "a", "start": Decimal("1.0")}
    document = transfer(reel={"sides": [{"id": "A", "regions": [region]}]})
    assert str(only(document)) == "found 1.0; allowed is a whole number."


def test_faults_come_in_order_of_place_and_never_twice() -> None:
    document = transfer(
        note="",
        passes=[{"id": "b", "on": "x"}, {"on": "2026-02-30"}],
        captures=[{"id": "a"}],
    )
    found = faults(document)
    assert [(f.pointer, f.key) for f in found] == [
        ("/captures/0", "file"),
        ("/note", ""),
        ("/passes/0/on", ""),
        ("/passes/1", "id"),
        ("/passes/1/on", ""),
    ]


def test_each_missing_key_is_told_by_itself() -> None:
    found = schemas.faults({}, "sidecar-0.1", "transfer")
    assert [fault.key for fault in found] == ["job_id", "package_id", "reel", "studio"]


def test_a_hundred_thousand_entries_bring_a_bounded_number_of_faults() -> None:
    found = faults(transfer(passes=[{}] * 100_000))
    assert 1 <= len(found) <= schemas.MAX_FAULTS
    assert "found 100000 entries; allowed are at most 200." in map(str, found)


def test_no_more_entries_are_looked_at_than_the_schema_allows() -> None:
    # Dates take a hundredth of a second each: an endless list of them would take all day.
    found = faults(transfer(reel={"custody": [{"from_date": "tuesday"}] * 300}))
    assert [fault.pointer for fault in found if fault.pointer.endswith("/custody")]
    assert len(found) == 101
    assert "/reel/custody/99/from_date" in {fault.pointer for fault in found}


@pytest.mark.parametrize(
    ("document", "pointer", "most"),
    [
        ({"recording": {"when": "tuesday " * 9}}, "/recording/when", 64),
        ({"recording": {"when": "[" + "1667," * 100_000 + "1]"}}, "/recording/when", 64),
        ({"recording": {"rights": {"statement": "x" * 1001}}}, "/recording/rights/statement", 1000),
        ({"passes": [{"id": "!" * 65}]}, "/passes/0/id", 64),
    ],
)
def test_a_text_that_is_too_long_is_told_once_and_not_taken_apart(
    document: dict[str, object], pointer: str, most: int
) -> None:
    fault = only(transfer(**document))
    assert fault.pointer == pointer
    assert fault.allowed == f"allowed are at most {most}"


@pytest.mark.parametrize(
    ("document", "pointer"),
    [
        ({"recording": {"when": ""}}, "/recording/when"),
        ({"recording": {"rights": {"statement": ""}}}, "/recording/rights/statement"),
        ({"passes": [{"id": ""}]}, "/passes/0/id"),
    ],
)
def test_an_empty_text_is_told_once(document: dict[str, object], pointer: str) -> None:
    fault = only(transfer(**document))
    assert (fault.pointer, fault.found) == (pointer, "found an empty text")


def test_an_absence_in_a_table_where_none_may_stand() -> None:
    stop = {"at": "12:31", "reason": "splice", "absent": {"note": "unknown"}}
    fault = only(transfer(passes=[{"id": "p", "stops": [stop]}]))
    assert (fault.pointer, fault.key) == ("/passes/0/stops/0", "absent")
    assert str(fault) == "an absence word stands here; none may in this table."


def test_strange_keys_without_end_bring_a_bounded_number_of_faults() -> None:
    found = faults(transfer(reel={f"k{number}": 1 for number in range(5000)}))
    assert len(found) == schemas.MAX_FAULTS


def test_a_long_word_or_key_has_no_nearest() -> None:
    assert only(transfer(reel={"last_motion": "head to tail" * 1000})).nearest == ""
    assert only(transfer(reel={"title" * 1000: 1})).nearest == ""


def test_the_case_of_a_key_does_not_hide_the_nearest() -> None:
    assert only(transfer(reel={"TITLE": "x"})).nearest == "title"


def test_keys_are_escaped_in_pointers() -> None:
    # RFC 6901 §3.
    found = schemas.faults({"tag_manifests": {"a/b~c": 7}}, "receipt-0.1")
    assert "/tag_manifests/a~1b~0c" in [fault.pointer for fault in found]


@pytest.mark.parametrize(
    "value",
    ["a" * 100_000 + "!", ("a." * 50_000) + "!", "0" * 100_000 + "\n", "2026-" * 20_000],
)
def test_no_pattern_takes_long_over_a_long_text(value: str) -> None:
    # A pattern with backtracking would not come back from these within the day.
    document = transfer(job_id=value, package_id=value, passes=[{"id": value, "on": value}])
    places = {fault.pointer for fault in faults(document)}
    assert places == {"/job_id", "/package_id", "/passes/0/id", "/passes/0/on"}


def test_long_values_are_cut_when_shown() -> None:
    fault = only(transfer(reel={"last_motion": "x" * 10_000}))
    assert len(str(fault)) < 200


def test_schemas_of_a_checkout_stand_at_the_top() -> None:
    top = Path(schemas.__file__).resolve().parents[3] / "schemas"
    if top.is_dir():
        for name in NAMES:
            assert (top / f"{name}.schema.json").read_bytes() == schemas.schema_text(name)


def test_a_value_of_another_type_is_told_once_though_it_is_too_small_besides() -> None:
    wish = {"id": "harbour", "copies": [{"format": "WAV", "sample_rate_hz": Decimal("1.5")}]}
    (fault,) = schemas.faults(wish, "recipient-0.1")
    assert (fault.pointer, fault.found) == ("/copies/0/sample_rate_hz", "found 1.5")
    assert "a whole number" in fault.allowed
    (small,) = schemas.faults(
        {**wish, "copies": [{"format": "WAV", "sample_rate_hz": 1}]}, "recipient-0.1"
    )
    assert "8000" in small.allowed
