"""What each word of the readers of FLAC files weighs; `damage` has the rest, and the rule for it.

RFC 9639 and its section numbers are from memory.
"""

from tailsout.ground.findings import Kind, Severity, Verdict
from tailsout.rules.weighing import AGAIN, weighing

KIND_OF: dict[str, Kind] = {
    **weighing(
        Kind(
            code="flac-structure-broken",
            severity=Severity.MEND,
            title="The metadata blocks of a FLAC file are not as they must be",
            basis="RFC 9639 §8: fLaC, STREAMINFO first and once, the last block marked",
            remedy=AGAIN,
        ),
        "flac-block-type",
        "flac-duplicate-streaminfo",
        "flac-streaminfo",
        "not-flac",
    ),
    **weighing(
        Kind(
            code="flac-cut-short",
            severity=Severity.MEND,
            title="A FLAC file holds more or less audio or metadata than it states",
            basis="RFC 9639 §8.1: the length of a block; §8.2: samples in all",
            remedy=AGAIN,
        ),
        "flac-ends-early",
        "flac-length",
        "flac-no-audio",
        "flac-truncated",
    ),
    **weighing(
        Kind(
            code="flac-frame-broken",
            severity=Severity.MEND,
            title="The audio of a FLAC file cannot be decoded to its end",
            basis="RFC 9639 §9: every frame has its header and its checksum",
            remedy=AGAIN,
        ),
        "flac-frame",
    ),
    **weighing(
        Kind(
            code="flac-samples-differ",
            severity=Severity.MEND,
            title="The samples of a FLAC file are not those that were encoded",
            basis="RFC 9639 §8.2: the MD5 of the samples",
            remedy=AGAIN,
        ),
        "flac-md5-differs",
    ),
    **weighing(
        Kind(
            code="flac-not-decoded",
            severity=Severity.QUERY,
            title="A FLAC file is beyond what this program reads or decodes",
            basis="our limit: 10,000 metadata blocks; samples of 8, 12, 16, 20, 24 and 32 bits",
            remedy="What lies beyond it was not judged; nothing is said about it either way.",
            leads_to=Verdict.NOT_EXAMINED,
        ),
        "flac-bits",
        "flac-too-many-blocks",
    ),
    **weighing(
        Kind(
            code="flac-chunks-contradict",
            severity=Severity.QUERY,
            title="The wave chunks kept in a FLAC file do not fit its audio; the audio is clear",
            basis="common practice, no source: wave chunks in riff APPLICATION blocks",
            remedy="The engineer or the sender says which of the two is right.",
        ),
        "flac-chunks",
    ),
    **weighing(
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
    **weighing(
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
