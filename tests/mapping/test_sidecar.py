"""Whatever the records can hold and the schema allows comes back as it was written."""

import dataclasses
import json
import re
import types
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import cache
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tailsout.ground.findings import Verdict
from tailsout.mapping import schemas, sidecar
from tailsout.mapping.plain import plain
from tailsout.records.transfer import SideCar, SourceFile, ThisFile
from tailsout.records.vocab import Absence

Strategy = st.SearchStrategy[Any]

_TEXT = st.text(
    st.characters(codec="utf-8", exclude_characters="\x00\ufffe"), min_size=1, max_size=12
)
_ID = st.from_regex(r"[A-Za-z0-9_][A-Za-z0-9_.-]{0,8}", fullmatch=True)
_DAY = st.dates().map(lambda day: day.isoformat())
_WHEN = _DAY | st.builds("{}T{:%H:%M:%S}{}".format, _DAY, st.times(), st.sampled_from(["", "Z"]))
_INSTANT = st.builds("{}T{:%H:%M:%S}Z".format, _DAY, st.times())


def _hex(length: int) -> Strategy:
    return st.text("0123456789abcdef", min_size=length, max_size=length)


def _decimals(least: str, most: str, places: int) -> Strategy:
    return st.decimals(least, most, places=places, allow_nan=False, allow_infinity=False)


_PACKAGE_ID = st.from_regex(r"[A-Za-z0-9_]([A-Za-z0-9_.-]*[A-Za-z0-9_-])?", fullmatch=True).filter(
    lambda text: len(text) <= 64
)
_KEY = st.sampled_from(["reel", "reel.sides[].regions[].speed_ips", "this_file.pcm"])
_NUMBERS = st.lists(st.integers(0, 254), min_size=1, max_size=3).map(
    lambda numbers: " ".join(map(str, numbers))
)
_BY_NAME: Mapping[str, Strategy] = {
    "id": _ID,
    "capture": _ID,
    "machine": _ID,
    "pass_id": _ID,
    "stock": _ID,
    "on": _WHEN,
    "started": _WHEN,
    "written": _INSTANT,
    "package_id": _PACKAGE_ID,
    "packed_in": _PACKAGE_ID,
    "job_id": st.uuids().map(str),
    "schema": st.just(sidecar.SCHEMA),
    "sha256": _hex(64),
    "sources": st.builds(
        SourceFile, file=_TEXT, octets=st.just(7), frames=st.just(2), sha256=_hex(64)
    ).map(lambda one: (one,)),
    "starts_at": st.none() | st.integers(1, 2**53 - 1),
    "essence_sha256": _hex(64),
    "sha512": _hex(128),
    "extra_algorithms": st.lists(st.sampled_from(["md5", "sha1"]), max_size=2).map(tuple),
    "sides": st.lists(_TEXT, max_size=2).map(tuple),
    "speed_ips": _decimals("0.001", "240", 3),
    "t1_us": _decimals("0.1", "100000", 1),
    "t2_us": _decimals("0.1", "100000", 1),
    "methods": st.dictionaries(_TEXT, _TEXT, max_size=3),
}
# Where one name means another thing elsewhere.
_BY_FIELD: Mapping[tuple[str, str], Strategy | None] = {
    ("Reel", "sides"): None,
    ("Reel", "stock"): None,
    ("Recording", "machine"): None,
    ("CalibrationSetting", "capture"): None,
    ("ThisFile", "id"): st.uuids().map(str),
    ("Amendment", "manifests"): st.dictionaries(
        st.sampled_from([f"{kind}-sha512.txt" for kind in ("manifest", "tagmanifest")]),
        _hex(128),
        max_size=2,
    ),
    ("InfoEntry", "id"): st.sampled_from(["IARL", "IT3X"]),
    ("Recipient", "withheld"): st.lists(_KEY, max_size=2).map(tuple),
    ("KeyAsked", "key"): _KEY,
    ("TermList", "key"): _KEY,
    ("CopyAsked", "bits"): st.none() | st.sampled_from([16, 24]),
    ("CopyAsked", "kilobits_per_second"): st.none() | st.sampled_from([64, 192, 320]),
    ("BagAsked", "bagit_profile"): st.none() | _ID,
    ("RoleAsked", "folder"): st.none() | _ID,
    ("RoleAsked", "suffix"): st.none() | st.sampled_from(["pm", "0.a_-"]),
    ("EmbeddedText", "field"): st.sampled_from(["Description", "INAM"]),
    **{("KeptCourse", name): _NUMBERS for name in ("low", "high", "rms")},
    ("KeptSpectrogram", "bands_hz"): _NUMBERS,
    ("KeptSpectrogram", "levels"): st.lists(_NUMBERS, max_size=2).map(tuple),
    ("ThisFile", "track"): st.none() | st.integers(1, 64),
}
_JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**63), 2**63 - 1) | _TEXT | _decimals("-9", "9", 4),
    lambda inside: st.lists(inside, max_size=3) | st.dictionaries(_TEXT, inside, max_size=3),
    max_leaves=6,
)


