"""Opens a bag that lies in an archive, and says what is there, without unpacking it.

A tar is read where it lies: its files are stretches of it. Of a packed one the first pass lists
the members and keeps what readers look into; the second, when the bag is proved, takes the digests.
What is found is told in the words of `tailsout.records.observations`, as of a folder.
"""

import io
import os
from collections.abc import Iterator, Sequence
from dataclasses import replace
from io import BufferedReader
from pathlib import Path
from types import TracebackType
from typing import Self

from tailsout.bag.archive import (
    digest_beside,
    streams,
    tar,
    zip_content,
    zip_walk,
)
from tailsout.bag.archive.form import HEAD_OCTETS, form_of, stem_of
from tailsout.bag.archive.kept import Kept
from tailsout.bag.archive.limits import LIMITS, Limits
from tailsout.bag.archive.listing import Listing
from tailsout.bag.archive.source import Plain, Source, StoppedError, Unpacked, stretch
from tailsout.bag.archive.tar import Member
from tailsout.bag.facts import read_facts
from tailsout.bag.names import from_disk
from tailsout.bag.notes import DEFAULT_CAPS, Caps, Notes
from tailsout.bag.readable import Mark, mark_of
from tailsout.bag.tree import Met, Tree
from tailsout.ground.errors import MaterialError, SurroundingsError, UsageError, from_os_error
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.records.facts import ArchiveFacts, PackageFacts

UNTOUCHABLE = frozenset(
    {
        "archive-escape",
        "archive-link",
        "archive-special",
        "archive-twice",
        "archive-ambiguous",
        "archive-overlap",
    }
)
"""What makes an archive one that is not to be unpacked."""
_LEAVING_OUT = UNTOUCHABLE | {"archive-beyond-limits", "archive-method"}
"""What leaves something of it unread."""


