"""What a package tells in the words of others: which descriptions there are, and how they are made.

A package that is being closed and the same package received come to one dossier, so that each
description says the same on both roads.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from tailsout.bag.plan import Made, Written
from tailsout.ground.findings import Finding, Judgement, Severity, Verdict
from tailsout.mapping import naming
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.facts import (
    ContainerFacts,
    Embedded,
    FoundFile,
    InfoLine,
    Manifest,
    ManifestLine,
    PackageFacts,
)
from tailsout.records.transfer import SideCar
from tailsout.views import (
    crate,
    dublin_core,
    inventory,
    label,
    mets,
    pbcore,
    premis,
    prov,
    readme,
    report,
)
from tailsout.views.premis.events import CHECKS
from tailsout.work.octets import with_formats
from tailsout.work.pictures import Opens, of_report

Render = Callable[[Dossier, tuple[Finding, ...], Mapping[str, bytes]], bytes]
_OUTCOMES = {Verdict.PASS: "success", Verdict.OPEN: "warning"}


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One description in the words of others."""

    name: str
    path: str
    """Where it lies in a package that holds it; empty for what is shown and never packed."""
    title: str
    render: Render
    lost: Callable[[Dossier], tuple[str, ...]] | None = None
    """What it cannot hold, a sentence each; None for a page that is for people."""
    not_held: Mapping[str, str] = field(default_factory=dict)
    """The same by record, or record and field."""
    pictures: Callable[[Dossier, Opens], Mapping[str, bytes]] = field(
        default=lambda _dossier, _opens: {}
    )
    """What is drawn for it beforehand."""
    always: bool = False
    """Whether every package of ours holds it; others are packed for recipients who ask for them."""
    tells_later_events: bool = False
    """Whether it tells of what happened to a package after it stood."""


VIEWS = (
    View(
        name="PREMIS",
        path=naming.PREMIS,
        title="PREMIS 3.0: objects, events, agents and rights, as XML",
        render=premis.render,
        lost=premis.lost,
        not_held=premis.NOT_HELD,
        tells_later_events=True,
        always=True,
    ),
    View(
        name="METS",
        path=naming.METS,
        title="METS 1.12.1: files, their structure, PREMIS and Dublin Core wrapped, as XML",
        render=mets.render,
        lost=mets.lost,
        not_held=mets.NOT_HELD,
        tells_later_events=True,
        always=True,
    ),
    View(
        name="PBCore",
        path=naming.PBCORE,
        title="PBCore 2.1: recording, reel and audio files, a track for each region, as XML",
        render=pbcore.render,
        lost=pbcore.lost,
        not_held=pbcore.NOT_HELD,
    ),
    View(
        name="RO-Crate",
        path=naming.CRATE,
        title="RO-Crate 1.2: the payload, its things, people and actions, as JSON-LD",
        render=crate.render,
        lost=crate.lost,
        not_held=crate.NOT_HELD,
        tells_later_events=True,
    ),
    View(
        name="inventory",
        path=naming.INVENTORY,
        title="one row for a catalogue, as CSV",
        render=inventory.render,
        lost=inventory.lost,
    ),
    View(
        name="Dublin Core",
        path="",
        title="Dublin Core 1.1 of the recording, as XML",
        render=dublin_core.render,
        lost=dublin_core.lost,
    ),
    View(
        name="PROV-JSON",
        path="",
        title="PROV: entities, activities and agents, as JSON",
        render=prov.render,
        lost=prov.lost,
        not_held=prov.NOT_HELD,
        tells_later_events=True,
    ),
    View(
        name="report",
        path=naming.REPORT,
        title="one sheet for people, as HTML",
        render=report.render,
        pictures=of_report,
        always=True,
    ),
    View(
        name="label",
        path=naming.LABEL,
        title="label for the box, 100 by 70 mm, as SVG",
        render=label.render,
    ),
)


def packed_views(dossier: Dossier) -> tuple[View, ...]:
    """Return which descriptions a package of ours holds."""
    recipient = dossier.transfer.recipient if dossier.transfer is not None else None
    asked = recipient.views if recipient is not None else ()
    return tuple(one for one in VIEWS if one.path and (one.always or one.name in asked))


