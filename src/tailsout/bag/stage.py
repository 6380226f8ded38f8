"""The place beside a package where it is built, and what a crash may have left of it.

The stage `.<name>.part` is locked while it is worked on; its journal `.<name>.part.journal` lies
beside it. A stage that nobody holds was left by a crash: it is taken up again or cleared away when
that is asked for, and cleared away unasked only if no finished file lies in it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tailsout.bag import journal
from tailsout.bag.disk import NO_LOCK, Disk
from tailsout.bag.journal import Begun, Journal
from tailsout.ground.errors import (
    SurroundingsError,
    ToldToEndError,
    UnprovedError,
    UsageError,
    from_os_error,
)
from tailsout.ground.progress import Progress
from tailsout.ground.units import printable

_TURNS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """What a build that was cut off left beside the place of its package."""

    stage: Path
    is_there: bool
    """Whether the stage is; the journal may have outlived it."""
    begun: Begun | None
    """None if its journal is not to be read."""

    @property
    def has_work(self) -> bool:
        """Tell whether at least one finished file lies there."""
        return self.is_there and self.begun is not None and bool(self.begun.written)


class Stage:
    """The place where one package is built."""

    def __init__(self, final: Path, disk: Disk, progress: Progress) -> None:
        self.path = final.with_name(f".{final.name}.part")
        self.journal = Journal(final.with_name(f".{final.name}.part.journal"), disk)
        self._disk, self._progress = disk, progress

    def left(self) -> Left | None:
        """Return what was left here, whether somebody is at it or not; None if nothing is.

        Raises SurroundingsError if the system refuses to say.
        """
        try:
            is_there = self._disk.is_there(self.path)
            if not is_there and not self._disk.is_there(self.journal.path):
                return None
        except OSError as error:
            raise from_os_error(error, f"Looking at {_shown(self.path)}") from error
        begun = journal.read(self.journal.path)
        return Left(stage=self.path, is_there=is_there, begun=begun)

    def refuse_left_work(self) -> None:
        """Stop where the work of a build that was cut off would be lost.

        Raises SurroundingsError, of another kind if a build is at it now.
        """
        left = self.left()
        if left is None or not left.is_there:
            return
        lock = self._lock()
        if lock is not None:
            self._disk.release(lock)
        self._refuse_work(left)

    def _refuse_work(self, left: Left | None) -> None:
        if left is not None and left.begun is not None and left.has_work:
            count = len(left.begun.written)
            files = "file stands" if count == 1 else "files stand"
            raise SurroundingsError(
                f"A build that was cut off left {_shown(self.path)}; {count} {files} "
                "finished there.",
                "Go on with it by --resume, or clear it away by --discard.",
            )

    def to_resume(self) -> Begun | None:
        """Return what the build that was cut off had begun; None if its journal is lost.

        Raises UsageError if there is nothing to resume.
        """
        left = self.left()
        if left is None:
            raise self._nothing()
        return left.begun

    @contextmanager
    def held(self, *, resume: bool) -> Iterator[None]:
        """Lock the stage, new and empty or with what was left in it.

        After an error of the disk, or when the program is told to end, what is finished stays for
        another try; after anything else nothing is left. Raises SurroundingsError if another build
        is at it or work was left and it is not to be resumed, UsageError if there is nothing to
        resume.
        """
        lock = self._claim(resume=resume)
        try:
            yield
        except BaseException as error:
            self._after(error)
            raise
        finally:
            self._disk.release(lock)

    def discard(self) -> bool:
        """Clear away what was left; tell whether anything was.

        Raises SurroundingsError if another build is at it or the system refuses.
        """
        try:
            return self._discard()
        except OSError as error:
            raise from_os_error(error, f"Clearing away {_shown(self.path)}") from error

    def _discard(self) -> bool:
        if not self._disk.is_there(self.path):
            was_there = self._disk.is_there(self.journal.path)
            self.journal.remove()
            return was_there
        lock = self._lock()
        if lock is None:
            return False
        try:
            self._remove()
        finally:
            self._disk.release(lock)
        return True

    def _remove(self) -> None:
        # The journal last: while it stands, what is left of the stage is known for what it is.
        self._disk.remove_tree(self.path)
        self.journal.remove()

    def _after(self, error: BaseException) -> None:
        try:
            left = None
            # Where a source changed, another try would write something else.
            if isinstance(error, (OSError, ToldToEndError, UnprovedError)) or (
                isinstance(error, SurroundingsError) and isinstance(error.__cause__, OSError)
            ):
                left = self.left()
            if left is not None and left.has_work:
                self._progress.say(
                    f"What is finished stays in {_shown(self.path)}: go on with it by --resume, or "
                    "clear it away by --discard."
                )
            elif self._disk.is_there(self.path):
                self._remove()
            # Else it got its name; the journal then tells that its receipt may be wanting.
        except (OSError, SurroundingsError):
            self._progress.say(
                f"{_shown(self.path)} could not be removed; --discard clears it away."
            )

    def _claim(self, *, resume: bool) -> int:
        """Make the stage and lock it, or take up one that a crash left. Returns the lock."""
        for _ in range(_TURNS):
            if resume:
                lock = self._lock()
                if lock is None:
                    break
                return lock
            try:
                self._disk.make_directory(self.path, 0o700)
            except FileExistsError:
                lock = self._lock()
                if lock is not None:
                    self._clear_abandoned(lock)
                continue
            lock = self._lock_new()
            if lock is not None:
                return lock
        raise self._nothing() if resume else self._in_use()

    def _lock_new(self) -> int | None:
        """Lock the stage just made, which another build may take for an abandoned one."""
        try:
            lock = self._lock()
        except SurroundingsError:
            # The other one holds it, and clears it away.
            raise
        except BaseException as error:
            self._after(error)
            raise
        if lock is not None:
            try:
                self.journal.remove()
            except BaseException as error:
                try:
                    self._after(error)
                finally:
                    self._disk.release(lock)
                raise
        return lock

    def _clear_abandoned(self, lock: int) -> None:
        try:
            if lock == NO_LOCK:
                # Nothing tells whether somebody is at it.
                raise self._in_use()
            self._refuse_work(self.left())
            self._progress.say(
                f"{_shown(self.path)} was left by a build that was cut off; nothing in it was "
                "finished, and it is cleared away."
            )
            self._remove()
        finally:
            self._disk.release(lock)

    def _lock(self) -> int | None:
        """Return the lock, or None if the stage went away. Raises SurroundingsError if held."""
        try:
            return self._disk.lock(self.path)
        except FileNotFoundError:
            return None
        except BlockingIOError as error:
            raise self._in_use() from error

    def _nothing(self) -> UsageError:
        return UsageError(
            f"There is nothing to resume: {_shown(self.path)} is not there.",
            "Run the command without --resume.",
        )

    def _in_use(self) -> SurroundingsError:
        return SurroundingsError(
            f"{_shown(self.path)} is in use: another build of the same package is running.",
            "Wait for it. Where the system has no locks and none is running, add --resume or "
            "--discard.",
        )


def _shown(path: Path) -> str:
    return printable(str(path))
