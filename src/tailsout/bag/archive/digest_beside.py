"""The digest of a whole archive, in a file beside it that `sha512sum -c` reads.

`SKL-0007.tar.sha512` holds one line: digest, two blanks, the archive's name, line feed. Read are
also the asterisk of binary mode, CRLF and the other algorithms of BagIt.
"""

import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from io import BufferedReader

from tailsout.bag.tree import Tree
from tailsout.ground.digests import ALGORITHMS, BLOCK_OCTETS, BUFFERS, Hashing
from tailsout.ground.errors import MaterialError, TailsoutError
from tailsout.records.facts import DigestBeside

ALGORITHM = "sha512"
_MOST_OCTETS = 8192
_LINE = re.compile(r"([0-9A-Fa-f]+) [ *]([^\r\n]+)\r?\n?")


def name_of(archive: str, algorithm: str = ALGORITHM) -> str:
    """Return the name of the file that states the digest of an archive."""
    return f"{archive}.{algorithm}"


def line(archive: str, digest: str) -> bytes:
    """Write what stands in it.

    Raises MaterialError for a name that checksum tools would read in another way.
    """
    if not {"\n", "\r", "\\"}.isdisjoint(archive):
        raise MaterialError(
            f"{archive!r} is not a name that checksum tools read as it stands.",
            "Give the package's folder a plain name.",
        )
    return f"{digest}  {archive}\n".encode("utf-8", "surrogateescape")


def names_beside(folder: Tree, archive: str) -> Mapping[str, str]:
    """Return the names of the files beside an archive that may state a digest: the algorithms."""
    found = {}
    for algorithm in ALGORITHMS:
        name = name_of(archive, algorithm)
        with suppress(OSError):
            folder.status(name)
            found[name] = algorithm
    return found


def read_beside(folder: Tree, archive: str) -> tuple[DigestBeside, ...]:
    """Read what files beside an archive state of it; one that cannot be read states nothing."""
    found = []
    for name, algorithm in names_beside(folder, archive).items():
        try:
            content = folder.read(name, _MOST_OCTETS).decode("utf-8", "surrogateescape")
        except TailsoutError:
            content = ""
        match = _LINE.fullmatch(content)
        is_sound = (
            match is not None and len(match[1]) == ALGORITHMS[algorithm] and match[2] == archive
        )
        stated = match[1].lower() if match is not None and is_sound else ""
        found.append(DigestBeside(name=name, algorithm=algorithm, stated=stated))
    return tuple(found)


def take(
    stream: BufferedReader, beside: tuple[DigestBeside, ...], passed: Callable[[int], None]
) -> tuple[DigestBeside, ...]:
    """Return the digests with what is found in the archive. Raises OSError."""
    wanted = tuple(one.algorithm for one in beside if one.stated)
    if not wanted:
        return beside
    with Hashing(wanted) as hashing:
        blocks = [memoryview(bytearray(BLOCK_OCTETS)) for _ in range(BUFFERS)]
        turn = 0
        while count := stream.readinto(blocks[turn % BUFFERS]):
            hashing.update(blocks[turn % BUFFERS][:count])
            passed(count)
            turn += 1
        digests = hashing.hexdigests()
    return tuple(replace(one, found=digests.get(one.algorithm, "")) for one in beside)
