"""The text of tag files, RFC 8493 §2.1.1, §2.1.3, §2.2.2, §2.2.3 and §2.3.

Lines end on LF, CR or CRLF and on nothing else: `str.splitlines` would also end them on VT, NEL
or U+2028 and so let a damaged octet pass unseen. Encodings come from a short list, since Python's
own register holds codecs that are not character encodings. Nothing here looks at a disk.
"""

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from tailsout.bag.notes import Notes
from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.units import printable
from tailsout.records.facts import InfoLine

KNOWN_VERSIONS = ("0.93", "0.94", "0.95", "0.96", "0.97", "1.0")
ENCODINGS = {"UTF-8": "utf-8", "UTF-16": "utf-16", "ISO-8859-1": "latin-1", "US-ASCII": "ascii"}
"""Names of the IANA register that are accepted, and Python's names for them."""

MANIFEST_NAME = re.compile(r"(tag)?manifest-([^/]+)\.txt", re.DOTALL)

_LINE = re.compile(r"([^\r\n]*)(\r\n|\r|\n|\Z)")
_VERSION = re.compile(r"BagIt-Version: ([0-9]+\.[0-9]+)")
_ENCODING = re.compile(r"Tag-File-Character-Encoding: ([!-~]+)")
_LOOSE_VERSION = re.compile(r"\s*bagit-version\s*:\s*([0-9]{1,9}\.[0-9]{1,9})\s*", re.IGNORECASE)
_LOOSE_ENCODING = re.compile(
    r"\s*tag-file-character-encoding\s*:\s*([!-~]{1,80})\s*", re.IGNORECASE
)
# No two neighbours of a pattern match the same character: time grows with the line, not faster.
_LISTED = re.compile(r"([^ \t]+)[ \t]+([^ \t].*)", re.DOTALL)
_FETCH = re.compile(
    r"([A-Za-z][A-Za-z0-9+.-]*:[^ \t]+)[ \t]+([0-9]+|-)[ \t]+([^ \t].*)", re.DOTALL | re.ASCII
)
_ESCAPE = re.compile(r"%(0[AaDd]|25)")
_HEX = re.compile(r"[0-9A-Fa-f]+")
_USUAL = {
    name: re.compile(f"([0-9a-f]{{{length}}})  (data/[^%\\r\\n]+)\n")
    for name, length in ALGORITHMS.items()
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Declaration:
    """What bagit.txt states, as far as it could be read; empty where it could not."""

    version: str = ""
    encoding: str = ""

    @property
    def before_1_0(self) -> bool:
        """True for the drafts, whose paths know no percent codes and whose blanks are free."""
        return self.version.startswith("0.")


class Listed(NamedTuple):
    """One line of a manifest; `digest` is empty for a line of fetch.txt."""

    line: int
    digest: str
    path: str
    """As the version asks: percent codes decoded, or literal."""
    other: str
    """The path if the percent codes were meant the other way."""
    address: str = ""
    """Of fetch.txt. Danger: it can hold a password, so it is never shown."""
    octets: str = ""
    """Of fetch.txt: the length as digits without leading zeros, or a hyphen."""


def lines(text: str, most: int, file: str, notes: Notes) -> Iterator[tuple[int, str]]:
    """Yield line number and content; a line of more than `most` characters is passed over."""
    position = number = 0
    while position < len(text):
        match = _LINE.match(text, position)
        if match is None:
            break
        number += 1
        position = match.end()
        if match.end(1) - match.start(1) > most:
            notes.leave("line-too-long", file, number, f"It has more than {most} characters.")
        else:
            yield number, match[1]
        if not match[2]:
            notes.add("line-unended", file, number, "The last line has no end.")


def decode(raw: bytes, encoding: str, file: str, notes: Notes) -> str:
    """Decode a tag file; octets that do not fit are noted and kept as surrogates.

    UTF-16 without a byte-order mark is read as big-endian (RFC 2781 §4.3).
    """
    codec = ENCODINGS.get(encoding.upper(), "utf-8")
    start = 0
    if codec == "utf-16":
        codec = "utf-16-le" if raw.startswith(codecs.BOM_UTF16_LE) else "utf-16-be"
        start = 2 if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) else 0
    elif raw.startswith(codecs.BOM_UTF8):
        notes.add("bom", file, 1, "It begins with the octets EF BB BF.")
        start = 3
    try:
        return raw[start:].decode(codec)
    except UnicodeDecodeError as error:
        where = start + error.start
        notes.add("tag-file-undecodable", file, None, f"The octets at {where} are no {codec}.")
        return raw[start:].decode(
            codec, "replace" if codec.startswith("utf-16") else "surrogateescape"
        )


def parse_bagit_txt(text: str, most: int, notes: Notes) -> Declaration:
    """Read bagit.txt (RFC 8493 §2.1.1): strictly for the faults, loosely for the values."""
    found = list(lines(text, most, "bagit.txt", notes))
    wanted = (("BagIt-Version: M.N", _VERSION), ("Tag-File-Character-Encoding: NAME", _ENCODING))
    for index, (form, pattern) in enumerate(wanted):
        line = found[index][1] if index < len(found) else None
        if line is None or not pattern.fullmatch(line):
            shown = "missing" if line is None else repr(printable(line, 100))
            notes.add(
                "bagit-txt-malformed", "bagit.txt", index + 1, f"It is {shown}, not '{form}'."
            )
    if len(found) > len(wanted):
        notes.add("bagit-txt-malformed", "bagit.txt", 3, "There are more than two lines.")
    declared = Declaration(
        version=_first(_LOOSE_VERSION, found), encoding=_first(_LOOSE_ENCODING, found)
    )
    if declared.version and declared.version not in KNOWN_VERSIONS:
        notes.add("version-unknown", "bagit.txt", 1, f"It states version {declared.version}.")
    if declared.encoding and declared.encoding.upper() not in ENCODINGS:
        shown = printable(declared.encoding)
        notes.add("encoding-not-allowed", "bagit.txt", 2, f"It states {shown!r}.")
    elif declared.encoding and declared.encoding.upper() != "UTF-8":
        text = f"It states {printable(declared.encoding)}, not UTF-8."
        notes.add("encoding-not-utf8", "bagit.txt", 2, text)
    return declared


