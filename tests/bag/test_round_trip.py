"""What the writer of bags writes, their reader reads: names, digests, elements, in their order."""

import hashlib
import shutil
import tempfile
from pathlib import Path

from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from tailsout.bag import grammar
from tailsout.bag.build import build
from tailsout.bag.disk import Disk
from tailsout.bag.notes import Notes
from tailsout.bag.open import open_bag
from tailsout.bag.plan import Made, make_plan
from tailsout.bag.prove import prove
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Verdict
from tailsout.ground.portable import composed, not_portable
from tailsout.ground.progress import Silent

V1 = grammar.Declaration(version="1.0", encoding="UTF-8")
SEEN = st.characters(exclude_categories=["C", "Zl", "Zp"], exclude_characters='%<>:"|?*/\\')
WORDS = st.text(SEEN, min_size=1, max_size=12).map(lambda t: composed(t).strip()).filter(bool)
NAMES = WORDS.filter(lambda name: not not_portable(name))
PATHS = st.lists(NAMES, min_size=1, max_size=3).map("/".join)


def escaped(path: str) -> str:
    """RFC 8493 §2.1.3: percent, CR and LF, and nothing else."""
    return path.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


@given(st.lists(st.tuples(st.text("0123456789abcdef", min_size=1), st.text(min_size=1))))
@example([("00", "a "), ("0f", "%0A"), ("0f", "%25"), ("0f", "\u2028\x85")])
def test_lines_of_a_manifest(pairs: list[tuple[str, str]]) -> None:
    # A line's path begins with what is no blank: that is what parts it from the digest.
    pairs = [(digest, f"data/{path}") for digest, path in pairs]
    text = "".join(f"{digest}  {escaped(path)}\n" for digest, path in pairs)
    notes = Notes()
    found = list(grammar.parse_manifest(text, 10_000, "f", V1, notes))
    assert [(one.digest, one.path, one.line) for one in found] == [
        (*pair, number) for number, pair in enumerate(pairs, start=1)
    ]
    assert notes.observations() == ()


LABELS = st.text(min_size=1, max_size=20).filter(
    lambda t: not set(t) & {":", "\r", "\n"} and t == t.strip(" \t")
)
LINES = st.text(min_size=1, max_size=60).filter(
    lambda t: not set(t) & {"\r", "\n"} and t == t.strip(" \t")
)


@settings(max_examples=50)
@given(st.lists(st.tuples(LABELS, st.lists(LINES, min_size=1, max_size=4)), max_size=5))
def test_elements_of_bag_info_on_one_line_or_folded(pairs: list[tuple[str, list[str]]]) -> None:
    text = "".join(": ".join((label, "\n  ".join(lines))) + "\n" for label, lines in pairs)
    notes = Notes()
    found = grammar.parse_bag_info(text, 10_000, V1, notes)
    assert [(one.label, one.value) for one in found] == [(a, "\n".join(b)) for a, b in pairs]
    assert notes.observations() == ()


@settings(max_examples=8, deadline=None)
@given(
    st.dictionaries(PATHS, st.binary(max_size=30), min_size=1, max_size=4),
    st.lists(st.tuples(WORDS, WORDS), max_size=4),
)
@example({"a b/\u00e4.wav": b""}, [("Contact-Name", "b: c"), ("Contact-Name", "a")])
def test_a_bag_that_may_be_built_is_read_as_it_was_meant(
    payload: dict[str, bytes], info: list[tuple[str, str]]
) -> None:
    content = {f"data/{path}": octets for path, octets in payload.items()}
    try:
        plan = make_plan(
            name="reel",
            payload=[Made(path=p, make=lambda _w, o=o: o) for p, o in content.items()],  # type: ignore[misc]  # a default
            bag_info=info,
        )
    except MaterialError:
        assume(False)
    folder = Path(tempfile.mkdtemp())
    try:
        built = build(
            plan, folder, disk=Disk(), judge=lambda _stage: Verdict.PASS, progress=Silent()
        )
        with open_bag(built.path) as bag:
            facts = prove(bag, spans={}, progress=Silent())
    finally:
        shutil.rmtree(folder)
    assert {o.kind for o in facts.observations} <= {"hidden-file", "name-mixed-scripts"}
    assert [(i.label, i.value) for i in facts.bag_info][: len(info)] == info
    for manifest in facts.manifests:
        if not manifest.is_tag:
            assert {line.path: line.digest for line in manifest.lines} == {
                path: hashlib.new(manifest.algorithm, octets).hexdigest()
                for path, octets in content.items()
            }
    digests = {file.path: file.digests for file in facts.files}
    assert all(
        digests[line.path][manifest.algorithm] == line.digest
        for manifest in facts.manifests
        for line in manifest.lines
    )
