import pytest

from tailsout.records.dossier import Dossier
from tailsout.rules.rule import package_of, transfer_of


def test_a_rule_that_asks_for_what_was_not_examined_is_a_bug() -> None:
    with pytest.raises(ValueError, match="structure"):
        package_of(Dossier(origin="closing"))
    with pytest.raises(ValueError, match="statements"):
        transfer_of(Dossier(origin="received"))


def test_a_rule_gets_what_was_examined(received: Dossier, foreign: Dossier) -> None:
    del received
    assert package_of(foreign) is foreign.package
