"""`tailsout explain`: the findings, by code."""

import click

from tailsout.doors.cli import printing


@click.command("explain")
@click.argument("code", required=False)
def command(code: str | None) -> int:
    """List all findings this program can make; with CODE, tell what one of them rests on."""
    from tailsout.work.explain import kind_of, kinds  # noqa: PLC0415  help must not wait for it

    if code is None:
        width = max(len(one) for one in kinds())
        for one, kind in kinds().items():
            printing.say(f"{one:<{width}}  {kind.severity.value:<5}  {kind.title}")
        return 0
    kind = kind_of(code)
    printing.say(f"{kind.code}: {kind.title}")
    printing.say(f"  severity  {kind.severity.value}; verdict: {kind.verdict.value}")
    printing.say(f"  basis     {kind.basis}")
    printing.say(f"  remedy    {kind.remedy}")
    printing.say(f"  needs the reel: {'yes' if kind.needs_reel else 'no'}")
    return 0
