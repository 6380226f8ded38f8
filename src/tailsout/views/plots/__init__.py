"""Plots: measured records → SVG or PNG, the only room that knows matplotlib.

Every plot has one signature: `draw(record, ..., title=..., kind=...) -> bytes`. The same octets
come out whatever the user has set: nothing of his configuration, locale or cache is read.
"""

import logging
import os
import warnings
from collections.abc import Iterator
from contextlib import contextmanager

from tailsout.ground.errors import SurroundingsError

_ASIDE = ("MATPLOTLIBRC", "MPLBACKEND", "MPLCONFIGDIR")


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Keep the library, while it loads, from the user's folders and the user from its warnings.

    It would leave a configuration directory and a list of fonts behind. A place that cannot be one
    sends it to a temporary directory, which it removes itself when the process ends.
    """
    kept = {name: os.environ.get(name) for name in _ASIDE}
    log = logging.getLogger("matplotlib")
    level = log.level
    log.setLevel(logging.CRITICAL + 1)
    for name in _ASIDE:
        os.environ.pop(name, None)
    os.environ["MPLCONFIGDIR"] = os.devnull
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        log.setLevel(level)
        for name, value in kept.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _load() -> None:
    try:
        with _undisturbed():
            import matplotlib.font_manager  # noqa: PLC0415  only here is it kept quiet
    except (OSError, UnicodeDecodeError) as error:
        raise SurroundingsError(
            "The plotting library cannot be loaded: it reads a file matplotlibrc in the current"
            " folder and makes a temporary directory, and one of both cannot be had.",
            "Move that file away, or set TMPDIR to a folder that can be written.",
        ) from error
    del matplotlib


_load()
