"""What a package tells in the words of others, read by other people's programs.

`prov` and `rocrate` are the reference libraries of their communities; `xmlschema` is a second
opinion on the official schemas, beside the one of libxml2 in tests/work/test_exports.py.
"""

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from tailsout.bag.open import open_bag
from tailsout.records.dossier import Dossier
from tailsout.views import prov as prov_json
from tailsout.work.package import read_package

PACKAGE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"


def kept() -> Dossier:
    with open_bag(PACKAGE) as bag:
        return read_package(bag)


@pytest.mark.oracles
def test_prov_reads_the_history() -> None:
    from prov.model import ProvDocument  # noqa: PLC0415  in the oracles extra

    content = prov_json.render(kept(), (), {})
    document = ProvDocument.deserialize(content=content.decode("utf-8"), format="json")
    found = Counter(type(one).__name__ for one in document.get_records())
    told = json.loads(content)
    assert found["ProvEntity"] == len(told["entity"])
    assert found["ProvActivity"] == len(told["activity"])
    assert found["ProvAgent"] == len(told["agent"])
    assert found["ProvUsage"] == len(told["used"])
    assert found["ProvDerivation"] == 2
    # Types are names, as PROV-JSON §2.1 writes them, and no texts.
    types = [t for one in document.get_records() for t in one.get_attribute("prov:type")]
    assert {type(one).__name__ for one in types} == {"QualifiedName"}


@pytest.mark.oracles
def test_rocrate_reads_the_payload() -> None:
    from rocrate.rocrate import ROCrate  # noqa: PLC0415  in the oracles extra

    crate = ROCrate(PACKAGE / "data")
    assert crate.version == "1.2"
    assert crate.name == "Skerrow Light, spoken log of the keeper, reel 8"
    stems = ("audio/skl8-side-a", "audio/skl8-side-b")
    assert sorted(one.id for one in crate.data_entities) == sorted(
        f"{stem}.{ending}" for stem in stems for ending in ("json", "wav")
    )


@pytest.mark.oracles
@pytest.mark.parametrize(
    ("name", "document"),
    [
        ("premis-v3-0.xsd", "premis.xml"),
        ("mets-1.12.1.xsd", "mets.xml"),
        ("pbcore-2.1.xsd", "pbcore.xml"),
    ],
)
def test_xmlschema_finds_each_document_valid(
    name: str, document: str, official_schemas: Path
) -> None:
    from xmlschema import XMLSchema  # noqa: PLC0415  in the oracles extra

    folder = official_schemas
    places = [
        ("http://www.w3.org/1999/xlink", f"{folder}/xlink-loc.xsd"),
        ("http://www.loc.gov/premis/v3", f"{folder}/premis-v3-0.xsd"),
    ]
    schema: Any = XMLSchema(f"{folder}/{name}", locations=places, allow="local", use_fallback=False)
    faults = [str(one.reason) for one in schema.iter_errors(str(PACKAGE / "metadata" / document))]
    assert faults == []