class ArchivedBag:
    """A bag in an archive, held open for reading; a context manager."""

    def __init__(self, folder: Tree, name: str, called: str, caps: Caps, limits: Limits) -> None:
        self._folder, self._name, self._limits = folder, name, limits
        self._called = called
        self._open: list[BufferedReader] = []
        self._source: Unpacked | None = None
        self._rereads = limits.rereads
        self._kept = Kept(limits)
        self._notes = Notes()
        self._mark = mark_of(folder.status(name))
        with self.whole_stream() as stream:
            self._form = form_of(stream.read(HEAD_OCTETS), called)
        self._listing = Listing(called, limits, self._notes, is_zip=self._form == "zip")
        self._prefix = ""
        self._caps = caps

    @property
    def order(self) -> Sequence[str]:
        """The order in which the files of a packed tar lie; empty for anything else."""
        if self._form in {"tar", "zip"}:
            return ()
        start = len(self._prefix)
        return [path[start:] for path in self._listing.files if path.startswith(self._prefix)]

    def read_in(self, progress: Progress) -> PackageFacts:
        """List the members and read what the bag says of itself. Raises SurroundingsError."""
        progress.begin(f"Looking through {printable(self._called)}", self._mark[0])
        whole = True
        try:
            self._list(progress)
        except StoppedError as error:
            self._notes.add(error.word, self._called, None, error.text)
            # What lacks in the bag may lie in what was not read.
            self._notes.unseen.add("")
            whole = False
        except OSError as error:
            raise from_os_error(error, f"Reading {printable(self._called)}") from error
        if whole and "" not in self._notes.unseen:
            base = self._listing.base(stem_of(self._called))
        else:
            base = next(iter(self._listing.bases()), "")
        self._prefix = f"{base}/"
        facts = read_facts(self, base, self._caps, self._notes)
        met = {one.kind for one in facts.observations}
        archive = ArchiveFacts(
            name=self._called,
            form=self._form,
            octets=self._mark[0],
            whole=whole and met.isdisjoint(_LEAVING_OUT),
            beside=digest_beside.read_beside(self._folder, self._called),
        )
        self.facts = replace(facts, archive=archive)
        return self.facts

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the archive."""
        for one in self._open:
            one.close()
        self._folder.close()

    def walk(self, caps: Caps) -> Iterator[Met]:
        """Yield everything below the base directory."""
        return self._listing.below(self._prefix[:-1], caps)

    def stream(self, path: str) -> BufferedReader:
        """Open one file of the bag for reading; the stream has no descriptor.

        Raises MaterialError if there is none of that path, SurroundingsError if the archive cannot
        be read or is another one by now.
        """
        member = self._member(path)
        is_deflated = member.packed_octets is not None
        if self._form == "tar" or (self._form == "zip" and not is_deflated):
            return streams.window(self._raw(), member.offset, member.octets)
        ends = self._kept.ends(member.path)
        if is_deflated:
            whole = self.whole_stream()
            return streams.packed(
                member.octets,
                ends,
                lambda: zip_content.source(whole, member, self._limits),
                whole,
            )
        return streams.packed(member.octets, ends, lambda: self._unpacked_at(member.offset))

    def read(self, path: str, cap: int) -> bytes:
        """Return the octets of one file. Raises as `stream`, MaterialError beyond `cap` octets."""
        if self._member(path).octets > cap:
            raise MaterialError(f"{printable(path)!r} is larger than {cap} octets.")
        try:
            with self.stream(path) as stream:
                return stream.read()
        except OSError as error:
            raise from_os_error(error, f"Reading {printable(path)}") from error

    def mark(self, path: str, stream: BufferedReader) -> Mark:
        """Return the mark of a file: its octets, and that of the archive when it was opened."""
        del stream
        return (self._member(path).octets, *self._mark)

    def mark_now(self, path: str) -> Mark:
        """Return the mark of a file by the archive that stands there now. Raises OSError."""
        return (self._member(path).octets, *mark_of(self._folder.status(self._name)))

    def with_digests(self, progress: Progress) -> ArchiveFacts | None:
        """Return what is known of the archive, with the digests that files beside it state.

        Raises SurroundingsError.
        """
        archive = self.facts.archive
        if archive is None or not any(one.stated for one in archive.beside):
            return archive
        progress.begin(f"Reading all of {printable(self._called)}", self._mark[0])
        try:
            with self.whole_stream() as stream:
                beside = digest_beside.take(stream, archive.beside, progress.advance)
        except OSError as error:
            raise from_os_error(error, f"Reading {printable(self._called)}") from error
        return replace(archive, beside=beside)

    def whole_stream(self) -> BufferedReader:
        """Open the archive itself for reading. Raises SurroundingsError."""
        return BufferedReader(self._raw())

    def _member(self, path: str) -> Member:
        member = self._listing.files.get(self._prefix + path)
        if member is None:
            raise MaterialError(f"{printable(path)!r} is not a file in the archive.")
        return member

    def _raw(self) -> io.FileIO:
        try:
            raw = io.FileIO(self._folder.open(self._name), "rb")
            mark = mark_of(os.fstat(raw.fileno()))
        except OSError as error:
            raise from_os_error(error, f"Opening {printable(self._called)}") from error
        if mark != self._mark:
            raw.close()
            raise SurroundingsError(
                f"{printable(self._called)} changed while it was read.",
                "Wait until nothing writes to it, then run the same command again.",
            )
        return raw

    def _list(self, progress: Progress) -> None:
        if self._form == "tar":
            with self.whole_stream() as stream:
                plain = Plain(stream, self._mark[0])
                for member in tar.walk(plain, self._limits, self._notes, self._called):
                    self._listing.add(member)
            return
        if self._form == "zip":
            self._list_zip(progress)
            return
        source = self._begin()
        for member in tar.walk(source, self._limits, self._notes, self._called):
            settled = self._listing.add(member)
            if settled is not None:
                blocks = stretch(source, settled.octets, progress.advance)
                self._kept.take(settled.path, settled.octets, blocks)
        if source.has_tail:
            text = "Something stands after the packed octets; it was not looked at."
            self._notes.add("archive-trailing", self._called, None, text)

    def _list_zip(self, progress: Progress) -> None:
        limits, octets = self._limits, 0
        with self.whole_stream() as stream:
            members = zip_walk.walk(stream, self._mark[0], limits, self._notes, self._called)
            for member in members:
                settled = self._listing.add(member)
                if settled is None:
                    continue
                blocks = zip_content.proved(stream, settled, limits)
                octets += self._kept.take(settled.path, settled.octets, blocks)
                progress.advance(settled.packed_octets or settled.octets)
                if octets > max(limits.ratio_after, limits.ratio * self._mark[0]):
                    text = f"It came to more than {limits.ratio} times as many octets as it has."
                    raise StoppedError("archive-beyond-limits", text)

    def _begin(self) -> Unpacked:
        stream = self.whole_stream()
        self._open.append(stream)
        packed = Plain(stream, self._mark[0])
        return Unpacked(packed, "gzip" if self._form == "tar.gz" else "xz", self._limits)

    def _unpacked_at(self, offset: int) -> Source:
        """Return the unpacked archive at a place; it is begun anew only so often."""
        if self._source is None or self._source.position > offset:
            if self._rereads == 0:
                raise io.UnsupportedOperation("the packed archive was begun anew too often")
            self._rereads -= 1
            self._source = self._begin()
        self._source.skip(offset - self._source.position)
        return self._source


def open_archive(
    path: Path,
    progress: Progress,
    *,
    called: str = "",
    caps: Caps = DEFAULT_CAPS,
    limits: Limits = LIMITS,
) -> ArchivedBag:
    """Open the bag in the archive at `path`, which may be `called` otherwise than its file is.

    Raises UsageError if it is not an archive, SurroundingsError if it cannot be read.
    """
    try:
        # The archive may be a link: the user named it.
        place = Path(os.path.realpath(path))
        if not place.is_file():
            raise UsageError(
                f"{printable(str(path))} is not an archive.", "Name a tar, tar.gz, tar.xz or zip."
            )
        folder = Tree(place.parent)
    except OSError as error:
        raise from_os_error(error, f"Opening {printable(str(path))}") from error
    name = from_disk(place.name)
    try:
        bag = ArchivedBag(folder, name, called or name, caps, limits)
    except BaseException as error:
        folder.close()
        if isinstance(error, OSError):
            raise from_os_error(error, f"Opening {printable(str(path))}") from error
        raise
    try:
        bag.read_in(progress)
    except BaseException:
        bag.close()
        raise
    return bag
