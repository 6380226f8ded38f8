"""Tags of access copies: ID3v2.4 in MP3 and WAV, Vorbis comments in FLAC and Opus, by mutagen.

Only files made here come to this library, never a stranger's.
"""

from collections.abc import Callable, Mapping
from typing import Any, BinaryIO

import mutagen
from mutagen import id3
from mutagen.flac import FLAC
from mutagen.mp3 import MP3
from mutagen.oggopus import OggOpus
from mutagen.wave import WAVE

from tailsout.ground.errors import SurroundingsError, from_os_error

SOFTWARE = f"mutagen {mutagen.version_string}"
FRAMES: Mapping[str, str] = {
    "title": "TIT2",
    "artist": "TPE1",
    "album": "TALB",
    "date": "TDRC",
    "comment": "COMM",
    "organisation": "TPUB",
    "copyright": "TCOP",
}
"""Frames of ID3v2.4 (id3.org, native frames §4; from memory)."""
COMMENTS: Mapping[str, str] = {
    **{tag: tag.upper() for tag in FRAMES},
    "organisation": "ORGANIZATION",
}
"""Names of Vorbis comments (Xiph.Org field names; RFC 9639 §8.6 and RFC 7845 §5.2 take them)."""
_OPENERS: Mapping[str, Callable[[Any], Any]] = {
    "WAV": WAVE,
    "FLAC": FLAC,
    "MP3": MP3,
    "Opus": OggOpus,
}


def put(stream: BinaryIO, copy_format: str, tags: Mapping[str, str]) -> None:
    """Write tags into a file just made; words of `tags` are those of `FRAMES`.

    Raises SurroundingsError if the disk or the library refuses.
    """
    try:
        stream.seek(0)
        file = _OPENERS[copy_format](stream)
        if file.tags is None:
            file.add_tags()
        for tag, text in tags.items():
            if copy_format in {"MP3", "WAV"}:
                file.tags.add(_frame(tag, text))
            else:
                file.tags[COMMENTS[tag]] = text
        stream.seek(0)
        file.save(stream)
    except OSError as error:
        raise from_os_error(error, "Writing the tags of an access copy") from error
    except mutagen.MutagenError as error:
        raise SurroundingsError(f"The tags of an access copy could not be written: {error}") from (
            error
        )


def _frame(tag: str, text: str) -> Any:  # noqa: ANN401  the library has a class for each
    kind = getattr(id3, FRAMES[tag])
    if tag == "comment":
        return kind(encoding=id3.Encoding.UTF8, lang="und", desc="", text=text)
    return kind(encoding=id3.Encoding.UTF8, text=text)
