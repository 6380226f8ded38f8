"""What of a capture its master does not carry any more: kept octet for octet beside it."""

from collections.abc import Iterator

from tailsout.ground.errors import MaterialError
from tailsout.mapping import naming
from tailsout.wave.walk import read_at
from tailsout.work import captures
from tailsout.work.captures import LookedInto, Taken

MAX_AROUND_OCTETS = 8 << 20
"""Most octets before or behind the samples of one file that are kept: they are held in memory."""


def replaced(one: Taken) -> Iterator[tuple[str, bytes]]:
    """Yield the name and the octets of each thing that is replaced in a master.

    Of several files read as one, that is all of each but its samples. Raises MaterialError if that
    is too much, SurroundingsError if a file cannot be read.
    """
    for file in one.files:
        stem = naming.master_stem(file.survey.record.path)
        if len(one.files) > 1:
            yield from _around(file, stem)
        elif one.survey.raw_bext:
            yield f"{stem}.bext", one.survey.raw_bext


def _around(file: LookedInto, stem: str) -> Iterator[tuple[str, bytes]]:
    layout = file.survey.layout
    if layout.data is None:
        raise ValueError("what was read as one has audio")
    behind = layout.data.offset + layout.data_octets
    name = file.survey.record.path
    with captures.opened(file.path, name) as stream:
        for ending, start, end in (
            ("before-audio", 0, layout.data.offset),
            ("behind-audio", behind, layout.file_octets),
        ):
            if end - start > MAX_AROUND_OCTETS:
                raise MaterialError(
                    f"{name} holds {end - start} octets around its samples, more than "
                    f"{MAX_AROUND_OCTETS >> 20} MiB, which could not be kept beside the master.",
                    "Name its files as captures of their own.",
                )
            if end > start:
                yield f"{stem}.{ending}", read_at(stream, start, end - start)
