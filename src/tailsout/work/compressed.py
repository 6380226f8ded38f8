"""Makes a FLAC master: the very wave master that would have been written, compressed."""

from collections.abc import Callable
from typing import BinaryIO

from tailsout.ground.digests import BLOCK_OCTETS, Hashing
from tailsout.ground.errors import SurroundingsError, from_os_error
from tailsout.ground.progress import Progress
from tailsout.wave import assembled, flac_encode
from tailsout.wave.embed import Recipe
from tailsout.wave.riff import read_layout
from tailsout.work import captures
from tailsout.work.captures import Taken


def compress(
    one: Taken, recipe: Recipe, scratch: BinaryIO, essence_sha256: str, progress: Progress
) -> int:
    """Write the master into an empty scratch file and return its octets.

    Raises MaterialError for chunks that no FLAC block can hold, SurroundingsError if reading or
    writing fails or the samples are not those that were measured.
    """
    progress.begin(f"Compressing {one.name}", recipe.essence.octets)
    with Hashing(["sha256"]) as essence:
        with captures.reading(one) as source:
            master = assembled.copied(source.stream, recipe)
            octets = flac_encode.encode(
                master,
                read_layout(master),
                scratch,
                essence=essence.update,
                advance=progress.advance,
            )
        if essence.hexdigests()["sha256"] != essence_sha256:
            raise read_differently(one)
    return octets


def read_differently(taken: Taken) -> SurroundingsError:
    """Return the error for samples that were not the same when they were read again."""
    return SurroundingsError(
        f"The samples of {taken.name} read differently the second time; memory, cable or disk may "
        "be at fault.",
        "Check the machine before trying again; nothing was packed.",
    )


def copier(scratch: BinaryIO) -> Callable[[Callable[[bytes], object]], None]:
    """Return what hands over a scratch file block by block."""

    def write(sink: Callable[[bytes], object]) -> None:
        try:
            scratch.seek(0)
            while block := scratch.read(BLOCK_OCTETS):
                sink(block)
        except OSError as error:
            raise from_os_error(error, "Reading a scratch file") from error

    return write
