"""A group of commands whose help cuts no sentence off, and which names what was nearly typed."""

from difflib import get_close_matches

import click

_SENTENCE = 200
"""Characters that the first sentence about a command may have."""


class Listing(click.Group):
    """Lists its commands, each with its first sentence whole: the library cuts it off."""

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands."""
        commands = ((name, self.get_command(ctx, name)) for name in self.list_commands(ctx))
        with formatter.section("Commands"):
            formatter.write_dl(
                [(name, one.get_short_help_str(_SENTENCE)) for name, one in commands if one]
            )

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command that is typed. Raises click's UsageError, with the nearest name."""
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            near = get_close_matches(args[0][:100], self.list_commands(ctx), n=1)
            if not near:
                raise
            text = f"{error.message} Did you mean {near[0]!r}?"
            raise click.UsageError(text, ctx) from error
