"""The `tailsout` command: parse, call, print. Each subcommand is imported when it is called for.

Exit codes: 0 pass or open questions, 1 fail, 2 usage, 3 refused, 4 not examined, 130 interrupted,
70 a fault of this program, printed with its traceback.
"""

import errno
import importlib
import io
import os
import signal
import sys

import click

from tailsout import __version__
from tailsout.doors.cli import printing, streams
from tailsout.doors.cli.listing import Listing
from tailsout.ground import clock
from tailsout.ground.errors import TailsoutError, ToldToEndError

_COMMANDS = (
    *(
        "begin",
        "note",
        "gate",
        "names",
        "close",
        "check",
        "amend",
        "pack",
        "unpack",
        "deliver",
        "receive",
        "accept",
        "measure",
        "tones",
        "compare",
        "reckon",
        "show",
        "report",
        "label",
        "recount",
        "hours",
        "profile",
        "explain",
    ),
    "demo",
)
_UNHEARD = 4
_INTERRUPTED = 130
_BUG = 70
_OUTPUT_FAULTS = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.EPIPE})


class _Late(Listing):
    """Finds a subcommand in the module of its name, so that help starts fast."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        del ctx
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        del ctx
        if cmd_name not in _COMMANDS:
            return None
        module = importlib.import_module(f"tailsout.doors.cli.{cmd_name}")
        command: click.Command = module.command
        return command


@click.group(cls=_Late, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="tailsout")
def tailsout() -> None:
    """Packs a tape transfer with its history and its proof, and judges packages from others.

    A transfer is closed out from a job folder: `begin` writes its forms, `close` packs it. `check`
    judges a package, whoever made it. Exit codes: 0 pass or open questions, 1 fail, 2 usage,
    3 refused, 4 not examined.
    """
    # Libraries that load later break on a SOURCE_DATE_EPOCH that is not a number: it is told here.
    clock.now()


def main() -> None:
    """Run the command line and exit."""
    streams.settle()
    _heed_endings()
    sys.exit(run(sys.argv[1:]))


def _heed_endings() -> None:
    """Have a shutdown or a terminal that closes end the work in order, not in mid-air."""

    def end(_number: int, _frame: object) -> None:
        raise ToldToEndError

    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        # What was started so as to outlive its terminal does.
        if number is not None and signal.getsignal(number) != signal.SIG_IGN:
            signal.signal(number, end)


def run(arguments: list[str]) -> int:
    """Run one command line and return its exit code; only a fault of our own raises."""
    try:
        code = tailsout.main(args=arguments, prog_name="tailsout", standalone_mode=False)
        sys.stdout.flush()
    except click.ClickException as error:
        shown = io.StringIO()
        error.show(shown)
        click.echo(printing.printable_lines(shown.getvalue()), err=True, nl=False)
        return error.exit_code
    except TailsoutError as error:
        return printing.stopped(error)
    except (click.Abort, KeyboardInterrupt) as error:
        return _interrupted(error)
    except (OSError, SystemExit) as error:
        return _unheard(error)
    except Exception:  # noqa: BLE001  the outermost door: a fault of our own gets its code
        return _bug()
    return code if isinstance(code, int) else 0


def _interrupted(error: BaseException) -> int:
    was_told = isinstance(error.__cause__ or error, ToldToEndError)
    doing = (
        "told to end; nothing half-made stands under a package's name"
        if was_told
        else "interrupted; nothing half-made was left"
    )
    click.echo(f"tailsout: {doing}.", err=True)
    return _INTERRUPTED


def _unheard(error: OSError | SystemExit) -> int:
    """Tell that our output went nowhere: the work turns every fault of a disk into a sentence."""
    if isinstance(error, OSError) and error.errno not in _OUTPUT_FAULTS:
        return _bug()
    streams.silence_output()
    # Whoever read our output may just have left, which click turns into an exit of its own with
    # the code of a failed package; nobody is told that.
    if isinstance(error, OSError) and error.errno != errno.EPIPE:
        why = os.strerror(error.errno or 0)
        click.echo(f"tailsout: what was found could not be written out: {why}.", err=True)
    return _UNHEARD


def _bug() -> int:
    import traceback  # noqa: PLC0415  only wanted when something broke

    click.echo("tailsout: this is a fault of the program, not of your material:", err=True)
    click.echo(printing.printable_lines(traceback.format_exc()), err=True)
    return _BUG
