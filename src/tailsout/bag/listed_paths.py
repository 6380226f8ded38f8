"""Paths as manifests and fetch.txt list them, held against the names on disk.

Those that differ from the disk only in percent codes (RFC 8493 §2.1.3), in the marks of checksum
tools or in Unicode normalisation are noted, and given as they are on disk.
"""

from collections.abc import Mapping

from tailsout.bag.grammar import Listed
from tailsout.bag.names import is_plain_payload, unsafe
from tailsout.bag.notes import Notes
from tailsout.ground.portable import composed
from tailsout.ground.units import printable
from tailsout.records.facts import FoundFile


class ListedPaths:
    """The files of one bag, to be found by the paths that its lists give."""

    def __init__(self, files: Mapping[str, FoundFile], notes: Notes) -> None:
        self.plain = {path: path for path in files if is_plain_payload(path)}
        """Payload paths of which a glance shows that they are safe."""
        self._files = files
        self._notes = notes
        self._by_form: dict[str, list[str]] = {}

    def on_disk(self, one: Listed, file: str, *, is_tag: bool) -> str | None:
        """Return the path of one line of `file` as it is on disk; None, and noted, if unsafe."""
        plain = None if is_tag else self.plain.get(one.path)
        if plain is not None:
            return plain
        if one.path.startswith("./") and not unsafe(one.path[2:]):
            text = "A full stop and a slash stand before the path."
            self._notes.add("manifest-marker", file, one.line, text)
            one = one._replace(path=one.path[2:], other=one.other[2:])
        if why := unsafe(one.path):
            shown = printable(one.path, 200)
            self._notes.add("path-unsafe", file, one.line, f"{shown!r}: {why}.")
            return None
        path = self._settled(one, file)
        in_data = path.startswith("data/")
        if is_tag and (in_data or path.startswith("tagmanifest-")):
            text = f"{printable(path, 200)!r} may not stand in a tag manifest."
            self._notes.add("path-outside-payload", file, one.line, text)
        elif not is_tag and not in_data:
            text = f"{printable(path, 200)!r} does not lie in data."
            self._notes.add("path-outside-payload", file, one.line, text)
        return path

    def _settled(self, one: Listed, file: str) -> str:
        """Return the path that is on disk where the list differs from it in spelling alone."""
        if one.path in self._files:
            return self._files[one.path].path
        if one.other in self._files:
            text = f"On disk it is {printable(one.other, 200)!r}: the percent codes are off."
            self._notes.add("percent-raw", file, one.line, text)
            return one.other
        if one.path[1:] in self._files and one.path.startswith("*"):
            text = "An asterisk stands before the path."
            self._notes.add("manifest-marker", file, one.line, text)
            return one.path[1:]
        if not self._by_form:
            for path in self._files:
                self._by_form.setdefault(composed(path), []).append(path)
        alike = self._by_form.get(composed(one.path), [])
        if len(alike) == 1:
            text = f"{printable(one.path, 200)!r} and the name on disk differ in normalisation."
            self._notes.add("name-form-differs", file, one.line, text)
            return alike[0]
        return one.path
