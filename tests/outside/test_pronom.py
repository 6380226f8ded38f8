"""Our table of formats and their signs, held against PRONOM's signature file 109.

It is the one that lies in the source archive of opf-fido, which `.ci/run` fetches; nothing of it is
kept here.
"""

import importlib.util
import io
import os
import re
import sys
import tarfile
from collections.abc import Mapping
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from lxml import etree

from tailsout.mapping import pronom
from tailsout.views import formats

pytestmark = pytest.mark.oracles

ORACLES = Path(os.environ.get("TAILSOUT_ORACLE_FILES") or Path(sys.prefix) / "oracle-files")
ENDS = {"GIF": b";", "PDF": b"%%EOF", "JPEG": b"\xff\xd9", "PNG": b"", "TIFF": b""}
"""How a file of a format ends; the signatures look there too."""


@pytest.fixture(scope="module")
def registry() -> Mapping[str, Any]:
    """Every format of the registry by its identifier."""
    archives = sorted(ORACLES.glob("opf?fido-*.tar.gz"))
    if not archives:
        pytest.skip("opf-fido was not fetched: see .ci/run")
    with tarfile.open(archives[0]) as source:
        (name,) = (one for one in source.getnames() if one.endswith("/conf/formats-v109.xml"))
        taken = source.extractfile(name)
        assert taken is not None
        every = etree.parse(taken).getroot().iter("format")
        return {one.findtext("puid", ""): one for one in every}


@pytest.fixture(scope="module")
def said() -> Mapping[bytes, str]:
    """The beginnings of files in tests/mapping/test_pronom.py, and what we take each for."""
    path = Path(__file__).resolve().parents[1] / "mapping/test_pronom.py"
    spec = importlib.util.spec_from_file_location("beginnings", path)
    assert spec is not None
    assert spec.loader is not None
    module = ModuleType(spec.name)
    spec.loader.exec_module(module)
    found: Mapping[bytes, str] = module.SAID
    return found


def every_format() -> list[formats.Format]:
    tables = (formats._BY_OCTETS, formats._BY_ENDING, formats._COPIES)
    return [one for table in tables for one in table.values() if one.pronom]


def test_every_identifier_is_that_of_a_format_so_called(
    registry: Mapping[str, Any],
) -> None:
    names = {
        "GIF": "Graphics Interchange Format",
        "PNG": "Portable Network Graphics",
        "TIFF": "Tagged Image File Format",
        "CSV": "Comma Separated Values",
        "JSON": "JSON Data Interchange Format",
        "plain text": "Plain Text File",
        "WAVE": "Waveform Audio",
        "FLAC": "Free Lossless Audio Codec",
        "Opus in Ogg": "Ogg Opus",
    }
    for one in every_format():
        theirs = registry[one.pronom]
        called = f"{theirs.findtext('name')} {theirs.findtext('version') or ''}"
        wanted, _, version = one.version.rpartition(" ")
        starts = {"JFIF": "JPEG File Interchange", "Exif": "Exchangeable Image File Format"}
        assert names.get(one.name, starts.get(wanted, one.name)).split(" Layer")[0] in called, one
        assert version in called, one


def test_signs_are_those_of_the_registry(
    registry: Mapping[str, Any], said: Mapping[bytes, str]
) -> None:
    for content, puid in said.items():
        known = formats._BY_OCTETS[puid]
        whole = content + bytes(40) + ENDS[known.name]
        if known.name == "PNG":
            whole = content.replace(b"IEND" + bytes(4), b"IEND\xaeB`\x82")
        assert pronom.identifier(io.BytesIO(whole)) == puid
        matching = {one for one, theirs in registry.items() if matches(theirs, whole)}
        beaten = {
            over.text
            for one in matching
            for over in registry[one].iter("has_priority_over")
            if puid != one
        }
        assert puid in matching - beaten, (content, matching)


def matches(theirs: Any, content: bytes) -> bool:
    return any(
        all(
            re.search(one.findtext("regex", "").encode("latin-1"), content)
            for one in signature.iter("pattern")
        )
        for signature in theirs.iter("signature")
    )
