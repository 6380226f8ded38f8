"""The first pass over the captures: measured, and FLAC held against what it states of itself."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tailsout.ground.damage import Damage
from tailsout.ground.errors import MaterialError
from tailsout.ground.findings import Verdict
from tailsout.ground.progress import Progress
from tailsout.records.dossier import Dossier, Examined
from tailsout.rules.damage import KIND_OF
from tailsout.work import captures
from tailsout.work.captures import Taken

if TYPE_CHECKING:
    from tailsout.measure.onepass import Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class Passed:
    """What one read of a capture gave."""

    measured: "Measured | None" = None
    """None if it holds no audio, or none that can be decoded to its end, which a rule tells."""
    damage: tuple[Damage, ...] = ()
    """What only its samples could show."""


def measure(taken: tuple[Taken, ...], progress: Progress) -> dict[str, Passed]:
    """Measure what each master is made of, by `Taken.name`.

    Raises MaterialError for audio that cannot be measured, SurroundingsError if it cannot be read.
    """
    return {one.name: _measure(one, progress) for one in taken}


def _measure(one: Taken, progress: Progress) -> Passed:
    # The meters load slowly, and a form with faults must not wait for them.
    from tailsout.work.measure import measure_stream  # noqa: PLC0415

    if one.survey.layout.pcm is None or one.survey.layout.data is None:
        return Passed()
    with captures.reading(one) as source:
        try:
            measured = measure_stream(source.stream, one.survey, progress)
        except MaterialError:
            damage = source.proof()
            if not any(KIND_OF[fault.kind].verdict is Verdict.FAIL for fault in damage):
                raise
            return Passed(damage=damage)
        return Passed(measured=measured, damage=source.proof())


def digests(
    taken: tuple[Taken, ...], passed: Mapping[str, Passed], progress: Progress
) -> dict[str, str]:
    """Return the SHA-256 of every file as the recorder left it, by its path in the job.

    Of one wave file that was measured by itself it is known already. Raises SurroundingsError.
    """
    found = {}
    for one in taken:
        measured = passed[one.name].measured
        if len(one.files) == 1 and measured is not None and one.survey.flac is None:
            found[one.name] = measured.capture_sha256
            continue
        for file in one.files:
            found[file.survey.record.path] = captures.digest(file, progress)
    return found


def with_facts(dossier: Dossier, passed: Mapping[str, Passed]) -> Dossier:
    """Add to a dossier what was measured and met; nothing where nothing was read."""
    if not passed:
        return dossier
    files = []
    for file in dossier.files:
        one = passed.get(file.path, Passed())
        container = replace(file.container, damage=(*file.container.damage, *one.damage))
        seen = replace(file, container=container)
        if one.measured is not None:
            facts = one.measured.facts
            seen = replace(seen, measured=facts, essence_sha256=facts.essence_sha256)
        files.append(seen)
    examined = dossier.examined | frozenset[Examined]({"samples"})
    return replace(dossier, files=tuple(files), examined=examined)
