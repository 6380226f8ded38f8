"""UUIDs of what a package tells of, and of what happened to it; the same in every description."""

from tailsout.records.amendment import Amendment
from tailsout.views.packaged import Packaged, PayloadFile


def recording_id(packaged: Packaged) -> str:
    """Return the UUID of what was recorded."""
    return packaged.id("recording")


def reel_id(packaged: Packaged) -> str:
    """Return the UUID of the reel."""
    return packaged.id("/reel")


def package_id(packaged: Packaged) -> str:
    """Return the UUID of this version of the package."""
    return version_id(packaged, packaged.name)


def version_id(packaged: Packaged, name: str) -> str:
    """Return the UUID of a version of the package by its name."""
    return packaged.id(f"package/{name}")


def amendment_event_id(packaged: Packaged, one: Amendment) -> str:
    """Return the UUID of the event that made a version out of another."""
    return packaged.id(f"event/amendments/{one.version}")


def capture_event_id(packaged: Packaged, capture: str | None) -> str | None:
    """Return the UUID of the event that made a capture, if the capture is stated."""
    captures = packaged.transfer.captures if packaged.transfer is not None else ()
    numbers = (number for number, one in enumerate(captures) if one.id == capture)
    return next((packaged.id(f"event/captures/{number}") for number in numbers), None)


def copy_event_id(packaged: Packaged, file: PayloadFile) -> str:
    """Return the UUID of the event that made an access copy."""
    return packaged.id(f"event/copies/{file.path}")


def derivation(packaged: Packaged, file: PayloadFile) -> tuple[str, str] | None:
    """Return the UUIDs of what a file was made from and of the event that made it, if known."""
    if file.copied is not None:
        return packaged.file_id(file.copied.of), copy_event_id(packaged, file)
    event = capture_event_id(packaged, file.record.capture) if file.record is not None else None
    return (reel_id(packaged), event) if event is not None else None
