"""What PREMIS, and whatever tells the same story, does not hold of what people stated."""

from collections.abc import Iterator

from tailsout.records.dossier import Dossier
from tailsout.views import losses

NOT_HELD = {
    "Recipient": "What the recipient asks stands in the side-car and in the recipient's form.",
    "Jotting": "Jottings made while the tape ran stand in the side-car.",
}


def lost(dossier: Dossier) -> tuple[str, ...]:
    """Say what PREMIS does not hold, a sentence each."""
    return (*left_out(dossier), *losses.unwritable(dossier.transfer))


def left_out(dossier: Dossier) -> tuple[str, ...]:
    """Say the same of a document in any other form than XML."""
    return tuple(_left_out(dossier))


def _left_out(dossier: Dossier) -> Iterator[str]:
    yield from losses.lost(dossier.transfer, NOT_HELD)
    if any(file.stated is not None for file in dossier.files):
        yield (
            "Of what was measured, figures of whole files are here; all else of it stands in the "
            "side-cars."
        )
    yield from losses.cut(dossier.transfer)
    yield from losses.odd_names(dossier.package)