def _first(pattern: re.Pattern[str], found: list[tuple[int, str]]) -> str:
    matches = (pattern.fullmatch(line) for _, line in found)
    return next((m[1] for m in matches if m is not None), "")


def unescape(path: str) -> str:
    """Decode the three percent codes of RFC 8493 §2.1.3, all in one pass."""
    return _ESCAPE.sub(lambda m: chr(int(m[1], 16)), path)


def _listed(number: int, digest: str, raw: str, declared: Declaration) -> Listed:
    if "%" not in raw:
        return Listed(number, digest, raw, raw)
    decoded = unescape(raw)
    path, other = (raw, decoded) if declared.before_1_0 else (decoded, raw)
    return Listed(line=number, digest=digest, path=path, other=other)


def parse_manifest(
    text: str, most: int, file: str, declared: Declaration, notes: Notes
) -> Iterator[Listed]:
    """Yield the lines of a manifest (RFC 8493 §2.1.3); blanks in and after a path are kept."""
    for number, line in lines(text, most, file, notes):
        match = _LISTED.fullmatch(line)
        if match is None or match[1].startswith("#"):
            text = f"{printable(line, 100)!r} is not a digest and path."
            if line.startswith("#"):
                text = f"{text[:-1]}; manifests have no comments."
            elif not line.strip(" \t"):
                text = "The line is blank."
            notes.add("manifest-line-malformed", file, number, text)
            continue
        yield _listed(number, match[1], match[2], declared)


def usual(text: str, algorithm: str, most: int) -> list[tuple[str, str]] | None:
    """Return digests and paths of a payload manifest that is as most programs write it.

    None if it differs in anything, be it one letter: `parse_manifest` and `check_digest` tell what.
    """
    pattern = _USUAL.get(algorithm)
    found = pattern.findall(text) if pattern is not None else []
    gap = ALGORITHMS.get(algorithm, 0) + len("  ")
    lengths = [len(path) for _, path in found]
    is_all = bool(found) and sum(lengths) + len(found) * (gap + len("\n")) == len(text)
    return found if is_all and max(lengths) + gap <= most else None


def parse_fetch(text: str, most: int, declared: Declaration, notes: Notes) -> Iterator[Listed]:
    """Yield the targets of fetch.txt (RFC 8493 §2.2.3). Its addresses are never shown or used."""
    for number, line in lines(text, most, "fetch.txt", notes):
        match = _FETCH.fullmatch(line)
        if match is None:
            # Danger: an address can hold a password, so the line is not quoted.
            notes.add("fetch-line-malformed", "fetch.txt", number, "It is not a URL, length, path.")
        else:
            octets = match[2].lstrip("0") or "0"
            listed = _listed(number, "", match[3], declared)
            yield listed._replace(address=match[1], octets=octets)


def check_digest(listed: Listed, algorithm: str, file: str, notes: Notes) -> None:
    """Note a digest that is not of the algorithm's alphabet, length or usual case."""
    length = ALGORITHMS.get(algorithm, len(listed.digest))
    if not _HEX.fullmatch(listed.digest) or len(listed.digest) != length:
        shown = printable(listed.digest, 140)
        text = f"{shown!r} is no {printable(algorithm, 80)} digest."
        notes.add("digest-malformed", file, listed.line, text)
    elif listed.digest != listed.digest.lower():
        text = f"{printable(listed.digest, 140)!r} has upper-case letters."
        notes.add("digest-upper-case", file, listed.line, text)


def parse_bag_info(
    text: str, most: int, declared: Declaration, notes: Notes, file: str = "bag-info.txt"
) -> tuple[InfoLine, ...]:
    """Read bag-info.txt (RFC 8493 §2.2.2) in its order; a folded value keeps its line breaks."""
    found: list[tuple[str, list[str], int]] = []
    for number, line in lines(text, most, file, notes):
        if line[:1] in {" ", "\t"} and line.strip(" \t") and found:
            found[-1][1].append(line.lstrip(" \t"))
            continue
        label, colon, rest = line.partition(":")
        if not colon or not label.strip(" \t"):
            said = f"{printable(line, 100)!r} has no label." if line else "The line is blank."
            notes.add("bag-info-malformed", file, number, said)
            continue
        value = rest.lstrip(" \t")
        spaced = len(rest) - len(value) != 1 or label != label.rstrip(" \t")
        if label != label.lstrip(" \t") or (spaced and not declared.before_1_0):
            text = f"{printable(line, 100)!r}: label, colon, one blank, value; the blanks differ."
            notes.add("bag-info-malformed", file, number, text)
        found.append((label.strip(" \t"), [value], number))
    return tuple(
        InfoLine(label=label, value="\n".join(value), line=number, file=file)
        for label, value, number in found
    )