def _absent(record: type) -> Strategy:
    optional = [
        f.name for f in dataclasses.fields(record) if f.default is None and f.name != "absent"
    ]
    words = st.sampled_from(get_args(Absence))
    return (
        st.dictionaries(st.sampled_from(optional), words, max_size=2) if optional else st.just({})
    )


_DEFINITIONS = schemas.schema("sidecar-0.1")["$defs"]
_BY_FORMAT: Mapping[str, Strategy] = {
    "edtf": st.sampled_from(["1961-11", "195X", "1961~", "../1985", "2001-21"]),
    "uri": st.sampled_from(["http://rightsstatements.org/vocab/InC/1.0/", "urn:x:y"]),
    "country": st.sampled_from(["IE", "IS"]),
    "language": st.sampled_from(["eng", "gle"]),
}


def _number(node: Mapping[str, Any]) -> Strategy:
    if node["type"] == "integer":
        return st.integers(max(1, node.get("minimum", 1)), node.get("maximum", 2**53 - 1))
    least = node.get("minimum", node.get("exclusiveMinimum", -400) + 0.01)
    return _decimals(str(least), str(node.get("maximum", 400)), 2)


def _by_schema(record: type, name: str) -> Strategy | None:
    """What the schema asks of a plain value beyond its type."""
    definition = re.sub(r"(?<!^)(?=[A-Z])", "_", record.__name__).lower()
    node = _DEFINITIONS.get(definition, {}).get("properties", {}).get(name, {})
    items = node.get("items", {})
    if items.get("format") in _BY_FORMAT:
        return st.lists(_BY_FORMAT[items["format"]], max_size=2).map(tuple)
    if items.get("type") == "number":
        return st.lists(_decimals("0.5", "240", 2), max_size=2).map(tuple)
    if str(node.get("$ref")).endswith("/when"):
        return _WHEN
    if node.get("type") in {"integer", "number"}:
        return _number(node)
    if "pattern" in node and node.get("maxLength") == 64:
        return _ID
    return _BY_FORMAT.get(str(node.get("format")))


def _value(record: type, name: str, hint: Any) -> Strategy:
    key = (record.__name__, name)
    if key == ("SideCar", "this_file"):
        return records(ThisFile)
    named = _BY_FIELD[key] if key in _BY_FIELD else _BY_NAME.get(name)
    if named is None and key not in _BY_FIELD:
        named = _by_schema(record, name)
    if name == "absent":
        return _absent(record)
    if get_origin(hint) in {Union, types.UnionType}:
        (inside,) = (one for one in get_args(hint) if one is not type(None))
        # A record that says nothing at all is left out of the file, so that it comes back as None.
        return st.none() | _value(record, name, inside).map(lambda one: one if _says(one) else None)
    return named if named is not None else _of(hint)


def _says(value: object) -> bool:
    return plain(value) not in ({}, [])


def _of(hint: Any) -> Strategy:
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        return records(hint)
    origin, inside = get_origin(hint), get_args(hint)
    if origin is Literal:
        return st.sampled_from(inside)
    if origin is tuple:
        return st.lists(_of(inside[0]), max_size=2).map(tuple)
    if origin is Mapping:
        return st.dictionaries(_TEXT, _JSON, max_size=2)
    return _SCALARS[hint]()


