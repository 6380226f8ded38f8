"""Files that are packed octet for octet, and those whose content is known beforehand."""

from collections.abc import Callable, Mapping
from io import BufferedReader
from pathlib import Path

from tailsout.bag.plan import Made, Streamed
from tailsout.ground.digests import BLOCK_OCTETS
from tailsout.ground.errors import from_os_error
from tailsout.ground.units import printable
from tailsout.mapping.names import tree
from tailsout.records.recipient import Recipient
from tailsout.work import captures


def streamed(path: str, source: Path, name: str) -> Streamed:
    """Return a file called `name`, to lie at `path` in a package.

    Raises SurroundingsError if it cannot be seen.
    """
    try:
        octets = source.stat().st_size
    except OSError as error:
        raise from_os_error(error, f"Looking at {printable(name)}") from error

    def write(sink: Callable[[bytes], object]) -> None:
        with captures.opened(source, name) as stream:
            while block := stream.read(BLOCK_OCTETS):
                sink(block)

    return Streamed(path=path, octets=octets, write=write)


def opener(
    kept: Mapping[str, Path], recipient: Recipient | None
) -> Callable[[str], BufferedReader | None]:
    """Return what opens files of a job, named by their path there, by where they will lie."""
    lying = {tree.kept_path(recipient, name): path for name, path in kept.items()}
    return opener_of(lying, lambda _path: None)


def opener_of(
    brought: Mapping[str, Path], others: Callable[[str], BufferedReader | None]
) -> Callable[[str], BufferedReader | None]:
    """Return what opens files to be packed by where they will lie, else as `others` does."""

    def opens(path: str) -> BufferedReader | None:
        return captures.opened(brought[path], path) if path in brought else others(path)

    return opens


def fixed(path: str, content: bytes) -> Made:
    """Return a file whose content is known already."""
    return Made(path=path, make=lambda _written: content)
