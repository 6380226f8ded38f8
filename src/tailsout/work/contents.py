"""What goes into a package, in the order of writing; nothing is written here.

Digests point one way: audio ← side-car ← manifests, so a side-car is made when its master stands.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from tailsout.bag.plan import Made, Plan, Streamed, Written, make_plan
from tailsout.ground.clock import stamp
from tailsout.ground.digests import digests_of
from tailsout.ground.findings import Judgement, in_order
from tailsout.mapping import baginfo, json_output, naming, schemas, sidecar
from tailsout.mapping.names import tree
from tailsout.mapping.plain import json_page
from tailsout.records.amendment import Amendment
from tailsout.records.bagit_profile import BagItProfile
from tailsout.records.dossier import Dossier
from tailsout.records.transfer import SideCar, Transfer
from tailsout.work import calibration, exports, verbatim
from tailsout.work.calibration import Bench
from tailsout.work.captures import Taken
from tailsout.work.first_pass import Passed
from tailsout.work.master_files import MasterFiles, MasterSource, lay_out
from tailsout.work.surroundings import ScratchFiles, Surroundings
from tailsout.work.verbatim import fixed

ALGORITHMS = ("sha512", "sha256")


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """Everything a package is made from."""

    dossier: Dossier
    judgement: Judgement
    taken: tuple[Taken, ...]
    kept: Mapping[str, Path]
    """Photographs and documents by their path in the job."""
    passed: Mapping[str, Passed]
    """By `Taken.name`; empty when only a plan is asked for."""
    digests: Mapping[str, str]
    """SHA-256 of each file as the recorder left it, by its path in the job."""
    bench: Bench
    around: Surroundings
    recipient_form: bytes = b""
    """As it stands in the studio; empty if there is none."""
    bagit_profile: BagItProfile | None = None
    amendments: tuple[Amendment, ...] = ()

    @property
    def transfer(self) -> Transfer:
        """The transfer that is packed."""
        if self.dossier.transfer is None:
            raise ValueError("what states nothing was stopped before")
        return self.dossier.transfer

    def plan(self, scratch: ScratchFiles | None) -> tuple[Plan, Judgement]:
        """Lay out the package; what was met on the way joins the judgement.

        `scratch` makes empty files that vanish; without it nothing but the plan can be had.
        Raises MaterialError for a name or a capture that cannot be, SurroundingsError for a file
        that is gone.
        """
        laid = tuple(self.masters(scratch))
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
            bag_info=baginfo.elements(self.transfer, self.around.instant, self.bagit_profile),
            algorithms=(*ALGORITHMS, *extra),
            instant=stamp(self.around.instant),
            software=self.around.software,
            stated=digests_of(sidecar.write(self._statement()), ("sha256",))["sha256"],
            version=baginfo.version(self.transfer),
        )
        return plan, judgement

    def masters(self, scratch: ScratchFiles | None) -> Iterator[MasterFiles]:
        """Yield each master that is to be made, with all that goes with it. Raises as `plan`."""
        files = {file.path: file for file in self.dossier.files}
        for capture in self.transfer.captures:
            for one in self.taken:
                if one.id == capture.id:
                    source = MasterSource(
                        capture=capture,
                        taken=one,
                        file=files[one.survey.record.path],
                        measured=self.passed[one.name].measured if self.passed else None,
                        digests=self.digests,
                        statement=self._statement(),
                        scratch=scratch,
                        progress=self.around.progress,
                    )
                    yield lay_out(source)

    def _record_only(self) -> Made:
        path = naming.record_only_path(self.transfer.package_id)
        return fixed(path, sidecar.write(self._statement()))

    def _statement(self) -> SideCar:
        """Return what every side-car of the package says alike."""
        return SideCar(
            schema=sidecar.SCHEMA,
            software=self.around.software,
            written=stamp(self.around.instant),
            transfer=self.transfer,
            calibrations=self.dossier.calibrations,
            at_rest=self.dossier.at_rest,
            amendments=self.amendments,
        )

    def _as_they_are(self) -> Iterator[Streamed]:
        """Photographs and documents are packed octet for octet."""
        for name, path in self.kept.items():
            yield verbatim.streamed(tree.kept_path(self.transfer.recipient, name), path, name)

    def _exports(self, laid: tuple[MasterFiles, ...], judgement: Judgement) -> Iterator[Made]:
        dossier = replace(self.dossier, record_only=None if self.taken else self._statement())
        opens = verbatim.opener(self.kept, self.transfer.recipient)

        bag_info = baginfo.elements(self.transfer, self.around.instant)

        def packed(written: Mapping[str, Written]) -> Dossier:
            files, name = (one.record(written) for one in laid), self.transfer.package_id
            return exports.as_packed(dossier, files, written, name=name, bag_info=bag_info)

        return exports.to_be_made(exports.packed_views(dossier), packed, judgement, opens)

    def _tags(self, judgement: Judgement) -> Iterator[Made]:
        checks = json_output.judged(self.transfer.package_id, judgement, self.around.software)
        yield fixed(naming.CHECKS, json_page(checks))
        if self.recipient_form:
            yield fixed(naming.RECIPIENT, self.recipient_form)
        yield from (fixed(path, content) for path, content in self.bench.plots)
        schema = f"{naming.SCHEMAS}/{sidecar.SCHEMA_NAME}.schema.json"
        yield fixed(schema, schemas.schema_text(sidecar.SCHEMA_NAME))
