"""What chunks are, in words. Ids and documents are from memory but for those that are decoded."""

import pytest

from tailsout.wave import flac
from tailsout.wave.known import KNOWN, what_is
from tailsout.work import other_chunks


def test_every_chunk_that_is_read_is_known() -> None:
    assert {one.decode("ascii") for one in other_chunks._READ} <= set(KNOWN)


def test_every_block_of_flac_is_known() -> None:
    names = {flac.Block(type=n, offset=0, octets=0).name for n in range(flac.PICTURE + 1)}
    assert names <= set(KNOWN)


def test_an_id_is_of_four_characters_or_a_blocks_name() -> None:
    assert [one for one in KNOWN if len(one) != 4 and not one.replace("_", "").isupper()] == []


@pytest.mark.parametrize(
    ("chunk_id", "list_type", "words"),
    [
        ("bext", "", "broadcast extension (EBU Tech 3285)"),
        ("LIST", "", "list (RIFF 1991)"),
        ("LIST", "INFO", "statements in words, INFO (RIFF 1991)"),
        ("LIST", "wavl", "list of type wavl (RIFF 1991)"),
        ("list", "", "not known; LIST but for its case"),
        ("Junk", "", "not known; JUNK but for its case"),
        ("ID3 ", "", "ID3v2 tag"),
        ("fmt", "", "not known"),
        ("zzzz", "", "not known"),
        ("", "", "not known"),
    ],
)
def test_what_a_chunk_is(chunk_id: str, list_type: str, words: str) -> None:
    assert what_is(chunk_id, list_type) == words
