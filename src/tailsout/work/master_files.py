"""What one capture becomes in a package: a master, its access copies, its side-car."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tailsout.bag.plan import Made, Streamed, Written
from tailsout.ground.clock import derived_id
from tailsout.ground.digests import Hashing
from tailsout.ground.findings import Finding
from tailsout.ground.progress import Progress
from tailsout.mapping import embedded_texts, masters, naming, sidecar
from tailsout.mapping.copies.planned import planned
from tailsout.mapping.embedded import container_of, embedded_of
from tailsout.mapping.headers import Header, header_for
from tailsout.measure.methods import ECHO_METHODS, METHODS, OVERVIEW_METHODS
from tailsout.records.capture import Capture
from tailsout.records.dossier import FileRecord
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import SideCar, ThisFile, Transfer
from tailsout.wave import bext, embed
from tailsout.wave.embed import Recipe
from tailsout.work import access, captures, compressed, exports, replaced
from tailsout.work.access import PreparedCopy
from tailsout.work.captures import Taken
from tailsout.work.scale import SCALE_METHODS
from tailsout.work.surroundings import ScratchFiles
from tailsout.work.verbatim import fixed

if TYPE_CHECKING:
    from tailsout.measure.onepass import Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class MasterFiles:
    """A master laid out, and what goes with it."""

    master: Streamed
    copies: tuple[PreparedCopy, ...]
    sidecar: Made
    gave_way: tuple[Made, ...]
    """What of the capture the master does not carry."""
    notes: tuple[Finding, ...]
    record: Callable[[Mapping[str, Written]], FileRecord]
    """What is known of the master once it stands."""

    @property
    def payload(self) -> tuple[Streamed | Made, ...]:
        """All that lies in `data`: the side-car last, since it tells of the rest."""
        return (self.master, *(one.file for one in self.copies), self.sidecar)


@dataclass(frozen=True, slots=True, kw_only=True)
class MasterSource:
    """What one master is made from."""

    capture: Capture
    taken: Taken
    file: FileRecord
    """What the Dossier holds of it."""
    measured: "Measured | None"
    """None when only a plan is asked for."""
    digests: Mapping[str, str]
    """SHA-256 of each file as the recorder left it, by its path in the job."""
    statement: SideCar
    """Its side-car, but for what that says of the master itself."""
    scratch: ScratchFiles | None
    """None when only a plan is asked for."""
    progress: Progress

    @property
    def transfer(self) -> Transfer:
        """The transfer it belongs to."""
        return self.statement.transfer

    @property
    def path(self) -> str:
        """Where the master will lie in the package."""
        return masters.master_path(self.transfer, self.taken.survey.record)

    @property
    def file_id(self) -> str:
        """UUID of the master."""
        return derived_id(self.transfer.job_id, f"file/{self.path}")

    @property
    def facts(self) -> AudioFacts:
        """What was measured; for a plan alone, facts that fill no field."""
        if self.measured is not None:
            return self.measured.facts
        return AudioFacts(
            frames=self.taken.survey.layout.frames,
            sample_rate_hz=self.taken.pcm.sample_rate_hz,
            essence_sha256="",
            channels=(),
        )


def lay_out(source: MasterSource) -> MasterFiles:
    """Lay out a master and all that goes with it; access copies are made for it.

    Raises MaterialError for a capture that cannot be packed, SurroundingsError for one that cannot
    be read.
    """
    path, record, layout = source.path, source.taken.survey.record, source.taken.survey.layout
    header = _header(source)
    recipe = embed.plan(
        layout,
        bext=bext.encode(header.bext),
        without=header.embedding.without,
        before=header.embedding.before,
        behind=header.embedding.behind,
    )
    copies = _copies(source)
    texts = embedded_texts.texts_for(source.transfer, record)

    def told(written: Mapping[str, Written]) -> SideCar:
        return _sidecar(source, copies, written)

    def packed(written: Mapping[str, Written]) -> FileRecord:
        form = "FLAC" if naming.is_flac(path) else recipe.form
        container = replace(container_of(layout), form=form, damage=())
        return exports.packed_file(told(written), container, embedded_of(header.bext))

    return MasterFiles(
        master=_master(source, recipe),
        copies=copies,
        sidecar=Made(
            path=naming.sidecar_path(path), make=lambda written: sidecar.write(told(written))
        ),
        gave_way=tuple(
            fixed(f"{naming.AS_CAPTURED}/{name}", content)
            for name, content in replaced.kept(source.taken, header.embedding)
        ),
        notes=(
            *header.notes,
            *embedded_texts.left_out(texts, path),
            *masters.stays_wave(source.transfer, record),
        ),
        record=packed,
    )


def _header(source: MasterSource) -> Header:
    survey = source.taken.survey
    with captures.reading(source.taken) as reading:
        own = replaced.own_chunks(reading.stream, survey.layout, survey.bext)
    return header_for(
        source.transfer,
        source.capture,
        survey.record,
        path=source.path,
        file_id=source.file_id,
        pcm=source.taken.pcm,
        facts=source.facts,
        software=source.statement.software,
        own=own,
    )


def _copies(source: MasterSource) -> tuple[PreparedCopy, ...]:
    parent = access.Parent(
        path=source.path,
        file_id=source.file_id,
        essence_sha256=source.facts.essence_sha256,
        opened=lambda: captures.opened_as_wave(source.taken),
    )
    return access.prepare_all(
        planned(source.transfer, source.taken.survey.record),
        parent,
        source.scratch,
        source.statement.software,
        source.progress,
    )


def _master(source: MasterSource, recipe: Recipe) -> Streamed:
    """Return the master as a file that is written block by block: copied through, or FLAC."""
    taken, path, essence = source.taken, source.path, source.facts.essence_sha256
    is_measured = source.measured is not None
    made_from = captures.made_from(taken, recipe, source.digests) if is_measured else ""
    if not naming.is_flac(path) or source.scratch is None:
        write = _copier(taken, recipe, essence)
        return Streamed(path=path, octets=recipe.octets, write=write, source=made_from)
    # How many octets it takes is known only when it has been made.
    target = source.scratch()
    octets = compressed.compress(taken, recipe, target, essence, source.progress)
    return Streamed(path=path, octets=octets, write=compressed.copier(target), source=made_from)


def _copier(
    taken: Taken, recipe: Recipe, essence: str
) -> Callable[[Callable[[bytes | memoryview], object]], None]:
    def write(sink: Callable[[bytes | memoryview], object]) -> None:
        with Hashing(["sha256"]) as hashing:
            with captures.reading(taken) as source:
                embed.copy(
                    source.stream,
                    recipe,
                    sink,
                    essence=hashing.update,
                    # What writes the bag counts the octets.
                    advance=lambda _octets: None,
                )
            if hashing.hexdigests()["sha256"] != essence:
                raise compressed.read_differently(taken)

    return write


def _sidecar(
    source: MasterSource, copies: tuple[PreparedCopy, ...], written: Mapping[str, Written]
) -> SideCar:
    """Return the side-car of the master, now that the master and its copies stand."""
    if source.measured is None:
        raise ValueError("a capture without audio was stopped by a rule")
    record, file, master = source.taken.survey.record, source.file, written[source.path]
    this_file = ThisFile(
        id=source.file_id,
        path=source.path,
        capture=source.capture.id,
        octets=master.octets,
        sha256=master.digests["sha256"],
        sha512=master.digests["sha512"],
        made=file.made,
        sources=tuple(replace(one, sha256=source.digests[one.file]) for one in record.sources),
        starts_at=record.starts_at or None,
        track=record.track,
        pcm=source.taken.pcm,
        measured=source.measured.facts,
        regions=file.regions,
        print_through=file.print_through,
        scales=file.scales,
        methods={**METHODS, **ECHO_METHODS, **OVERVIEW_METHODS, **SCALE_METHODS},
        copies=tuple(copy.record(written) for copy in copies),
        overview=source.measured.kept_overview,
    )
    return replace(source.statement, this_file=this_file)
