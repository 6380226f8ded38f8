"""A package and the receipt that lies beside it: one that contradicts it is told where it lies."""

from collections.abc import Callable, Mapping
from dataclasses import replace

import pytest

from tailsout.ground.findings import Severity
from tailsout.records.dossier import Dossier
from tailsout.records.facts import ArchiveFacts, Manifest, PackageFacts, ReceiptBeside
from tailsout.rules import structure

ONE, TWO = "tagmanifest-sha256.txt", "tagmanifest-sha512.txt"
NAME = "SKL-0007.receipt.json"
STATED: Mapping[str, Mapping[str, str]] = {
    ONE: {"sha256": "ab" * 32, "sha512": "cd" * 64},
    TWO: {"sha256": "ef" * 32, "sha512": "01" * 64},
}

Told = Callable[..., list[str]]


@pytest.fixture
def told(foreign: Dossier) -> Told:
    """What is said of a package with these tag manifests beside such a receipt."""

    def ask(receipt: ReceiptBeside | None, *there: str, **more: object) -> list[str]:
        facts = foreign.package
        assert facts is not None
        tags = tuple(
            Manifest(name=one, algorithm=one[12:-4], is_tag=True, lines=()) for one in there
        )
        facts = PackageFacts(
            name=facts.name,
            bagit_version="1.0",
            encoding="UTF-8",
            bag_info=(),
            manifests=tags,
            files=(),
            receipt=receipt,
            **more,  # type: ignore[arg-type]
        )
        [rule] = structure.RULES
        findings = list(rule.run(replace(foreign, package=facts)))
        assert {str(one.place) for one in findings if "receipt" in one.code} <= {NAME}
        return [f"{one.code}: {one.text}" for one in findings if "receipt" in one.code]

    return ask


def receipt(found: Mapping[str, Mapping[str, str]] = STATED) -> ReceiptBeside:
    return ReceiptBeside(name=NAME, stated=STATED, found=found)


def test_a_package_without_a_receipt_or_with_its_own_is_not_spoken_of(told: Told) -> None:
    assert told(None, ONE, TWO) == []
    assert told(receipt(), ONE, TWO) == []


@pytest.mark.parametrize("algorithm", ["sha256", "sha512"])
def test_another_digest_of_a_tag_manifest(told: Told, algorithm: str) -> None:
    found = {**STATED, TWO: {**STATED[TWO], algorithm: "00" * 32}}
    [text] = told(receipt(found), ONE, TWO)
    assert text.startswith(f"receipt-differs: by it the {algorithm} of {TWO} is ")
    assert text.endswith("found was 0000000000000000….")


def test_a_tag_manifest_that_is_gone_or_came_to_it(told: Told) -> None:
    assert told(receipt({ONE: STATED[ONE]}), ONE) == [
        f"receipt-differs: it tells of {TWO}, which is not there."
    ]
    assert told(receipt(), ONE, "tagmanifest-md5.txt", TWO) == [
        "receipt-differs: it does not tell of tagmanifest-md5.txt, which is there."
    ]


def test_what_could_not_be_read_is_not_called_another(told: Told) -> None:
    assert told(receipt({ONE: STATED[ONE]}), ONE, TWO) == []
    assert told(receipt({ONE: STATED[ONE]}), ONE, unseen=("",)) == []
    archive = ArchiveFacts(name="SKL-0007.tar", form="tar", octets=0, whole=False)
    assert told(receipt({}), archive=archive) == []


def test_a_file_of_that_name_that_is_no_receipt_of_it_is_asked_about(told: Told) -> None:
    unread = ReceiptBeside(name=NAME, stated=None, found={})
    assert told(unread, ONE) == ["receipt-unread: it is not a receipt of a package of that name."]


def test_who_is_to_act() -> None:
    [rule] = structure.RULES
    weights = {kind.code: kind.severity for kind in rule.kinds}
    assert weights["receipt-differs"] is Severity.MEND
    assert weights["receipt-unread"] is Severity.QUERY
