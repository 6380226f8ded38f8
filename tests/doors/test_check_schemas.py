"""`check --schemas`: descriptions in XML held to the official schemas of a folder."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "sample_packages/good/skerrow-light/package"
NAME = "descriptions by their official schemas"
Cli = Callable[..., Any]


def outcome(line: str) -> tuple[str, str]:
    (check,) = (one for one in json.loads(line)["checks"] if one["name"] == NAME)
    return check["outcome"], check.get("why", "")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "m.xsd").write_text(
        '<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" '
        'targetNamespace="http://www.loc.gov/METS/"><xs:element name="other"/></xs:schema>'
    )
    return tmp_path


def test_without_schemas_it_is_not_examined_and_said_so(cli: Cli) -> None:
    told = cli("check", "--json", PACKAGE)
    assert outcome(told.out) == ("not examined", "no official schemas were given")
    assert "official_schemas" not in json.loads(told.out)


def test_schemas_are_named_by_an_option_or_by_the_environment(
    cli: Cli, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    by_option = cli("check", "--json", PACKAGE, "--schemas", folder)
    monkeypatch.setenv("TAILSOUT_SCHEMAS", str(folder))
    by_environment = cli("check", "--json", PACKAGE)
    for told in (by_option, by_environment):
        line = json.loads(told.out)
        codes = [one["code"] for one in line["findings"]]
        assert line["official_schemas"] is True
        assert "description-schema" in codes
        assert codes.count("description-without-schema") == 2
        assert line["verdict"] == "open questions"


def test_a_report_made_without_schemas_does_not_do_with_them(
    cli: Cli, folder: Path, tmp_path: Path
) -> None:
    report = tmp_path / "report.jsonl"
    report.write_text(cli("check", "--json", PACKAGE).out)
    told = cli("check", "--json", PACKAGE, "--schemas", folder, "--since", report)
    assert "description-schema" in told.out
    assert "made otherwise than is asked now" in told.err


def test_a_folder_without_schemas_is_told(cli: Cli, tmp_path: Path) -> None:
    told = cli("check", PACKAGE, "--schemas", tmp_path)
    assert told.code == 2
    assert "there is no schema" in told.err


@pytest.mark.xsd
def test_ours_keep_the_official_schemas(cli: Cli, official_schemas: Path) -> None:
    told = cli("check", "--json", PACKAGE, "--schemas", official_schemas)
    assert outcome(told.out) == ("passed", "")
    assert "description-" not in told.out
