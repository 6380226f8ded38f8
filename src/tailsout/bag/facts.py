"""What is there in a bag (RFC 8493) made by anybody: its tag files, and the names on disk.

It observes and does not judge: everything odd becomes an `Observation` of a kind listed in
`tailsout.records.observations`. No link is followed, no pipe or device opened, nothing fetched,
nothing written, and no digest taken.
"""

from collections.abc import Iterator

from tailsout.bag import grammar
from tailsout.bag.elements import note_elements
from tailsout.bag.fetch import unsafe_address
from tailsout.bag.listed_paths import ListedPaths
from tailsout.bag.names import mixed_scripts
from tailsout.bag.notes import Caps, Notes
from tailsout.bag.readable import Below
from tailsout.bag.tree import Met
from tailsout.ground.digests import ALGORITHMS
from tailsout.ground.errors import TailsoutError
from tailsout.ground.portable import composed, has_invisible, is_decoded, not_portable, twin_key
from tailsout.ground.units import counted, printable
from tailsout.records.facts import FoundFile, InfoLine, Manifest, ManifestLine, PackageFacts

_BEFORE_BAG_INFO = ("0.93", "0.94", "0.95")
"""Drafts in which bag-info.txt is package-info.txt; from memory, and as general libraries read."""


def read_facts(below: Below, name: str, caps: Caps, notes: Notes) -> PackageFacts:
    """Read the structure of a bag called `name`; what is odd is added to the notes."""
    return _Reader(below, caps, notes).facts(name)


