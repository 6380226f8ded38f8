"""Access copies of one master: made into scratch files, handed over, told of in its side-car."""

from collections.abc import Callable, Iterable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import TYPE_CHECKING, BinaryIO

from tailsout.bag.plan import Made, Streamed, Written
from tailsout.ground.digests import digests_of
from tailsout.ground.errors import MaterialError
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable
from tailsout.mapping.copies.planned import PlannedCopy
from tailsout.records.access import AccessCopy, CopyStep
from tailsout.wave.riff import read_layout
from tailsout.work import compressed
from tailsout.work.surroundings import ScratchFiles

if TYPE_CHECKING:
    from tailsout.measure.access.making import MadeCopy


@dataclass(frozen=True, slots=True, kw_only=True)
class Parent:
    """The master that copies are made of."""

    path: str
    """In the package."""
    file_id: str
    essence_sha256: str
    opened: Callable[[], AbstractContextManager[BinaryIO]]
    """Opens what it is made of, or itself, as a wave file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparedCopy:
    """A copy that was made, or only planned."""

    planned: PlannedCopy
    file: Streamed | Made
    made: "MadeCopy | None"
    """None where only a plan is asked for."""
    tagged: CopyStep | None = None

    def record(self, written: Mapping[str, Written]) -> AccessCopy:
        """Return what the master's side-car says of it, now that it stands."""
        if self.made is None or self.tagged is None:
            raise ValueError("a plan alone is never written")
        it, recipe = written[self.planned.path], self.planned.recipe
        return AccessCopy(
            path=self.planned.path,
            octets=it.octets,
            sha256=it.digests["sha256"],
            sha512=it.digests["sha512"],
            format=recipe.format,
            start=recipe.start,
            end=recipe.end,
            regions=self.planned.regions,
            sample_rate_hz=recipe.sample_rate_hz,
            channels=self.made.channels,
            frames=self.made.frames,
            clipped_samples=self.made.clipped_samples,
            steps=(*self.made.steps, self.tagged),
        )


def prepare_all(
    planned: Iterable[PlannedCopy],
    parent: Parent,
    scratch: ScratchFiles | None,
    software: str,
    progress: Progress,
) -> tuple[PreparedCopy, ...]:
    """Make copies of one master, each into a scratch file of its own; without any, only name them.

    Raises as `prepare`.
    """
    if scratch is None:
        return tuple(map(_planned_only, planned))
    return tuple(
        prepare(one, parent, scratch(), software=software, progress=progress) for one in planned
    )


def _planned_only(copy: PlannedCopy) -> PreparedCopy:
    made = Made(path=copy.path, make=lambda _written: b"")
    return PreparedCopy(planned=copy, file=made, made=None)


def prepare(
    copy: PlannedCopy, parent: Parent, scratch: BinaryIO, *, software: str, progress: Progress
) -> PreparedCopy:
    """Make a copy into an empty scratch file.

    Raises MaterialError for samples that cannot be read, SurroundingsError if disk or library fail.
    """
    # The libraries load slowly, and a job without copies must not wait for them.
    from tailsout.measure.access import making  # noqa: PLC0415
    from tailsout.measure.samples import Samples  # noqa: PLC0415
    from tailsout.wave import copy_tags  # noqa: PLC0415

    recipe = copy.recipe
    with parent.opened() as stream:
        layout = read_layout(stream)
        pcm, data = layout.pcm, layout.data
        if pcm is None or data is None:
            raise MaterialError(f"{printable(parent.path)} holds no audio that copies could be of.")
        progress.begin(f"Making {copy.path}", (recipe.end - recipe.start) * pcm.frame_octets)
        samples = Samples(
            stream,
            pcm,
            data_offset=data.offset,
            data_octets=data.octets,
            advance=progress.advance,
        )
        made = making.make(
            samples, recipe, scratch, essence_sha256=parent.essence_sha256, software=software
        )
    tags = _tags(copy, parent)
    copy_tags.put(scratch, recipe.format, tags)
    making.counted(scratch, made)
    tagged = CopyStep(step="tags", software=copy_tags.SOFTWARE, how=", ".join(sorted(tags)))
    octets = scratch.seek(0, 2)
    libraries = (*making.SOFTWARE, copy_tags.SOFTWARE, software)
    told = repr((parent.essence_sha256, recipe, sorted(tags.items()), libraries)).encode()
    file = Streamed(
        path=copy.path,
        octets=octets,
        write=compressed.copier(scratch),
        source=digests_of(told, ("sha256",))["sha256"],
    )
    return PreparedCopy(planned=copy, file=file, made=made, tagged=tagged)


def _tags(copy: PlannedCopy, parent: Parent) -> dict[str, str]:
    """Return the tags: those asked for, and a comment that names the master."""
    tags = dict(copy.tags)
    made_of = f"Made of {parent.path}, file {parent.file_id}"
    tags["comment"] = f"{tags['comment']} ({made_of})" if "comment" in tags else made_of
    return tags
