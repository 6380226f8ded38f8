"""How long work tells the door what it is doing, without knowing what a terminal is."""

from typing import Protocol


class Progress(Protocol):
    """What a door shows while large files pass."""

    def begin(self, doing: str, octets: int) -> None:
        """Start a stretch of work: what it is, and how many octets it will pass."""

    def advance(self, octets: int) -> None:
        """Count so many more octets."""

    def say(self, line: str) -> None:
        """Tell the user one line that is worth keeping on the screen."""


class Silent:
    """Shows nothing."""

    def begin(self, doing: str, octets: int) -> None:
        """Show nothing."""

    def advance(self, octets: int) -> None:
        """Show nothing."""

    def say(self, line: str) -> None:
        """Show nothing."""
