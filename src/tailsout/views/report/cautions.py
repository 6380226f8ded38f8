"""Cautions, where what is told of a reel makes them due; each defers to those who know."""

from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import Transfer
from tailsout.views.report.blocks import Block, Entries, Entry
from tailsout.views.report.wording import listed, regions


def blocks(
    dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]
) -> Iterator[Block]:
    """Yield the section; nothing where nothing is due."""
    del findings, assets
    if dossier.transfer is None:
        return
    due = tuple(_due(dossier.transfer, dossier))
    if due:
        yield Entries(entries=due)


def marks(dossier: Dossier) -> tuple[str, ...]:
    """Return a word for each caution that is due."""
    due = _due(dossier.transfer, dossier) if dossier.transfer is not None else ()
    return tuple(dict.fromkeys(one.mark for one in due))


def _due(transfer: Transfer, dossier: Dossier) -> Iterator[Entry]:
    reel, recording = transfer.reel, transfer.recording
    if any(one.mould for one in reel.condition):
        yield Entry(
            mark="mould",
            text="Mould was seen on this reel. Keep the box closed, protect hands and lungs, and "
            "ask a conservator before it is opened or moved.",
        )
    if any(one.odour == "vinegar" for one in reel.condition):
        yield Entry(
            mark="vinegar",
            text="This reel smelled of vinegar. Keep it apart from others in a room with fresh "
            "air; a conservator decides what comes next.",
        )
    if any(one.shedding for one in reel.condition):
        yield Entry(
            mark="shedding",
            text="This tape shed its coating. Whether it can be played is decided anew on "
            "inspection, with its owner and a conservator: every pass takes something off.",
        )
    unknown = [one.id for one in reel.stock if one.base is None or one.confidence == "uncertain"]
    if unknown:
        yield Entry(
            mark="base",
            text=f"What the tape section {listed(unknown)} is made of is not certain. Nothing is "
            "done to a carrier before the base of every section is known; a conservator and the "
            "owner decide.",
        )
    if not reel.stock:
        yield Entry(
            mark="base",
            text="What the tape is made of is not stated. Nothing is done to a carrier before the "
            "base of every section is known; a conservator and the owner decide.",
        )
    if dossier.calibrations or any(one.kind == "line-up tone" for _, one in regions(transfer)):
        yield Entry(
            mark="tones",
            text="There are tones in these files. Turn the monitors down before they are played: "
            "tones and spooling can destroy tweeters and hearing; the monitor maker's manual gives "
            "the limits.",
        )
    if recording is not None and recording.sensitivity:
        yield Entry(
            mark="sensitive",
            text=f"{recording.sensitivity}. Whoever holds the rights decides who may listen.",
        )