_SCALARS: Mapping[Any, Callable[[], Strategy]] = {
    str: lambda: _TEXT,
    bool: st.booleans,
    int: lambda: st.integers(1, 2**53 - 1),
    Decimal: lambda: _decimals("-400", "400", 2),
}


@cache
def records(record: type) -> Strategy:
    """Instances of a record class, each field drawn by its name or type."""
    hints = get_type_hints(record)
    fields = {f.name: _value(record, f.name, hints[f.name]) for f in dataclasses.fields(record)}
    return st.builds(record, **fields)


SIDE_CARS: st.SearchStrategy[SideCar] = records(SideCar)


@pytest.fixture(scope="module")
def written() -> bytes:
    found: list[SideCar] = []

    @settings(max_examples=1, database=None, derandomize=True)
    @given(SIDE_CARS)
    def keep(one: SideCar) -> None:
        found.append(one)

    keep()
    return sidecar.write(found[0])


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(SIDE_CARS)
def test_what_is_written_is_read_the_same(record: SideCar) -> None:
    content = sidecar.write(record)
    assert sidecar.write(record) == content
    again, findings = sidecar.read(content, "reel.json")
    assert findings == ()
    assert again == record
    assert again is not None
    assert sidecar.write(again) == content


def test_it_is_written_sorted_in_utf8_with_lf(written: bytes) -> None:
    assert b"\r" not in written
    assert written.endswith(b"}\n")
    names = list(json.loads(written))
    assert names == sorted(names)


def test_octets_that_are_no_json_are_a_finding_and_no_error() -> None:
    ours = sidecar.SCHEMA.encode()
    for content in (b"", b"{", b"\xff", b'{"a":1,"a":2}', b"[" * 100_000):
        # Without the name of our schema it is somebody else's file.
        assert sidecar.read(content, "reel.json") == (None, ())
        content = b'{"schema": "' + ours + b'", ' + content  # noqa: PLW2901  the same octets, called ours
        record, (finding,) = sidecar.read(content, "reel.json")
        assert record is None
        assert finding.code == "sidecar-not-json"
        assert finding.place.file == "reel.json"
        assert finding.kind.verdict is Verdict.FAIL


@pytest.mark.parametrize(
    "content",
    [
        b"null",
        b"[]",
        b'"urn:tailsout:schema:sidecar:0.1"',
        b"{}",
        b'{"schema": null}',
        b'{"schema": 7}',
        b'{"schema": "https://example.org/other"}',
        b'{"schema": "urn:tailsout:schema:receipt:0.1"}',
        b'{"schema": "urn:tailsout:schema:sidecar:0.1 "}',
        b'{"schema": "urn:tailsout:schema:sidecar:00001.1"}',
        '{"schema": "urn:tailsout:schema:sidecar:٠.١"}'.encode(),
    ],
)
def test_json_of_somebody_else_is_neither_record_nor_finding(content: bytes) -> None:
    assert sidecar.read(content, "other.json") == (None, ())


@pytest.mark.parametrize("version", ["0.2", "1.0", "12.34", "0.0"])
def test_a_version_that_is_not_known_is_not_judged(written: bytes, version: str) -> None:
    data = json.loads(written)
    data["schema"] = f"urn:tailsout:schema:sidecar:{version}"
    data["transfer"] = "something new"
    record, (finding,) = sidecar.read(json.dumps(data).encode(), "reel.json")
    assert record is None
    assert finding.code == "sidecar-newer"
    assert finding.kind.verdict is Verdict.NOT_EXAMINED
    assert finding.place.part == "/schema"
    assert version in finding.text
    assert sidecar.SCHEMA in finding.text


def newer(written: bytes) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(written)
    data["schema"] = sidecar.SCHEMA.replace("0.1", "0.2")
    return data