class _Reader:
    """Reads one bag once."""

    def __init__(self, below: Below, caps: Caps, notes: Notes) -> None:
        self._caps = caps
        self._notes = notes
        self._files: dict[str, FoundFile] = {}
        self._directories: list[str] = []
        self._holes: list[str] = []
        self._lines_left = caps.manifest_lines
        self._below = below
        for met in below.walk(caps):
            self._take(met)
        self._files = dict(sorted(self._files.items()))
        self._paths = ListedPaths(self._files, notes)
        self._note_names()

    def facts(self, name: str) -> PackageFacts:
        """Read the tag files and put everything together."""
        declared = self._declaration()
        if "data" not in self._directories and self._notes.unseen.isdisjoint({"", "data"}):
            self._notes.add("no-payload-directory", "data", None, "There is no directory data.")
        manifests = tuple(self._manifests(declared))
        self._note_fetch(declared, manifests)
        self._note_payload()
        info = self._bag_info(declared)
        return PackageFacts(
            name=name,
            bagit_version=declared.version,
            encoding=declared.encoding,
            bag_info=info,
            manifests=manifests,
            files=tuple(self._files.values()),
            observations=self._notes.observations(),
            unseen=tuple(sorted(self._notes.unseen)),
            holes=tuple(self._holes),
        )

    # The tree

    def _take(self, met: Met) -> None:
        path, add, leave = met.path, self._notes.add, self._notes.leave
        match met.sort:
            case "file":
                is_hollow = met.hole_octets > self._caps.hole_octets
                why = "Nearly all of it are holes that hold no octets; it was not read."
                self._files[path] = FoundFile(
                    path=path,
                    octets=met.octets,
                    changed_ns=met.changed_ns,
                    trouble=why if is_hollow else "",
                )
                if met.names > 1:
                    add("hard-link", path, None, f"The file has {met.names} names.")
            case "directory":
                self._directories.append(path)
                if not met.entries and path != "data":
                    add("empty-directory", path, None, "The directory is empty.")
            case "link":
                add("link", path, None, "It is a symbolic link and was not followed.")
            case "special":
                add("special-file", path, None, "It is a pipe, socket or device; not opened.")
            case "unreadable":
                leave("unreadable", path, None, f"It could not be read: {met.why}.")
            case "too deep":
                text = f"It lies {self._caps.depth} levels deep and was not entered."
                leave("too-deep", path, None, text)
            case "too many":
                text = f"The bag has more than {self._caps.entries} entries; this was not entered."
                leave("too-many", path, None, text)

    def _note_names(self) -> None:
        seen: dict[str, str] = {}
        for path in sorted([*self._files, *self._directories]):
            name = path.rpartition("/")[2]
            if not is_decoded(name):
                self._notes.add("name-undecodable", path, None, "The name is not UTF-8.")
            if has_invisible(name):
                text = f"The name is {printable(name)!r}."
                self._notes.add("name-controls", path, None, text)
            elif why := not_portable(name):
                self._notes.add("name-not-portable", path, None, f"Of the name: {why}.")
            if mixed := mixed_scripts(name):
                text = f"{printable(name)!r}: {', '.join(mixed)} stand side by side."
                self._notes.add("name-mixed-scripts", path, None, text)
            if name.startswith("."):
                self._notes.add("hidden-file", path, None, "The name begins with a full stop.")
            twin = seen.setdefault(twin_key(path), path)
            if twin != path:
                self._notes.add("name-twins", path, None, _twins(path, twin))

    # Tag files

    def _text(self, path: str, cap: int, encoding: str) -> str | None:
        """Return a tag file's text; None, and noted, if it cannot be had."""
        if self._files[path].octets > cap:
            text = f"It has more than {cap} octets and was not read."
            self._notes.leave("tag-file-too-large", path, None, text)
            return None
        try:
            raw = self._below.read(path, cap)
        except TailsoutError as error:
            self._notes.leave("unreadable", path, None, error.sentence)
            return None
        return grammar.decode(raw, encoding, path, self._notes)

    def _declaration(self) -> grammar.Declaration:
        if "bagit.txt" not in self._files:
            if self._notes.unseen.isdisjoint({"", "bagit.txt"}):
                inner = [n.rpartition("/")[0] for n in self._files if n.endswith("/bagit.txt")]
                said = "There is no file bagit.txt."
                if inner:
                    said = f"{said[:-1]}; there is one in {printable(min(inner, key=len), 200)}."
                self._notes.add("no-bagit-txt", "bagit.txt", None, said)
            return grammar.Declaration()
        text = self._text("bagit.txt", self._caps.tag_octets, "UTF-8")
        if text is None:
            return grammar.Declaration()
        return grammar.parse_bagit_txt(text, self._caps.line, self._notes)

    def _manifests(self, declared: grammar.Declaration) -> Iterator[Manifest]:
        names = [n for n in self._files if grammar.MANIFEST_NAME.fullmatch(n)]
        if not any(n.startswith("manifest-") for n in names) and "" not in self._notes.unseen:
            text = "There is no payload manifest."
            self._notes.add("no-payload-manifest", "manifest-sha512.txt", None, text)
        octets = 0
        for count, name in enumerate(names):
            octets += self._files[name].octets
            if count >= self._caps.manifests or octets > self._caps.all_manifests_octets:
                text = "There are too many manifests, or too large ones; this one was not read."
                self._notes.leave("too-many", name, None, text)
                continue
            content = self._text(name, self._caps.manifest_octets, declared.encoding)
            if content is not None:
                yield self._manifest(name, content, declared)

    def _manifest(self, name: str, content: str, declared: grammar.Declaration) -> Manifest:
        is_tag = name.startswith("tag")
        algorithm = name[name.index("-") + 1 : -len(".txt")]
        if algorithm not in ALGORITHMS:
            text = f"No digests called {printable(algorithm, 80)!r} can be taken."
            self._notes.add("algorithm-unknown", name, None, text)
        usual = None if is_tag else self._usual(content, algorithm)
        if usual is not None:
            return Manifest(name=name, algorithm=algorithm, is_tag=False, lines=usual)
        kept: dict[str, ManifestLine] = {}
        repeated: list[ManifestLine] = []
        for one in grammar.parse_manifest(content, self._caps.line, name, declared, self._notes):
            if self._lines_left == 0:
                more = f"Manifests of more than {self._caps.manifest_lines} lines are not read."
                self._notes.leave("too-many", name, one.line, more)
                break
            self._lines_left -= 1
            grammar.check_digest(one, algorithm, name, self._notes)
            path = self._paths.on_disk(one, name, is_tag=is_tag)
            if path is None:
                continue
            line = ManifestLine(path=path, digest=one.digest, line=one.line)
            before = kept.setdefault(path, line)
            if before is not line:
                repeated.append(line)
                is_same = before.digest.lower() == line.digest.lower()
                how = "the same" if is_same else "another"
                said = f"{printable(path)!r} stands on line {before.line} with {how} digest."
                kind = "listed-again" if is_same and declared.before_1_0 else "listed-twice"
                self._notes.add(kind, name, one.line, said)
        lines = tuple(kept.values())
        if repeated:
            lines = tuple(sorted([*lines, *repeated], key=lambda one: one.line))
        return Manifest(name=name, algorithm=algorithm, is_tag=is_tag, lines=lines)

    def _usual(self, content: str, algorithm: str) -> tuple[ManifestLine, ...] | None:
        """Return the lines of a payload manifest of which there is nothing to note.

        None if there may be. Of most manifests there is nothing, and some have 200,000 lines.
        """
        found = grammar.usual(content, algorithm, self._caps.line)
        if found is None or len(found) > self._lines_left:
            return None
        plain = self._paths.plain
        lines = tuple(
            ManifestLine(plain[path], digest, number)
            for number, (digest, path) in enumerate(found, start=1)
            if path in plain
        )
        if len({line.path for line in lines}) < len(found):
            return None
        self._lines_left -= len(lines)
        return lines

    def _note_fetch(self, declared: grammar.Declaration, manifests: tuple[Manifest, ...]) -> None:
        name = "fetch.txt"
        if name not in self._files:
            return
        text = self._text(name, self._caps.manifest_octets, declared.encoding)
        whole = [m for m in manifests if not m.is_tag and m.name not in self._notes.unseen]
        listed = [{line.path for line in one.lines} for one in whole]
        count = 0
        for one in grammar.parse_fetch(text or "", self._caps.line, declared, self._notes):
            count += 1
            if why := unsafe_address(one.address):
                self._notes.add("fetch-unsafe", name, one.line, f"Of the address: {why}.")
            path = self._paths.on_disk(one, name, is_tag=False)
            if path is None:
                continue
            if not all(path in paths for paths in listed):
                said = f"{printable(path, 200)!r} is not in every payload manifest."
                self._notes.add("fetch-not-listed", name, one.line, said)
            if path not in self._files:
                self._holes.append(path)
                said = f"{printable(path, 200)!r} is to be fetched; it is not in the bag."
                self._notes.add("to-be-fetched", name, one.line, said)
            elif one.octets not in {"-", str(self._files[path].octets)}:
                said = f"{printable(path, 200)!r} has {self._files[path].octets} octets here."
                self._notes.add("fetch-length-differs", name, one.line, said)
        said = f"It names {counted(count, 'file')} to fetch; nothing is fetched."
        self._notes.add("fetch-txt", name, None, said)

    def _note_payload(self) -> None:
        inside = (*self._files, *self._notes.unseen)
        lacks = "data" in self._directories and not self._holes
        if lacks and not any(path in {"", "data"} or path.startswith("data/") for path in inside):
            self._notes.add("payload-empty", "data", None, "It holds no file.")

    def _bag_info(self, declared: grammar.Declaration) -> tuple[InfoLine, ...]:
        name = "bag-info.txt"
        if declared.version in _BEFORE_BAG_INFO and name not in self._files:
            name = "package-info.txt"
        if name not in self._files:
            return ()
        text = self._text(name, self._caps.tag_octets, declared.encoding)
        if text is None:
            return ()
        info = grammar.parse_bag_info(text, self._caps.line, declared, self._notes, name)
        note_elements(info, self._notes)
        return info


def _twins(path: str, twin: str) -> str:
    """Tell of two names in words that differ where the names, as they are shown, do not."""
    text = f"Its twin is {printable(twin)!r}."
    if composed(twin) != composed(path):
        return text
    here, there = ("NFC" if one == composed(one) else "not NFC" for one in (path, twin))
    return f"{text[:-1]}: the same letters, {here} here and {there} there."
