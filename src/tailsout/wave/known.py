"""What the chunks of a wave file and the blocks of a FLAC file are, in words, with their document.

Names and documents of what is only listed are from memory; nothing rests on them.
"""

from types import MappingProxyType

KNOWN = MappingProxyType(
    {
        "fmt ": "format of the samples (RIFF 1991)",
        "data": "the samples (RIFF 1991)",
        "ds64": "sizes in 64 bits (EBU Tech 3306, ITU-R BS.2088)",
        "fact": "number of sample frames (RIFF 1991)",
        "bext": "broadcast extension (EBU Tech 3285)",
        "ubxt": "broadcast extension in Unicode (ITU-R BS.1352)",
        "LIST": "list (RIFF 1991)",
        "cue ": "cue points (RIFF 1991)",
        "plst": "play list of cue points (RIFF 1991)",
        "CSET": "characters of the text (RIFF 1991)",
        "iXML": "XML of a field recorder (iXML)",
        "axml": "XML document (EBU Tech 3285 s5)",
        "bxml": "compressed XML document (ITU-R BS.2088)",
        "sxml": "XML of a running stream (ITU-R BS.2088)",
        "_PMX": "XML of an editor (XMP)",
        "chna": "tracks of an audio definition model (ITU-R BS.2088)",
        "mext": "MPEG audio extension (EBU Tech 3285 s1)",
        "qlty": "capturing report (EBU Tech 3285 s2)",
        "levl": "peak envelope (EBU Tech 3285 s3)",
        "link": "files of a split recording (EBU Tech 3285 s4)",
        "dbmd": "Dolby metadata (EBU Tech 3285 s6)",
        "cart": "radio play-out (AES46)",
        "umid": "unique material identifier (SMPTE ST 330)",
        "r64m": "marks in 64 bits (EBU Tech 3306)",
        "id3 ": "ID3v2 tag",
        "ID3 ": "ID3v2 tag",
        "PEAK": "peaks of float samples",
        "smpl": "loops of a sampler (RIFF 1994)",
        "inst": "range of an instrument (RIFF 1994)",
        "DISP": "what a desktop shows of the file",
        "JUNK": "filler (RIFF 1991)",
        "PAD ": "filler (RIFF 1994)",
        "junk": "filler",
        "FLLR": "filler",
        "Fake": "filler",
        # Metadata blocks of FLAC.
        "STREAMINFO": "format and length of the audio (RFC 9639 §8.2)",
        "PADDING": "filler (RFC 9639 §8.3)",
        "APPLICATION": "block of one program (RFC 9639 §8.4)",
        "SEEKTABLE": "places to seek to (RFC 9639 §8.5)",
        "VORBIS_COMMENT": "statements in words (RFC 9639 §8.6)",
        "CUESHEET": "tracks of a disc (RFC 9639 §8.7)",
        "PICTURE": "picture (RFC 9639 §8.8)",
    }
)
"""By id; case and trailing spaces count."""

_LISTS = {
    "INFO": "statements in words, INFO (RIFF 1991)",
    "adtl": "labels of cue points, adtl (RIFF 1991)",
}
_BY_FOLDED = {one.lower(): one for one in KNOWN if one not in {"ID3 ", "junk"}}


def what_is(chunk_id: str, list_type: str = "") -> str:
    """Say what a chunk is by its id, and by its type if it is a LIST that was opened."""
    if chunk_id == "LIST" and list_type:
        return _LISTS.get(list_type, f"list of type {list_type} (RIFF 1991)")
    if chunk_id in KNOWN:
        return KNOWN[chunk_id]
    likely = _BY_FOLDED.get(chunk_id.lower())
    return f"not known; {likely.rstrip()} but for its case" if likely else "not known"