def test_of_a_newer_minor_version_the_known_parts_are_read(written: bytes) -> None:
    known, _ = sidecar.read(written, "reel.json")
    data = newer(written)
    data["new"] = 1
    data["transfer"]["new"] = {"deep": [1]}
    stop = {"at": "1", "reason": "x", "absent": {}, "new": ""}
    data["transfer"]["passes"] = [{"id": "p", "stops": [stop]}]
    record, (finding,) = sidecar.read(json.dumps(data).encode(), "reel.json")
    assert finding.code == "sidecar-newer"
    assert known is not None
    assert record is not None
    assert record.transfer.job_id == known.transfer.job_id
    assert [stop.reason for stop in record.transfer.passes[0].stops] == ["x"]


def test_of_a_newer_minor_version_a_changed_part_is_not_guessed_at(written: bytes) -> None:
    data = newer(written)
    data["new"] = 1
    data["transfer"]["note"] = ["now", "a", "list"]
    record, findings = sidecar.read(json.dumps(data).encode(), "reel.json")
    assert record is None
    assert [finding.code for finding in findings] == ["sidecar-newer"]


def test_more_new_keys_than_are_looked_at_leave_nothing_read(written: bytes) -> None:
    data = newer(written)
    data["transfer"]["reel"] |= {f"k{number}": 1 for number in range(schemas.MAX_FAULTS + 1)}
    assert sidecar.read(json.dumps(data).encode(), "reel.json")[0] is None
    del data["transfer"]["reel"]["k0"]
    assert sidecar.read(json.dumps(data).encode(), "reel.json")[0] is not None


def test_an_absence_where_none_may_stand_is_refused(written: bytes) -> None:
    data = json.loads(written)
    stop = {"at": "1", "reason": "x", "absent": {}}
    data["transfer"]["passes"] = [{"id": "p", "stops": [stop]}]
    record, (finding,) = sidecar.read(json.dumps(data).encode(), "reel.json")
    assert record is None
    assert finding.place.part == "/transfer/passes/0/stops/0/absent"


def test_every_fault_is_told_with_its_pointer(written: bytes) -> None:
    data = json.loads(written)
    data["transfer"]["reel"]["last_motion"] = "head to tale"
    data["transfer"]["job_id"] = "x"
    data["this_file"]["octets"] = "many"
    data["surplus"] = 1
    del data["software"]
    record, findings = sidecar.read(json.dumps(data).encode(), "reel.json")
    assert record is None
    assert {finding.code for finding in findings} == {"sidecar-schema"}
    assert sorted(finding.place.part for finding in findings) == [
        "/software",
        "/surplus",
        "/this_file/octets",
        "/transfer/job_id",
        "/transfer/reel/last_motion",
    ]
    said = {finding.place.part: finding.text for finding in findings}
    assert "did you mean 'head to tail'?" in said["/transfer/reel/last_motion"]


def test_hostile_names_are_shown_escaped(written: bytes) -> None:
    data = json.loads(written)
    data["transfer"]["\x1b[2J\u202e"] = 1
    data["transfer"]["reel"]["last_motion"] = "\x1b]0;\x07"
    _, findings = sidecar.read(json.dumps(data).encode(), "reel.json")
    assert len(findings) == 2
    for finding in findings:
        assert str(finding.place).isprintable()
        assert finding.text.isprintable()


@pytest.mark.parametrize("key", ["__proto__", "constructor", "", "k" * 10_000])
def test_strange_keys_are_faults_at_every_depth(written: bytes, key: str) -> None:
    for path in ((), ("transfer",), ("transfer", "reel"), ("this_file", "pcm")):
        data = json.loads(written)
        place = data
        for step in path:
            place = place[step]
        place[key] = {}
        record, findings = sidecar.read(json.dumps(data).encode(), "reel.json")
        assert record is None
        assert len(findings) == 1
        assert len(findings[0].place.part) < 300


def test_extensions_are_open_and_kept(written: bytes) -> None:
    data = json.loads(written)
    data["extensions"] = {"org.example": {"x": [None, {}, [], "", 7, True]}}
    record, findings = sidecar.read(json.dumps(data).encode(), "reel.json")
    assert findings == ()
    assert record is not None
    assert record.extensions == data["extensions"]
    assert json.loads(sidecar.write(record))["extensions"] == data["extensions"]
