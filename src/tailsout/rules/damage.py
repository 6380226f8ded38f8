"""What each word of the readers of wave files weighs: a new word is given its place here.

A layout rule is one to mend where two independent readers lose or mistake the audio, or the chunk,
of a file that breaks it; else a person is asked, or it is only noted.
"""

from tailsout.ground.findings import Kind, Severity, Verdict
from tailsout.rules import flac_damage
from tailsout.rules.weighing import AGAIN, weighing

_DECIDE = "The engineer or the sender says whether the file is as it was made."


KIND_OF: dict[str, Kind] = {
    **weighing(
        Kind(
            code="wave-unknown-form",
            severity=Severity.MEND,
            title="A file that is named as a wave file is not one",
            basis="RIFF 1991 ch. 2: it begins with RIFF, its size, WAVE; EBU Tech 3306: with RF64; "
            "ITU-R BS.2088-1: with BW64",
            remedy="Find out what it is by its first octets, and ask for the wave file.",
        ),
        "not-wave",
    ),
    **weighing(
        Kind(
            code="wave-cut-short",
            severity=Severity.MEND,
            title="A wave file declares more than it holds, or its sizes end before its audio does",
            basis="RIFF 1991 ch. 2: the size of a chunk and of the form counts what lies inside",
            remedy=AGAIN,
        ),
        "never-finished",
        "riff-ends-early",
        "size-wrapped",
        "truncated",
    ),
    **weighing(
        Kind(
            code="wave-structure-broken",
            severity=Severity.MEND,
            title="The chunks of a wave file do not follow each other as they must",
            basis="RIFF 1991 ch. 2: id, size, payload, pad to an even size; "
            "ch. 3: one fmt, one data",
            remedy=AGAIN,
        ),
        "bad-chunk-id",
        "duplicate-data",
        "duplicate-fmt",
        "fmt-after-data",
        "missing-pad",
        "no-data",
        "no-fmt",
    ),
    **weighing(
        Kind(
            code="wave-ds64-broken",
            severity=Severity.MEND,
            title="The 64-bit sizes of a wave file are missing or contradict the file",
            basis="ITU-R BS.2088-1 Annex 1; EBU Tech 3306: ds64 comes first, with the true sizes",
            remedy=AGAIN,
        ),
        "ds64-mismatch",
        "ds64-missing",
        "ds64-short",
        "ds64-table",
    ),
    **weighing(
        Kind(
            code="wave-format-broken",
            severity=Severity.MEND,
            title="The format of a wave file does not say how long a sample frame is",
            basis="RIFF 1991 ch. 3: fmt states channels, rate, block align and bits a sample",
            remedy=AGAIN,
        ),
        "fmt-inconsistent",
        "fmt-short",
    ),
    **weighing(
        Kind(
            code="wave-coding-refused",
            severity=Severity.MEND,
            title="The audio is in a coding that is not read, so nothing of it is decoded",
            basis="RIFF 1991 ch. 3: a tag names the coding; own rule: linear PCM or IEEE float",
            remedy="Ask for the same audio as linear PCM, as it was before it was coded.",
        ),
        "fmt-coding",
    ),
    **weighing(
        Kind(
            code="wave-bext-broken",
            severity=Severity.MEND,
            title="A bext chunk is too short to be one, or there are two",
            basis="EBU Tech 3285 v2 §2.3: one chunk, 602 octets and the coding history",
            remedy=AGAIN,
        ),
        "bext-short",
        "duplicate-bext",
    ),
    **weighing(
        Kind(
            code="wave-too-many-chunks",
            severity=Severity.QUERY,
            title="A wave file has more chunks than this program reads",
            basis="our limit: 10,000 chunks a file",
            remedy="What lies beyond it was not judged; nothing is said about it either way.",
            leads_to=Verdict.NOT_EXAMINED,
        ),
        "too-many-chunks",
    ),
    **weighing(
        Kind(
            code="wave-size-differs",
            severity=Severity.QUERY,
            title="A wave file states a size that is not its own; its audio is clear",
            basis="RIFF 1991 ch. 2: the size of the form is the length of the file less 8",
            remedy=_DECIDE,
        ),
        "riff-size",
    ),
    **weighing(
        Kind(
            code="wave-octets-behind-end",
            severity=Severity.QUERY,
            title="Octets follow the end of a wave file; no reader of wave files looks at them",
            basis="RIFF 1991 ch. 2: the form ends where its size says",
            remedy="The engineer or the sender says whether they are wanted; no copy holds them.",
        ),
        "trailing-octets",
    ),
    **weighing(
        Kind(
            code="wave-frame-incomplete",
            severity=Severity.QUERY,
            title="The audio ends inside a sample frame",
            basis="RIFF 1991 ch. 3: data holds whole blocks; readers leave out what is over",
            remedy="The engineer or the sender says whether the recording was broken off there.",
        ),
        "incomplete-frame",
    ),
    **weighing(
        Kind(
            code="wave-format-contradicts",
            severity=Severity.QUERY,
            title="A figure of the format contradicts the others; its frames are clear",
            basis="RIFF 1991 ch. 3; WAVEFORMATEXTENSIBLE: valid bits, mask, size of the extension",
            remedy=_DECIDE,
        ),
        "fmt-byte-rate",
        "fmt-extension",
        "fmt-mask",
        "fmt-valid-bits",
    ),
    **weighing(
        Kind(
            code="wave-bext-faulty",
            severity=Severity.NOTE,
            title="A field of a bext chunk departs from its standard",
            basis="EBU Tech 3285 v2 §2.3 and §2.4",
            remedy="Nothing to do; what can be read is read, and the chunk is kept as it is.",
        ),
        "bext-after-nul",
        "bext-control",
        "bext-date",
        "bext-loudness",
        "bext-loudness-zero",
        "bext-not-ascii",
        "bext-reserved",
        "bext-space-padded",
        "bext-time",
        "bext-version",
    ),
    **weighing(
        Kind(
            code="wave-chunk-faulty",
            severity=Severity.NOTE,
            title="A chunk beside the audio departs from its standard",
            basis="RIFF 1991 ch. 2: LIST, INFO, CSET; ch. 3: cue, adtl, fact; ITU-R BS.2088-1 "
            "Annex 1: chna; EBU Tech 3285 s3: levl; SMPTE ST 330: UMID; AES46: cart",
            remedy="Nothing to do; what can be read is read, and the chunk is kept as it is.",
        ),
        "adtl-after-nul",
        "adtl-control",
        "adtl-duplicate",
        "adtl-not-ascii",
        "adtl-nuls",
        "adtl-orphan",
        "adtl-past-end",
        "adtl-short",
        "adtl-unended",
        "cart-short",
        "cart-text",
        "chna-rows",
        "chna-short",
        "chna-text",
        "chna-tracks",
        "chunk-duplicate",
        "cset-size",
        "cue-count",
        "cue-duplicate",
        "cue-elsewhere",
        "cue-past-end",
        "cue-short",
        "fact-differs",
        "fact-short",
        "info-after-nul",
        "info-control",
        "info-duplicate",
        "info-not-ascii",
        "info-nuls",
        "info-unended",
        "levl-format",
        "levl-short",
        "levl-text",
        "list-bad-id",
        "list-leftover",
        "list-missing-pad",
        "list-nested",
        "list-pad-not-zero",
        "list-part-long",
        "list-short",
        "list-type",
        "umid-label",
        "umid-length",
        "umid-short",
        "umid-text",
    ),
    **weighing(
        Kind(
            code="wave-chunk-unread",
            severity=Severity.NOTE,
            title="A chunk beside the audio holds more than this program reads",
            basis="our limit: what is not audio is read up to a fixed size, whatever it declares",
            remedy="Nothing to do; its octets are kept and counted in every digest.",
        ),
        "chunk-oversize",
        "chunk-too-many",
        "cue-too-many",
        "list-too-many",
        "bext-oversize",
        "xml-oversize",
    ),
    **weighing(
        Kind(
            code="wave-untidy",
            severity=Severity.NOTE,
            title="A wave file departs from its standard in a way that leaves the audio clear",
            basis="RIFF 1991 ch. 2",
            remedy="Nothing to do; it is kept as it is.",
        ),
        "ds64-pad-counted",
        "ds64-row-unused",
        "ds64-samples",
        "ds64-unused",
        "id-case",
        "missing-final-pad",
        "pad-not-zero",
    ),
    **flac_damage.KIND_OF,
}
"""By word."""

HARMLESS = frozenset(
    word
    for word, kind in KIND_OF.items()
    if kind.severity is not Severity.MEND and kind.leads_to is None
)
"""Damage after which every sample is still where the standard says."""
