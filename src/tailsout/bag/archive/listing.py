"""What an archive lists, judged by names alone, and the one bag in it.

A name that could lead out of the place it is unpacked in is noted and left out (CWE-22), so is a
second member of one name (CWE-694) and one below a file. At the top there is to be one directory,
called as the archive is: so the drafts of BagIt had it before RFC 8493 left the matter open.
"""

from collections.abc import Iterator
from dataclasses import replace

from tailsout.bag.archive.limits import Limits
from tailsout.bag.archive.source import StoppedError
from tailsout.bag.archive.tar import Member
from tailsout.bag.names import unsafe
from tailsout.bag.notes import Caps, Notes
from tailsout.bag.tree import Met
from tailsout.ground.units import counted, printable

_OF_MACOS = "__MACOSX"


class Listing:
    """Gathers members in the order they come."""

    def __init__(self, archive: str, limits: Limits, notes: Notes, *, is_zip: bool) -> None:
        self._archive, self._limits, self._notes = archive, limits, notes
        self._is_zip = is_zip
        self._directories: set[str] = set()
        self._count = 0
        self.files: dict[str, Member] = {}
        """By path as in the archive, base directory and all."""

    def add(self, member: Member) -> Member | None:
        """Take in a member; return it under its plain path, or None if it is left out.

        Raises StoppedError if there are too many.
        """
        self._count += 1
        if self._count > self._limits.members:
            text = f"It has more than {self._limits.members} members; the rest is unread."
            raise StoppedError("too-many", text)
        path = _plain(member)
        if path in {"", "."} and member.sort == "directory":
            return None
        if not self._is_fit(path) or not self._has_room(path, member.sort):
            return None
        if member.sort == "directory":
            self._directories.add(path)
            return None
        settled = replace(member, path=path)
        self.files[path] = settled
        return settled

    def _is_fit(self, path: str) -> bool:
        shown = printable(path, 200)
        octets = len(path.encode("utf-8", "surrogateescape"))
        if octets > self._limits.path_octets:
            text = f"A path has {octets} octets; {self._limits.path_octets} at most are taken."
            self._notes.add("archive-beyond-limits", shown, None, text)
            return False
        why = unsafe(path)
        if self._is_zip and "\\" in path:
            why = "it holds a backslash, which some programs take for a slash"
        if why:
            self._notes.add("archive-escape", shown or self._archive, None, f"Of its path: {why}.")
        return not why

    def _has_room(self, path: str, sort: str) -> bool:
        """Enter the directories a path lies in, unless something stands in the way."""
        parts = path.split("/")
        above = ["/".join(parts[:count]) for count in range(1, len(parts))]
        if any(place in self.files for place in above):
            self._notes.add("archive-twice", path, None, "It lies below what is a file.")
            return False
        if path in self.files or (path in self._directories and sort == "file"):
            self._notes.add("archive-twice", path, None, "Two members have that name.")
            return False
        self._directories.update(above)
        return True

    def base(self, stem: str) -> str:
        """Return the base directory of the bag, and note what is not as it should be.

        `stem` is the archive's name without its ending. Empty if there is no directory at all.
        """
        directories = sorted(path for path in self._directories if "/" not in path)
        loose = sorted(path for path in self.files if "/" not in path)
        if len(directories) != 1 or loose:
            shown = ", ".join(printable(path, 80) for path in [*directories, *loose][:5])
            folders = counted(len(directories), "directory", "directories")
            text = f"At its top stand {folders}, {counted(len(loose), 'file')}: {shown}."
            if "bagit.txt" in self.files:
                text = f"{text[:-1]}; the bag was packed from inside its folder."
            elif _OF_MACOS in directories:
                text = f"{text[:-1]}; {_OF_MACOS} is what the archiver of macOS adds."
            elif not shown:
                text = "It holds nothing."
            self._notes.add("archive-base", self._archive, None, text)
        elif directories[0] != stem:
            text = f"Its base directory is {printable(directories[0], 200)!r}."
            self._notes.add("archive-name-differs", self._archive, None, text)
        return next(iter(self.bases()), "")

    def bases(self) -> list[str]:
        """Return the directories at the top, those first that hold a bagit.txt."""
        top = sorted(path for path in self._directories if "/" not in path)
        return sorted(top, key=lambda path: f"{path}/bagit.txt" not in self.files)

    def below(self, base: str, caps: Caps) -> Iterator[Met]:
        """Yield everything below the base directory, as the walk of a folder does."""
        prefix = f"{base}/"
        every = [*self._directories, *self.files]
        holding = {path.rpartition("/")[0] for path in every}
        for path in sorted(path for path in every if path.startswith(prefix)):
            plain = path.removeprefix(prefix)
            depth = plain.count("/") + 1
            if path in self.files:
                if depth <= caps.depth:
                    yield Met(path=plain, sort="file", octets=self.files[path].octets)
            elif depth < caps.depth:
                yield Met(path=plain, sort="directory", entries=int(path in holding))
            elif depth == caps.depth:
                yield Met(path=plain, sort="too deep")


def _plain(member: Member) -> str:
    """Return a path without what only tells how the archive was made."""
    path = member.path.removeprefix("./")
    return path[:-1] if member.sort == "directory" and path.endswith("/") else path
