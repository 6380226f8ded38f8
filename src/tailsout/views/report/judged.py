"""What was found wrong or open, and what people answered."""

from collections.abc import Iterator, Mapping

from tailsout.ground.findings import Finding, Judgement
from tailsout.ground.units import counted
from tailsout.records.dossier import Dossier
from tailsout.views.report.blocks import Block, Entries, Entry, Heading, Paragraph


def blocks(
    dossier: Dossier, findings: tuple[Finding, ...], assets: Mapping[str, bytes]
) -> Iterator[Block]:
    """Yield the section."""
    del assets
    verdict = Judgement(findings=findings, checks=()).verdict
    found = counted(len(findings), "finding") if findings else "no finding"
    yield Paragraph(text=f"By these findings alone the verdict is: {verdict} ({found}).")
    yield Paragraph(text=_how(dossier))
    if findings:
        yield Entries(entries=tuple(map(_entry, findings)))
    if dossier.transfer is not None and dossier.transfer.answers:
        yield Heading(text="Answers that were given")
        yield Entries(
            entries=tuple(
                Entry(
                    mark=one.decision,
                    text=f"{one.code} at {one.place}: {one.reason}",
                    more=(f"by {one.by}, {one.on}",),
                )
                for one in dossier.transfer.answers
            )
        )


def _how(dossier: Dossier) -> str:
    if dossier.origin == "closing":
        return (
            "They were made before the package was packed; metadata/checks.json lists every check "
            "and which could not be made."
        )
    if "fixity" in dossier.examined:
        return "They were made from the package as it lay, every file read through."
    return (
        "They were made from the package as it lay; its files were not read through and held "
        "against their digests for this sheet, which `tailsout check` does."
    )


def _entry(one: Finding) -> Entry:
    more = [f"at {one.place}", f"code {one.code}; basis: {one.kind.basis}"]
    if one.answered:
        more.append(f"answered: {one.answered}")
    elif one.kind.remedy:
        more.append(one.kind.remedy)
    mark = "answered" if one.answered else one.severity.value
    reel = " (needs the reel)" if one.kind.needs_reel and not one.answered else ""
    return Entry(mark=f"{mark}{reel}", text=one.text, more=tuple(more))
