"""Pages made of records, and what an HTML parser makes of them."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import html5lib
import pytest

from tailsout.ground.findings import Finding
from tailsout.records.dossier import Dossier
from tailsout.views import report

_SPACE = "{http://www.w3.org/1999/xhtml}"


@dataclass(frozen=True)
class Page:
    """A page as octets, and as a strict parser of HTML reads it."""

    octets: bytes
    tree: ET.Element

    @property
    def text(self) -> str:
        """What people read, in one line."""
        body = self.tree.find(f"{_SPACE}body")
        assert body is not None
        return " ".join(" ".join(body.itertext()).split())

    def named(self, name: str) -> list[ET.Element]:
        """Every element of HTML of that name."""
        return list(self.tree.iter(f"{_SPACE}{name}"))

    def told(self, one: ET.Element) -> str:
        return " ".join("".join(one.itertext()).split())

    def lines(self, heading: str) -> list[str]:
        """The lines of the list below a heading."""
        for section in self.named("section"):
            titles = [self.told(one) for one in section.iter(f"{_SPACE}h2")]
            if titles == [heading]:
                return [self.told(one) for one in section.iter(f"{_SPACE}li")]
        return []

    def rows(self) -> Mapping[str, str]:
        """Labels and what stands beside them; of one that is repeated the last."""
        found = {}
        for one in self.named("div"):
            label, value = one.find(f"{_SPACE}dt"), one.find(f"{_SPACE}dd")
            if label is not None and value is not None:
                found[self.told(label)] = self.told(value)
        return found

    def attributes(self) -> Iterator[tuple[str, str, str]]:
        """Element, attribute and value, of HTML and of drawings."""
        for one in self.tree.iter():
            for key, value in one.attrib.items():
                yield str(one.tag).rpartition("}")[2], key.rpartition("}")[2], value


def parsed(octets: bytes) -> Page:
    """Read a page; whatever is no valid HTML fails here (WHATWG HTML §13.2)."""
    parser = html5lib.HTMLParser(strict=True)
    tree: Any = parser.parse(octets.decode("utf-8"))
    return Page(octets=octets, tree=tree)


@pytest.fixture(scope="session")
def page() -> Callable[..., Page]:
    """Make a page of a dossier, with findings and assets where they are wanted."""

    def make(
        dossier: Dossier, *findings: Finding, assets: Mapping[str, bytes] | None = None
    ) -> Page:
        return parsed(report.render(dossier, findings, assets or {}))

    return make


@pytest.fixture(scope="session")
def colours() -> Mapping[str, Mapping[str, str]]:
    """The colours of the sheet by name, on the screen and in print."""
    css = re.sub(r"/\*.*?\*/", "", report.paper.css(), flags=re.DOTALL)
    screen, _, printed = css.partition("@media print")
    pattern = re.compile(r"--([a-z]+):\s*(#[0-9a-f]{3,6});")
    of_screen = dict(pattern.findall(screen))
    return {"screen": of_screen, "print": {**of_screen, **dict(pattern.findall(printed))}}
