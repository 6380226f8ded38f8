"""The master of a capture as a file that is written block by block: copied through, or FLAC."""

from collections.abc import Callable
from typing import BinaryIO

from tailsout.bag.plan import Streamed
from tailsout.ground.digests import Hashing
from tailsout.ground.progress import Progress
from tailsout.mapping import naming
from tailsout.wave import embed
from tailsout.wave.embed import Recipe
from tailsout.work import captures, compressed
from tailsout.work.captures import Taken


def master(
    one: Taken,
    path: str,
    recipe: Recipe,
    *,
    essence: str,
    source: str,
    scratch: Callable[[], BinaryIO] | None,
    progress: Progress,
) -> Streamed:
    """Return the master of a capture, to lie at `path`.

    `essence` is the SHA-256 of its samples as measured; `source` a digest of all it is made from.
    """
    if not naming.is_flac(path) or scratch is None:
        write = _copier(one, recipe, essence)
        return Streamed(path=path, octets=recipe.octets, write=write, source=source)
    # How many octets it takes is known only when it has been made.
    target = scratch()
    octets = compressed.compress(one, recipe, target, essence, progress)
    return Streamed(path=path, octets=octets, write=compressed.copier(target), source=source)


def _copier(
    one: Taken, recipe: Recipe, essence: str
) -> Callable[[Callable[[bytes | memoryview], object]], None]:
    def write(sink: Callable[[bytes | memoryview], object]) -> None:
        with Hashing(["sha256"]) as hashing:
            with captures.reading(one) as source:
                embed.copy(
                    source.stream,
                    recipe,
                    sink,
                    essence=hashing.update,
                    # What writes the bag counts the octets.
                    advance=lambda _octets: None,
                )
            if hashing.hexdigests()["sha256"] != essence:
                raise compressed.read_differently(one)

    return write