def to_be_made(
    views: Iterable[View],
    packed: Callable[[Mapping[str, Written]], Dossier],
    judgement: Judgement,
    opens: Opens,
) -> Iterator[Made]:
    """Yield descriptions to be made when the rest stands; `packed` tells what was written."""
    checks = {CHECKS: checked(judgement).encode("utf-8")}
    for view in views:

        def make(written: Mapping[str, Written], view: View = view) -> bytes:
            dossier = with_formats(packed(written), opens)
            assets = {**checks, **view.pictures(dossier, opens)}
            return view.render(dossier, judgement.findings, assets)

        yield Made(path=view.path, make=make)


def explained(dossier: Dossier, judgement: Judgement) -> Made:
    """Return the page that explains a package; to be made last, so that it leaves nothing out."""

    def make(written: Mapping[str, Written]) -> bytes:
        # What lies at the root is explained in every package.
        paths = "\n".join(path for path in written if "/" in path)
        return readme.render(dossier, judgement.findings, {"paths": paths.encode("utf-8")})

    return Made(path=naming.README, make=make)


def parted(made: Iterable[Made]) -> tuple[tuple[Made, ...], tuple[Made, ...]]:
    """Part what lies in the payload from tag files, which may quote its digests."""
    every = tuple(made)
    inside = tuple(one for one in every if one.path.startswith("data/"))
    return inside, tuple(one for one in every if one not in inside)


def packed_file(car: SideCar, container: ContainerFacts, embedded: Embedded | None) -> FileRecord:
    """Return what is known of a master by its side-car and its header, as if it had been read."""
    stated = car.this_file
    if stated is None:
        raise ValueError("only what has a side-car of its own comes here")
    return FileRecord(
        path=stated.path,
        octets=stated.octets,
        capture=stated.capture,
        made=stated.made,
        starts_at=stated.starts_at or 0,
        track=stated.track,
        sources=stated.sources,
        container=container,
        pcm=stated.pcm,
        frames=stated.measured.frames,
        embedded=embedded,
        regions=stated.regions,
        print_through=stated.print_through,
        scales=stated.scales,
        sidecar=car,
    )


def as_packed(
    dossier: Dossier,
    files: Iterable[FileRecord],
    written: Mapping[str, Written],
    *,
    name: str,
    bag_info: Iterable[tuple[str, str]],
) -> Dossier:
    """Return a dossier as it will be known once the package is received."""
    found = sorted(files, key=lambda one: one.path)
    payload = [one for path, one in sorted(written.items()) if path.startswith("data/")]
    algorithms = sorted({algorithm for one in payload for algorithm in one.digests})
    package = PackageFacts(
        name=name,
        bagit_version="1.0",
        encoding="UTF-8",
        bag_info=tuple(
            InfoLine(label=label, value=value, line=number)
            for number, (label, value) in enumerate(bag_info, start=1)
        ),
        manifests=tuple(_manifest(algorithm, payload) for algorithm in algorithms),
        files=tuple(FoundFile(path=one.path, octets=one.octets) for one in payload),
    )
    return replace(dossier, files=tuple(found), package=package)


def _manifest(algorithm: str, payload: Iterable[Written]) -> Manifest:
    return Manifest(
        name=f"manifest-{algorithm}.txt",
        algorithm=algorithm,
        is_tag=False,
        lines=tuple(
            ManifestLine(path=one.path, digest=one.digests[algorithm], line=number)
            for number, one in enumerate(payload, start=1)
        ),
    )


def checked(judgement: Judgement) -> str:
    """Say what the checks came to: `warning: open questions; 0 mend, 2 query, 1 note: …`."""
    found = judgement.findings
    told = [(one.code, one.severity) for one in found]
    return summary(judgement.verdict, told)


def summary(verdict: Verdict, told: Iterable[tuple[str, Severity]]) -> str:
    """Say in one line what checks came to: outcome, verdict, and how often each code was met."""
    every = list(told)
    counts = ", ".join(
        f"{sum(weight is severity for _, weight in every)} {severity}" for severity in Severity
    )
    codes = ", ".join(dict.fromkeys(code for code, _ in every))
    return f"{_OUTCOMES.get(verdict, 'fail')}: {verdict}; {counts}{': ' if codes else ''}{codes}"
