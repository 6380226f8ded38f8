"""What may be built: names for every system (A15, A17, A18, J06), tag values, reserved names."""

import unicodedata
from collections.abc import Mapping

import pytest

from tailsout.bag.plan import Made, Plan, Streamed, Written, check_paths, make_plan
from tailsout.ground.errors import MaterialError


def made(path: str) -> Made:
    def make(_written: Mapping[str, Written]) -> bytes:
        return b""

    return Made(path=path, make=make)


def plan(
    *paths: str,
    tags: tuple[str, ...] = (),
    name: str = "reel-1",
    info: tuple[tuple[str, str], ...] = (),
    algorithms: tuple[str, ...] = ("sha512", "sha256"),
) -> Plan:
    return make_plan(
        name=name,
        payload=[made(p) for p in paths or ("data/a",)],
        tags=[made(p) for p in tags],
        bag_info=info,
        algorithms=algorithms,
    )


def test_a_good_plan_is_kept_as_given() -> None:
    good = plan(
        "data/b b.wav",
        "data/a/Ä.wav",
        "data/a/日本.json",
        tags=("metadata/README.txt", "database"),
        info=(("B", "2"), ("A", "1: x"), ("A", "0")),
    )
    assert [item.path for item in good.payload] == [
        "data/b b.wav",
        "data/a/Ä.wav",
        "data/a/日本.json",
    ]
    assert good.bag_info == (("B", "2"), ("A", "1: x"), ("A", "0"))


def test_octets_that_pass_through_are_summed() -> None:
    streams = [Streamed(path=f"data/{n}", octets=n, write=lambda _take: None) for n in (3, 4)]
    assert make_plan(name="x", payload=[*streams, made("data/m")]).streamed_octets == 7


@pytest.mark.parametrize(
    "part",
    [
        "100%",
        "%41",
        "a\nb",
        "a\rb",
        "a\tb",
        "a\x00b",
        "a\x7fb",
        "a\x85b",
        "a\u2028b",
        "a\u202eb",
        "a\u200bb",
        "\udcff",
        " a",
        "a ",
        "a\u00a0",
        "a.",
        ".",
        "..",
        "",
        "CON",
        "nul.txt",
        "COM1.wav",
        "a\\b",
        "a:b",
        "a*b",
        "a?",
        "a|b",
        'a"b',
        "<a>",
        "x" * 256,
        "ä" * 128,
        unicodedata.normalize("NFD", "ä"),
    ],
)
def test_names_some_system_cannot_hold(part: str) -> None:
    for where in (f"data/{part}", f"data/{part}/x"):
        with pytest.raises(MaterialError) as caught:
            plan(where)
        assert caught.value.sentence.isprintable()
    with pytest.raises(MaterialError):
        plan(tags=(f"metadata/{part}",))
    with pytest.raises(MaterialError):
        plan(name=part)


@pytest.mark.parametrize(
    "paths",
    [
        ("data/a", "data/a"),
        ("data/a", "data/A"),
        ("data/x/a", "data/X/b"),
        ("data/straße", "data/STRASSE"),
        ("data/a", "data/a/b"),
        ("data/A", "data/a/b"),
        ("data/a/b", "data/a"),
    ],
)
def test_names_that_are_one_on_some_systems(paths: tuple[str, ...]) -> None:
    with pytest.raises(MaterialError):
        plan(*paths)


@pytest.mark.parametrize(
    "path", ["a", "metadata/a", "Data/a", "data", "/data/a", "~/data/a", "database/a"]
)
def test_payload_lies_in_data(path: str) -> None:
    with pytest.raises(MaterialError):
        plan(path)


@pytest.mark.parametrize(
    "path",
    [
        "bagit.txt",
        "BagIt.txt",
        "bag-info.txt",
        "fetch.txt",
        "manifest-sha256.txt",
        "Manifest-X.txt",
        "tagmanifest-md5.txt",
        "data",
        "data/x",
        "DATA/x",
        "/x",
        "~x",
        "C:x",
    ],
)
def test_names_bagit_keeps(path: str) -> None:
    with pytest.raises(MaterialError):
        plan(tags=(path,))


def test_tags_and_payload_are_kept_apart() -> None:
    with pytest.raises(MaterialError):
        plan(tags=("metadata/a", "Metadata/b"))


def test_length_and_depth() -> None:
    plan(name="x" * 241)
    with pytest.raises(MaterialError):
        plan(name="x" * 242)
    plan("/".join(["data", *"x" * 63]))
    with pytest.raises(MaterialError):
        plan("/".join(["data", *"x" * 64]))


@pytest.mark.parametrize(
    ("label", "value"),
    [
        ("A", "a\nB: c"),
        ("A", "a\rb"),
        ("A", "a\x0bb"),
        ("A", "a\u2028b"),
        ("A", ""),
        ("A", " a"),
        ("A", "a "),
        ("A", "\udcff"),
        ("A", "x" * 70_000),
        ("", "a"),
        ("A:", "a"),
        (" A", "a"),
        ("A\n", "a"),
        ("Payload-Oxum", "1.1"),
        ("payload-oxum", "1.1"),
        ("Bag-Size", "1 MB"),
    ],
)
def test_bag_info_elements(label: str, value: str) -> None:
    with pytest.raises(MaterialError):
        plan(info=((label, value),))


@pytest.mark.parametrize("algorithms", [(), ("sha3256",), ("sha256", "sha256"), ("SHA256",)])
def test_algorithms(algorithms: tuple[str, ...]) -> None:
    with pytest.raises(MaterialError):
        plan(algorithms=algorithms)


def test_an_empty_package() -> None:
    with pytest.raises(MaterialError):
        make_plan(name="x", payload=[])


def test_paths_alone_can_be_checked_before_there_is_a_plan() -> None:
    check_paths(())
    check_paths(iter(("data/audio/a.wav", "data/audio/a.json", "metadata/a.wav")))


@pytest.mark.parametrize(
    ("paths", "why"),
    [
        (("data/a.wav", "data/b?.wav"), "cannot stand on every system"),
        (("data/100%.wav",), "percent sign"),
        (("data/a.wav", "data/A.wav"), "are one on some systems"),
        (("data/../a.wav",), "is not safe|cannot stand"),
        (("data/a", "data/a/b"), "both a file and a directory"),
    ],
)
def test_paths_that_cannot_be(paths: tuple[str, ...], why: str) -> None:
    with pytest.raises(MaterialError, match=why):
        check_paths(paths)
