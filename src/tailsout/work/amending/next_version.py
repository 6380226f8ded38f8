"""What the new version of a package holds, in the order of writing; nothing is written here."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from tailsout.bag.plan import Made, Plan, Streamed, Written, make_plan
from tailsout.ground.clock import stamp
from tailsout.ground.digests import digests_of
from tailsout.ground.findings import Judgement
from tailsout.mapping import amendments as listed
from tailsout.mapping import baginfo, json_output, naming, schemas, sidecar
from tailsout.mapping.plain import json_page, plain
from tailsout.records.amendment import Amendment
from tailsout.records.dossier import Dossier, FileRecord
from tailsout.records.transfer import SideCar, ThisFile, Transfer
from tailsout.work import exports, verbatim
from tailsout.work.amending import copies, renewed, retaken
from tailsout.work.amending.consequences import Consequences
from tailsout.work.amending.copies import NextCopies
from tailsout.work.amending.draft import Draft
from tailsout.work.amending.renewed import Renewed
from tailsout.work.amending.superseded import Superseded, is_at_the_root
from tailsout.work.exports import View
from tailsout.work.master_files import MasterFiles
from tailsout.work.pictures import in_bag
from tailsout.work.surroundings import ScratchFiles, Surroundings
from tailsout.work.verbatim import fixed

_ALWAYS = ("sha512", "sha256")


@dataclass(frozen=True, slots=True, kw_only=True)
class NextVersion:
    """Everything a new version is made from."""

    old: Superseded
    draft: Draft
    changes: Consequences
    judgement: Judgement
    copies: Mapping[str, NextCopies]
    """Access copies of each master that stays, by its new path."""
    around: Surroundings
    scratch: ScratchFiles | None
    """None when only a plan is asked for."""

    @property
    def amendments(self) -> tuple[Amendment, ...]:
        """Of all versions, the one that is being made last."""
        return self.changes.amendments

    @property
    def dossier(self) -> Dossier:
        """As it will be."""
        return self.changes.dossier

    @property
    def renewed(self) -> Mapping[str, Renewed]:
        """Masters with a new header, by their path."""
        return self.changes.renewed

    @property
    def name(self) -> str:
        """Name of the new base directory."""
        return naming.version_name(self.old.first_name, self.amendments[-1].version)

    def plan(self) -> Plan:
        """Lay out the new version. Raises as `make_plan` and `Contents.plan`."""
        retaken_ones = self._retaken()
        extra = [made for laid in retaken_ones for made in laid.gave_way]
        inside, beside = exports.parted(self._exports(retaken_ones))
        algorithms = {*self.old.algorithms, *self.draft.algorithms}
        first = [one for one in _ALWAYS if one in algorithms]
        return make_plan(
            name=self.name,
            payload=(*self._payload(retaken_ones), *inside),
            tags=(*extra, *self._tags(beside)),
            bag_info=self.bag_info(),
            algorithms=(*first, *sorted(algorithms - {*first})),
            instant=stamp(self.around.instant),
            software=self.around.software,
            stated=self._stated(),
            version=baginfo.version(self.draft.transfer),
        )

    def _stated(self) -> str:
        """Return a digest of everything that the new version says of its own accord."""
        said = json_page([plain(self.draft.transfer), [plain(one) for one in self.amendments]])
        return digests_of(said, ("sha256",))["sha256"]

    def carries(self, path: str) -> bool:
        """Tell whether a file of the superseded version is in the new one, wherever it lies."""
        cars = {naming.sidecar_path(file.path) for file in self.old.dossier.files if file.sidecar}
        is_ours = path in cars | copies.paths_of(self.old) or self._is_record_only(path)
        anew = self.old.is_ours and path in {naming.README, naming.CHECKS, *self._views}
        is_made = is_ours or anew or path.startswith(f"{naming.SCHEMAS}/")
        return not (is_made or path == naming.AMENDMENTS) and (
            not is_at_the_root(path) and self._may_keep(path)
        )

    # Payload

    def _payload(self, retaken_ones: tuple[MasterFiles, ...]) -> Iterator[Streamed | Made]:
        old = self.old
        ours = {file.path for file in old.dossier.files if file.sidecar}
        now = {file.path: file for file in self.dossier.files}
        apart = {naming.sidecar_path(path) for path in ours} | copies.paths_of(old)
        for path in old.octets:
            if not path.startswith("data/"):
                continue
            is_anew = path in self._views or path in apart or self._is_record_only(path)
            if is_anew or path in self.draft.withdrawn:
                continue
            if path not in ours:
                yield old.carried(path)
                continue
            one = self.renewed.get(path)
            to = self.draft.renamed.get(path, path)
            if one is None:
                yield old.carried(path, to)
            else:
                yield renewed.streamed(old, one, self.scratch, self.around.progress)
            listening = self.copies.get(to, NextCopies())
            yield from (old.carried(copy.path) for copy in listening.carried)
            yield from (copy.file for copy in listening.anew)
            yield self._sidecar(now[to])
        for laid in retaken_ones:
            yield from laid.payload
        for path, source in self.draft.brought.items():
            yield verbatim.streamed(path, source, source.name)
        if old.record_only is not None:
            path, car = old.record_only
            yield Made(path=path, make=lambda _written: sidecar.write(self._told(car, None)))

    def _retaken(self) -> tuple[MasterFiles, ...]:
        if not self.changes.retaken.taken:
            return ()
        return retaken.lay_out(self.changes.retaken, self.amendments, self.around, self.scratch)

    def _is_record_only(self, path: str) -> bool:
        return self.old.record_only is not None and path == self.old.record_only[0]

    def _sidecar(self, file: FileRecord) -> Made:
        def make(written: Mapping[str, Written]) -> bytes:
            self.old.verify(written)
            return sidecar.write(self._car(file, written))

        return Made(path=naming.sidecar_path(file.path), make=make)

    def _car(self, file: FileRecord, written: Mapping[str, Written]) -> SideCar:
        if file.sidecar is None or file.stated is None:
            raise ValueError("only what has a side-car of ours comes here")
        master = written[file.path]
        this_file = replace(
            file.stated,
            octets=master.octets,
            sha256=master.digests["sha256"],
            sha512=master.digests["sha512"],
            copies=self.copies.get(file.path, NextCopies()).records(written),
        )
        return self._told(file.sidecar, this_file)

    def _told(self, car: SideCar, this_file: ThisFile | None) -> SideCar:
        return replace(
            car,
            schema=sidecar.SCHEMA,
            software=self.around.software,
            written=stamp(self.around.instant),
            transfer=self._transfer,
            this_file=this_file,
            amendments=self.amendments,
        )

    @property
    def _transfer(self) -> Transfer:
        if self.draft.transfer is None:
            raise ValueError("a package without side-cars of ours has no statements")
        return self.draft.transfer

    # Tag files

    def _tags(self, beside: tuple[Made, ...]) -> Iterator[Made | Streamed]:
        explained = [exports.explained(self.dossier, self.judgement)] if self.old.is_ours else []
        anew = {one.path: one for one in (*self._anew(), *beside, *explained)}
        withdrawn, taken_anew = self._stems(self.draft.withdrawn), self._stems(self.draft.retaken)
        for path in self.old.octets:
            if path.startswith("data/"):
                continue
            kept = naming.superseded_path(self.old.version, path)
            if is_at_the_root(path):
                if self._may_keep(path):
                    yield self.old.carried(path, kept)
            elif path in anew:
                if self._gives_way(path, anew[path]) and self._may_keep(path):
                    yield self.old.carried(path, kept)
            elif naming.is_captured_of(path, withdrawn):
                if naming.is_captured_of(path, taken_anew) and self._may_keep(kept):
                    yield self.old.carried(path, kept)
            elif self._may_keep(path):
                yield self.old.carried(path)
        yield from self._superseded()
        yield from anew.values()

    def _gives_way(self, path: str, anew: Made) -> bool:
        """Tell whether a tag file that is made anew held something else that is worth keeping."""
        is_told_again = path in {naming.README, *self._views} or (
            path == naming.AMENDMENTS and self.old.amendments
        )
        if is_told_again and (self.old.is_ours or path == naming.AMENDMENTS):
            return False
        content = anew.make({})
        return self.old.octets[path] != len(content) or (
            self.old.bag.read(path, len(content)) != content
        )

    def _stems(self, paths: Collection[str]) -> set[str]:
        """Return what the recorder's files behind some masters were called."""
        files = (file for file in self.old.dossier.files if file.path in paths)
        return {naming.master_stem(source.file) for file in files for source in file.sources}

    def _superseded(self) -> Iterator[Made | Streamed]:
        """Yield the side-cars and header chunks that gave way, as long as nothing is withheld."""
        if self.draft.withheld:
            return
        cars = [naming.sidecar_path(file.path) for file in self.old.dossier.files if file.sidecar]
        cars += [self.old.record_only[0]] if self.old.record_only else []
        kept = {*self.draft.withdrawn} - {naming.sidecar_path(path) for path in self.draft.retaken}
        for path in cars:
            if path not in kept:
                yield self.old.carried(path, naming.superseded_path(self.old.version, path))
        for one in self.renewed.values():
            for name, octets in one.gave_way:
                yield fixed(naming.superseded_path(self.old.version, name), octets)

    def _may_keep(self, path: str) -> bool:
        """Tell whether a file may be kept: what may hold a withheld text may not, manifests may."""
        if not self.draft.withheld:
            return True
        is_earlier = path.startswith(f"{naming.SUPERSEDED}/")
        name = path.rpartition("/")[2]
        if is_earlier or path in {"bag-info.txt", naming.CHECKS}:
            return "manifest-" in name or name == "bagit.txt"
        return True

    def _anew(self) -> Iterator[Made]:
        """Yield the tag files that are made anew."""

        def amendments(written: Mapping[str, Written]) -> bytes:
            self.old.verify(written)
            return listed.write(self.amendments)

        if self.old.is_ours:
            checks = json_output.judged(self.name, self.judgement, self.around.software)
            yield fixed(naming.CHECKS, json_page(checks))
        for name in (listed.SCHEMA_NAME, sidecar.SCHEMA_NAME):
            yield fixed(f"{naming.SCHEMAS}/{name}.schema.json", schemas.schema_text(name))
        yield Made(path=naming.AMENDMENTS, make=amendments)

    @property
    def _views(self) -> dict[str, View]:
        """The descriptions that are made anew: those of the superseded version follow from it."""
        if not self.old.is_ours:
            return {}
        return {one.path: one for one in exports.packed_views(self.dossier)}

    def _exports(self, retaken_ones: tuple[MasterFiles, ...]) -> Iterator[Made]:
        old, alone = self.old, self.old.record_only
        dossier = self.dossier
        if alone is not None:
            dossier = replace(dossier, record_only=self._told(alone[1], None))
        carried = [one for one in dossier.files if one.sidecar]

        def packed(written: Mapping[str, Written]) -> Dossier:
            files = [replace(one, sidecar=self._car(one, written)) for one in carried]
            others = [one for one in dossier.files if one.path in written and one.sidecar is None]
            files += [laid.record(written) for laid in retaken_ones]
            return exports.as_packed(
                dossier, (*files, *others), written, name=self.name, bag_info=self.bag_info()
            )

        opens = verbatim.opener_of(self.draft.brought, in_bag(old.bag))
        return exports.to_be_made(self._views.values(), packed, self.judgement, opens)

    def bag_info(self) -> Iterator[tuple[str, str]]:
        """Yield the elements: ours as the statements are now, all others as they were."""
        instant = self.around.instant
        was, now = self.old.dossier.transfer, self.draft.transfer
        made = set(baginfo.elements(was, instant)) if was is not None else set()
        ours = {label for label, _ in made} | {"Bagging-Date"}
        said = {(naming.SUPERSEDES, one.supersedes) for one in self.old.amendments}
        if now is not None:
            yield from baginfo.elements(now, instant)
        else:
            yield "Bagging-Date", instant.strftime("%Y-%m-%d")
        for line in self.old.bag.facts.bag_info:
            value = " ".join(line.value.split())
            is_counted = line.label.casefold() in {"payload-oxum", "bag-size"}
            is_ours = line.label in ours or (line.label, value) in said
            if value and not is_counted and not is_ours:
                yield line.label, value
        yield naming.SUPERSEDES, self.old.name
