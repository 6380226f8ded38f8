"""`tailsout explain`: the findings, by what they are about."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from tailsout.doors.cli import printing

if TYPE_CHECKING:
    from tailsout.work.explain import Explained


@click.command("explain")
@click.argument("code", required=False)
def command(code: str | None) -> int:
    """List all findings this program can make; with CODE, tell what one of them rests on."""
    from tailsout.work.explain import by_group, explained, kinds  # noqa: PLC0415  help must not wait

    if code is not None:
        printing.say("\n".join(_one(explained(code))))
        return 0
    width = max(len(one) for one in kinds())
    for group, listed in by_group().items():
        printing.say(f"{group} ({len(listed)})")
        for kind in listed:
            printing.say(f"  {kind.code:<{width}}  {kind.severity.value:<5}  {kind.title}")
        printing.say()
    printing.say(f"{len(kinds())} findings; `tailsout explain CODE` tells what one rests on.")
    return 0


def _one(told: "Explained") -> Iterator[str]:
    kind = told.kind
    yield f"{kind.code}: {kind.title}"
    yield f"  group     {told.group}"
    yield f"  severity  {kind.severity.value}; verdict: {kind.verdict.value}"
    yield f"  basis     {kind.basis}"
    yield f"  remedy    {kind.remedy}"
    yield f"  needs the reel: {'yes' if kind.needs_reel else 'no'}"
    for rule in told.rules:
        yield f"  check     {rule.name}; it needs {', '.join(sorted(rule.needs))}"
    if not told.rules:
        yield "  check     none: it is met while something is read or written"
    if not told.is_answerable:
        yield "  It cannot be answered."
        return
    yield "  An answer to it, in job.toml; the place is printed with the finding:"
    yield ""
    yield "    [[answers]]"
    yield f'    code = "{kind.code}"'
    yield '    place = "as printed with the finding"'
    yield '    decision = "accepted as is"    # or "put right", or "does not apply"'
    yield '    reason = "why"'
    yield '    by = "id of the person"'
    yield "    on = 2026-03-15"
