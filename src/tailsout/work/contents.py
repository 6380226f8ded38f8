"""What goes into a package, in the order of writing; nothing is written here.

Digests point one way: audio ← side-car ← manifests, so a side-car is made when its master stands.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from tailsout.bag.plan import Made, Plan, Streamed, Written, make_plan
from tailsout.ground.clock import derived_id, stamp
from tailsout.ground.digests import digests_of
from tailsout.ground.findings import Judgement, in_order
from tailsout.ground.progress import Progress
from tailsout.mapping import baginfo, embedded_texts, masters, naming, schemas, sidecar, told
from tailsout.mapping.chunks import Subject, embedding_for
from tailsout.mapping.embedded import Master, bext_for, container_of, embedded_of
from tailsout.mapping.names import tree
from tailsout.mapping.plain import json_page
from tailsout.measure.methods import ECHO_METHODS, METHODS, OVERVIEW_METHODS
from tailsout.records.amendment import Amendment
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.capture import Capture
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.sound import AudioFacts
from tailsout.records.transfer import SideCar, ThisFile, Transfer
from tailsout.wave import bext, embed
from tailsout.wave.embed import Recipe
from tailsout.work import access, as_it_is, calibration, captures, copied, exports, replaced
from tailsout.work.access import LaidCopy
from tailsout.work.as_it_is import fixed
from tailsout.work.calibration import Bench
from tailsout.work.captures import Taken
from tailsout.work.laid import Laid
from tailsout.work.scale import SCALE_METHODS

if TYPE_CHECKING:
    from tailsout.measure.onepass import Measured

ALGORITHMS = ("sha512", "sha256")


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """Everything a package is made from."""

    transfer: Transfer
    dossier: Dossier
    judgement: Judgement
    taken: tuple[Taken, ...]
    kept: Mapping[str, Path]
    """Photographs and documents by their path in the job."""
    measured: Mapping[str, "Measured | None"]
    """By `Taken.name`; empty when only a plan is asked for."""
    digests: Mapping[str, str]
    """SHA-256 of each file as the recorder left it, by its path in the job."""
    bench: Bench
    instant: datetime
    software: str
    scratch: Callable[[], BinaryIO] | None
    """Gives an empty file that vanishes; None when only a plan is asked for."""
    progress: Progress
    recipient_form: bytes = b""
    """As it stands in the studio; empty if there is none."""
    bagit_profile: BagItProfile | None = None
    amendments: tuple[Amendment, ...] = ()

    def plan(self) -> tuple[Plan, Judgement]:
        """Lay out the package; what was met on the way joins the judgement.

        Raises MaterialError for a name or a capture that cannot be, SurroundingsError for a file
        that is gone.
        """
        laid = tuple(self.masters())
        payload = [item for one in laid for item in one.payload]
        notes = [note for one in laid for note in one.notes]
        if not self.taken:
            payload.append(self._record_only())
        payload += calibration.payload(self.bench)
        payload += self._as_they_are()
        judgement = replace(self.judgement, findings=in_order((*self.judgement.findings, *notes)))
        extra = self.transfer.recipient.extra_algorithms if self.transfer.recipient else ()
        gave_way = (made for one in laid for made in one.gave_way)
        inside, beside = exports.parted(self._exports(laid, judgement))
        explained = exports.explained(self.dossier, judgement)
        plan = make_plan(
            name=self.transfer.package_id,
            payload=(*payload, *inside),
            tags=(*self._tags(judgement), *beside, *gave_way, explained),
            bag_info=baginfo.elements(self.transfer, self.instant, self.bagit_profile),
            algorithms=(*ALGORITHMS, *extra),
            instant=stamp(self.instant),
            software=self.software,
            stated=digests_of(sidecar.write(self._told(None)), ("sha256",))["sha256"],
            version=baginfo.version(self.transfer),
        )
        return plan, judgement

    def masters(self) -> Iterator[Laid]:
        """Yield each master that is to be made, with all that goes with it. Raises as `plan`."""
        for capture, one in self._captures():
            yield self._laid(capture, one)

    def _record_only(self) -> Made:
        path = naming.record_only_path(self.transfer.package_id)
        return fixed(path, sidecar.write(self._told(None)))

    def _told(self, this_file: ThisFile | None) -> SideCar:
        return SideCar(
            schema=sidecar.SCHEMA,
            software=self.software,
            written=stamp(self.instant),
            transfer=self.transfer,
            this_file=this_file,
            calibrations=self.dossier.calibrations,
            at_rest=self.dossier.at_rest,
            amendments=self.amendments,
        )

    def _as_they_are(self) -> Iterator[Streamed]:
        """Photographs and documents are packed octet for octet."""
        for name, path in self.kept.items():
            yield as_it_is.streamed(tree.kept_path(self.transfer.recipient, name), path, name)

    def _captures(self) -> Iterator[tuple[Capture, Taken]]:
        for capture in self.transfer.captures:
            for one in self.taken:
                if one.id == capture.id:
                    yield capture, one

    def _facts(self, one: Taken) -> AudioFacts:
        """Return what was measured; for a plan alone, facts that fill no field."""
        measured = self.measured.get(one.name)
        if measured is not None:
            return measured.facts
        return AudioFacts(
            frames=one.survey.layout.frames,
            sample_rate_hz=one.pcm.sample_rate_hz,
            essence_sha256="",
            channels=(),
        )

    def _record(self, one: Taken) -> FileRecord:
        """Return what the dossier holds of a capture."""
        return next(file for file in self.dossier.files if file.path == one.survey.record.path)

    def _named(self, one: Taken) -> Master:
        record = one.survey.record
        path = masters.master_path(self.transfer, record)
        return Master(
            path=path,
            stem=naming.master_stem(path),
            file_id=derived_id(self.transfer.job_id, f"file/{path}"),
            starts_at=record.starts_at,
            is_part=record.made == "part",
            track=record.track,
            texts=embedded_texts.made(embedded_texts.texts_for(self.transfer, record)),
        )

    def _laid(self, capture: Capture, one: Taken) -> Laid:
        master = self._named(one)
        made, notes = bext_for(
            self.transfer,
            capture,
            master=master,
            pcm=one.pcm,
            facts=self._facts(one),
            own=one.survey.bext,
        )
        subject = Subject(
            transfer=self.transfer,
            capture=capture,
            master=master,
            bext=made,
            pcm=one.pcm,
            frames=one.survey.layout.frames,
            software=self.software,
        )
        with captures.reading(one) as source:
            own = replaced.own_chunks(source.stream, one.survey.layout)
        embedding, more = embedding_for(subject, own)
        recipe = embed.plan(
            one.survey.layout,
            bext=bext.encode(made),
            without=embedding.without,
            before=embedding.before,
            behind=embedding.behind,
        )
        gave_way = [
            fixed(f"{naming.AS_CAPTURED}/{name}", content)
            for name, content in replaced.kept(one, embedding)
        ]
        texts = embedded_texts.texts_for(self.transfer, one.survey.record)
        more += tuple(embedded_texts.left_out(texts, master.path))
        stays = masters.stays_wave(self.transfer, one.survey.record)
        listening = access.of_capture(
            self.transfer,
            one,
            master,
            essence=self._facts(one).essence_sha256,
            scratch=self.scratch,
            software=self.software,
            progress=self.progress,
        )

        def record(written: Mapping[str, Written]) -> FileRecord:
            form = "FLAC" if naming.is_flac(master.path) else recipe.form
            container = replace(container_of(one.survey.layout), form=form, damage=())
            car = self._car(capture, one, written, listening)
            return exports.packed_file(car, container, embedded_of(made))

        return Laid(
            master=self._streamed(one, master, recipe),
            copies=listening,
            sidecar=self._sidecar(capture, one, listening),
            gave_way=tuple(gave_way),
            notes=(*notes, *more, *stays),
            record=record,
        )

    def _streamed(self, one: Taken, master: Master, recipe: Recipe) -> Streamed:
        is_measured = self.measured.get(one.name) is not None
        return copied.master(
            one,
            master.path,
            recipe,
            essence=self._facts(one).essence_sha256,
            source=captures.made_from(one, recipe, self.digests) if is_measured else "",
            scratch=self.scratch,
            progress=self.progress,
        )

    def _sidecar(self, capture: Capture, one: Taken, listening: tuple[LaidCopy, ...]) -> Made:
        path = self._named(one).path

        def make(written: Mapping[str, Written]) -> bytes:
            return sidecar.write(self._car(capture, one, written, listening))

        return Made(path=naming.sidecar_path(path), make=make)

    def _car(
        self,
        capture: Capture,
        one: Taken,
        written: Mapping[str, Written],
        listening: tuple[LaidCopy, ...],
    ) -> SideCar:
        name, record = self._named(one), self._record(one)
        master = written[name.path]
        measured = self.measured[one.name]
        if measured is None:
            raise ValueError("a capture without audio was stopped by a rule")
        return self._told(
            ThisFile(
                id=name.file_id,
                path=name.path,
                capture=capture.id,
                octets=master.octets,
                sha256=master.digests["sha256"],
                sha512=master.digests["sha512"],
                made=record.made,
                sources=tuple(
                    replace(source, sha256=self.digests[source.file])
                    for source in one.survey.record.sources
                ),
                starts_at=record.starts_at or None,
                track=record.track,
                pcm=one.pcm,
                measured=measured.facts,
                regions=record.regions,
                print_through=record.print_through,
                scales=record.scales,
                methods={**METHODS, **ECHO_METHODS, **OVERVIEW_METHODS, **SCALE_METHODS},
                copies=tuple(copy.record(written) for copy in listening),
                overview=measured.kept_overview,
            )
        )

    def _exports(self, laid: tuple[Laid, ...], judgement: Judgement) -> Iterator[Made]:
        dossier = replace(self.dossier, record_only=None if self.taken else self._told(None))
        opens = as_it_is.opener(self.kept, self.transfer.recipient)

        bag_info = baginfo.elements(self.transfer, self.instant)

        def packed(written: Mapping[str, Written]) -> Dossier:
            files, name = (one.record(written) for one in laid), self.transfer.package_id
            return exports.as_packed(dossier, files, written, name=name, bag_info=bag_info)

        return exports.to_be_made(exports.packed_views(dossier), packed, judgement, opens)

    def _tags(self, judgement: Judgement) -> Iterator[Made]:
        checks = told.judged(self.transfer.package_id, judgement, self.software)
        yield fixed(naming.CHECKS, json_page(checks))
        if self.recipient_form:
            yield fixed(naming.RECIPIENT, self.recipient_form)
        yield from (fixed(path, content) for path, content in self.bench.plots)
        schema = f"{naming.SCHEMAS}/{sidecar.SCHEMA_NAME}.schema.json"
        yield fixed(schema, schemas.schema_text(sidecar.SCHEMA_NAME))
