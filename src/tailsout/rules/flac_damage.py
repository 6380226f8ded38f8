"""What each word of the readers of FLAC files weighs; `damage` has the rest, and the rule for it.

RFC 9639 and its section numbers are from memory.
"""

from tailsout.ground.findings import Kind, Severity, Verdict

_AGAIN = "Go back to the recorder's own file, or ask the sender for the file again."


def _as(kind: Kind, *words: str) -> dict[str, Kind]:
    return dict.fromkeys(words, kind)


KIND_OF: dict[str, Kind] = {
    **_as(
        Kind(
            code="flac-structure-broken",
            severity=Severity.MEND,
            title="The metadata blocks of a FLAC file are not as they must be",
            basis="RFC 9639 §8: fLaC, STREAMINFO first and once, the last block marked",
            remedy=_AGAIN,
        ),
        "flac-block-type",
        "flac-duplicate-streaminfo",
        "flac-streaminfo",
        "not-flac",
    ),
    **_as(
        Kind(
            code="flac-cut-short",
            severity=Severity.MEND,
            title="A FLAC file holds another amount of audio or metadata than it states",
            basis="RFC 9639 §8.1: the length of a block; §8.2: samples in all",
            remedy=_AGAIN,
        ),
        "flac-ends-early",
        "flac-length",
        "flac-no-audio",
        "flac-truncated",
    ),
    **_as(
        Kind(
            code="flac-frame-broken",
            severity=Severity.MEND,
            title="The audio of a FLAC file cannot be decoded to its end",
            basis="RFC 9639 §9: every frame has its header and its checksum",
            remedy=_AGAIN,
        ),
        "flac-frame",
    ),
    **_as(
        Kind(
            code="flac-samples-differ",
            severity=Severity.MEND,
            title="The samples of a FLAC file are not those that were encoded",
            basis="RFC 9639 §8.2: the MD5 of the samples",
            remedy=_AGAIN,
        ),
        "flac-md5-differs",
    ),
    **_as(
        Kind(
            code="flac-not-decoded",
            severity=Severity.QUERY,
            title="A FLAC file is beyond what this program walks or decodes",
            basis="our limit: 10,000 metadata blocks; samples of 8, 12, 16, 20, 24 and 32 bits",
            remedy="What lies beyond it was not judged; nothing is said about it either way.",
            leads_to=Verdict.NOT_EXAMINED,
        ),
        "flac-bits",
        "flac-too-many-blocks",
    ),
    **_as(
        Kind(
            code="flac-chunks-contradict",
            severity=Severity.QUERY,
            title="The wave chunks kept in a FLAC file do not fit its audio; the audio is clear",
            basis="common practice, no source: wave chunks in riff APPLICATION blocks",
            remedy="The engineer or the sender says which of the two is right.",
        ),
        "flac-chunks",
    ),
    **_as(
        Kind(
            code="flac-unproved",
            severity=Severity.NOTE,
            title="A FLAC file does not state its length or its MD5, so it cannot prove itself",
            basis="RFC 9639 §8.2: zero stands for not known",
            remedy="Nothing to do; the checksums of its frames were checked where it was decoded.",
        ),
        "flac-length-unstated",
        "flac-md5-unstated",
    ),
    **_as(
        Kind(
            code="flac-untidy",
            severity=Severity.NOTE,
            title="A FLAC file departs from its standard in a way that leaves the audio clear",
            basis="RFC 9639 §8",
            remedy="Nothing to do; it is kept as it is.",
        ),
        "flac-application",
        "flac-comment",
        "flac-tag-in-front",
    ),
}
"""By word."""
