"""What a child process that looks at a stranger's file may use of the system."""

from contextlib import suppress


def limit(memory: int, seconds: int) -> None:
    """Have the system end this process where it asks for more; no file, no further process."""
    try:
        import resource  # noqa: PLC0415  not on every system
    except ImportError:
        return
    for which, most in (
        ("RLIMIT_AS", memory),
        ("RLIMIT_CPU", seconds),
        ("RLIMIT_CORE", 0),
        ("RLIMIT_FSIZE", 0),
        ("RLIMIT_NOFILE", 32),
        ("RLIMIT_NPROC", 0),
    ):
        with suppress(AttributeError, OSError, ValueError):
            resource.setrlimit(getattr(resource, which), (most, most))
