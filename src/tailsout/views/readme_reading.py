"""The parts of metadata/README.txt that are read without any program: digests, samples, words."""

from collections.abc import Iterator, Mapping, Sequence
from textwrap import fill

from tailsout.ground.units import counted, printable
from tailsout.records.dossier import FileRecord

WIDTH = 79

_CHUNKS = (
    "Should no program play wave files any more: after its first twelve octets a wave file is a "
    "row of chunks, each of four letters, the length of what follows in four octets, the least "
    "first, and so many octets, with one more where that is odd. The chunk called data holds the "
    "samples, moment after moment, and of each moment one a channel: whole numbers with sign "
    "(two's complement), the least octet first. In a file that begins with RF64 that "
    "length stands in the 17th to 24th octet of the chunk ds64, its letters counted."
)
_FLAC = (
    "A file that ends in .flac holds the same samples compressed by FLAC (RFC 9639), which has to "
    "be undone first."
)
_FLOAT = "Where a line below says float, they are numbers of IEEE 754 instead."
_WORDS: Mapping[str, str] = {
    "heads out, tails out": "the beginning, or the end, of the tape lies outside on the reel.",
    "ips": "inches of tape a second; an inch is 25.4 mm.",
    "NAB 3180+50 µs and the like": "the curve of frequencies by which the tape was played. Each "
    "time t stands for a corner at 1 / (2 pi t): 3180 µs for 50 Hz, 50 µs for 3183 Hz (IEC "
    "60094-1).",
    "nWb/m": "nanowebers a metre of track width: how strongly a tape is magnetised.",
    "dBFS, dBTP, LUFS": "decibels re the largest sine wave that a file can hold; the same of the "
    "peaks between samples; loudness. The latter two by ITU-R BS.1770.",
    "octet": "a number of eight bits, 0 to 255; also called a byte.",
}


def samples(masters: Sequence[tuple[str, FileRecord]]) -> Iterator[str]:
    """Yield how the sound is read without a player; nothing where no master is to be read."""
    told = [(path, *_how(file)) for path, file in masters if file.pcm and file.frames]
    if not told:
        return
    kinds = [(path.lower().endswith(".flac"), coding) for path, coding, _ in told]
    parts = [_CHUNKS]
    parts += [_FLAC] if any(is_flac for is_flac, _ in kinds) else []
    parts += [_FLOAT] if any("float" in coding for _, coding in kinds) else []
    yield from _titled("How to read the sound without a player")
    yield wrapped(" ".join(parts))
    yield ""
    for path, coding, length in told:
        yield printable(path)
        yield f"    {coding},"
        yield f"    {length}"
    yield ""


def words() -> Iterator[str]:
    """Yield what the words of the trade mean that are met most."""
    yield from _titled("Words")
    for word, meaning in _WORDS.items():
        yield word
        yield wrapped(meaning, "    ")
    yield ""


def verify(package: str) -> Iterator[str]:
    """Yield how to see whether anything in a package has changed."""
    yield from _titled("How to see whether anything has changed")
    yield wrapped(
        "Open a terminal in the folder that holds bagit.txt and run these two commands; both must "
        "print OK for every line:"
    )
    yield ""
    yield "    sha512sum -c manifest-sha512.txt"
    yield "    sha512sum -c tagmanifest-sha512.txt"
    yield ""
    receipt = f"{package}.receipt.json" if package else "a file that ends in .receipt.json"
    yield wrapped(
        "The second one covers the manifests themselves. A file below data that no line of a "
        f"manifest names was added later. The digests of the tag manifests are in the receipt, "
        f"{printable(receipt)}, which was written beside this folder when the package was made; "
        "kept elsewhere, it shows whether the manifests were exchanged. Where there is no "
        "sha512sum, shasum -a 512 does the same, and so will any program for SHA-512 or SHA-256 "
        "(FIPS 180-4); a manifest line is the digest, two blanks, and the path."
    )


def wrapped(text: str, indent: str = "") -> str:
    """Fold a paragraph to the width of the page."""
    return fill(
        text,
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _how(file: FileRecord) -> tuple[str, str]:
    pcm, frames = file.pcm, file.frames or 0
    if pcm is None:
        return "", ""
    bits = f"{pcm.container_bits} bits a sample"
    if pcm.is_float:
        bits += ", float"
    elif pcm.container_bits == 8:
        bits += ", without sign, 128 for silence"
    elif pcm.valid_bits != pcm.container_bits:
        bits += f", of which the upper {pcm.valid_bits} count"
    channels = counted(pcm.channels, "channel")
    seconds = frames / pcm.sample_rate_hz
    return (
        f"{channels}, {bits}, {pcm.sample_rate_hz} moments a second",
        f"{frames} moments: {seconds:.3f} seconds",
    )


def _titled(title: str) -> Iterator[str]:
    yield title
    yield "-" * len(title)
    yield ""
