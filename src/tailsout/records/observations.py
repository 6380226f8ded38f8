"""The words for what a bag's reader may observe, each with the clause it rests on.

The reader notes them, a rule says what each one weighs.
"""

from collections.abc import Mapping

OBSERVATIONS: Mapping[str, str] = {
    # bagit.txt and the frame of the bag
    "no-bagit-txt": "RFC 8493 §2.1.1: a bag holds the regular file bagit.txt",
    "bagit-txt-malformed": "RFC 8493 §2.1.1: exactly two lines, in this order and spelling",
    "version-unknown": "RFC 8493 §2.1.1: a version other than 1.0 and the drafts 0.93 to 0.97",
    "encoding-not-allowed": "RFC 8493 §2.1.1, §2.3: an encoding this reader does not decode",
    "encoding-not-utf8": "RFC 8493 §2.1.1: the encoding should be UTF-8",
    "no-payload-directory": "RFC 8493 §2.1.2: a bag holds the directory data",
    "payload-empty": "common practice, no source: a package is of something; RFC 8493 asks nothing",
    "no-payload-manifest": "RFC 8493 §2.1.3: a bag holds at least one payload manifest",
    # any tag file
    "tag-file-undecodable": "RFC 8493 §2.3: octets that are not in the encoding declared",
    "tag-file-too-large": "our limit: the file was not read",
    "line-too-long": "our limit: the line was passed over",
    "line-unended": "RFC 8493 §2.3: the last line should have an end too",
    "bom": "RFC 8493 §2.1.1, §2.3: a byte-order mark where none may stand",
    # manifests
    "algorithm-unknown": "RFC 8493 §2.4: a manifest whose digests cannot be taken here",
    "manifest-line-malformed": "RFC 8493 §2.1.3: digest, blanks, path",
    "manifest-marker": "RFC 8493 §6.1.3: what checksum tools put before a path",
    "digest-malformed": "RFC 8493 §2.1.3, §2.4: not hexadecimal, or not the algorithm's length",
    "digest-upper-case": "RFC 8493 §2.1.3: allowed, but a changed letter case goes unseen",
    "path-unsafe": "RFC 8493 §5.1: a path that could lead out of the bag; the line is left out",
    "path-outside-payload": "RFC 8493 §2.1.3, §2.2.1, §2.2.3: a path that list may not hold",
    "listed-twice": "RFC 8493 §2.1.3: every file is listed exactly once",
    "listed-again": "RFC 8493 §2.1.3, as read before 1.0: twice in one list, with one digest",
    "percent-raw": "RFC 8493 §2.1.3: percent codes are not spelled as the version asks",
    "name-form-differs": "RFC 8493 §6.1.1.3: list and disk differ in Unicode normalisation only",
    # the tree on disk
    "link": "RFC 8493 §5.1 by intent: a symbolic link; it is never followed",
    "special-file": "RFC 8493 §2.1.2: no file of octets but a pipe, socket or device; not opened",
    "swapped": "RFC 8493 §5.1 by intent: what was a file when the bag was opened no longer is one",
    "hard-link": "common practice, no source: a file that has more than one name",
    "too-deep": "our limit: the directory was not entered",
    "too-many": "our limit: the rest was not looked at",
    "unreadable": "the environment: permission or a disk fault stands in the way",
    "empty-directory": "RFC 8493 §2.1.3: a manifest cannot list a directory, so it may be lost",
    "name-twins": "RFC 8493 §6.1.1.3: two names that differ in case or normalisation only",
    "name-undecodable": "RFC 8493 §6.1.1: the octets of the name are not UTF-8",
    "name-controls": "Unicode TR 36 §3: control, format or direction characters in a name",
    "name-mixed-scripts": "Unicode TR 36 §2: letters of several scripts that look alike",
    "name-not-portable": "RFC 8493 §6.1.2: a name that some systems cannot hold",
    "hidden-file": "common practice, no source: often litter left by an operating system",
    # fetch.txt
    "fetch-txt": "RFC 8493 §2.2.3: the bag is holey; nothing is ever fetched",
    "fetch-line-malformed": "RFC 8493 §2.2.3: URL, length, path",
    "fetch-not-listed": "RFC 8493 §2.2.3: a file to fetch is in every payload manifest",
    "fetch-unsafe": "RFC 8493 §5.2: an address that is not to be followed",
    "fetch-length-differs": "RFC 8493 §2.2.3: the length is that of the file",
    "to-be-fetched": "RFC 8493 §3: a file that is not in the bag yet; the bag is incomplete",
    # bag-info.txt
    "bag-info-malformed": "RFC 8493 §2.2.2: label, colon, one blank, value",
    "oxum-malformed": "RFC 8493 §2.2.2: Payload-Oxum is octets, a full stop, files",
    "oxum-repeated": "RFC 8493 §2.2.2: Payload-Oxum stands once at most",
    "element-repeated": "RFC 8493 §2.2.2: an element that should not be repeated",
    "element-malformed": "RFC 8493 §2.2.2: Bagging-Date is YYYY-MM-DD",
    # an archive the bag lies in
    "archive-escape": "own rule: no path leads out of where an archive is unpacked (CWE-22)",
    "archive-link": "own rule: no links in an archive, whatever they lead to (CWE-59)",
    "archive-special": "own rule: nothing in an archive but plain files and directories",
    "archive-twice": "own rule: one name, one member, none below a file (CWE-694)",
    "archive-ambiguous": "own rule: nothing that two readers may take differently (CWE-436)",
    "archive-overlap": "own rule: no two members of an archive share octets (CWE-409)",
    "archive-method": "our limit: of a zip what is stored or deflated and not encrypted is read",
    "archive-name-encoding": "APPNOTE 6.3 §4.4.4, Annex D: a name beyond ASCII says it is UTF-8",
    "archive-damaged": "POSIX.1-2017 pax, RFC 1952, .xz File Format, APPNOTE 6.3: its structure",
    "archive-beyond-limits": "our limit: sizes, ratio and memory of what is unpacked (CWE-409)",
    "archive-base": "common practice, no source: at the top of an archive is one bag's directory",
    "archive-name-differs": "common practice, no source: directory and archive are named alike",
    "archive-trailing": "POSIX.1-2017 pax: nothing but filling after two blocks of zeros",
}
"""Every kind of observation, with the clause it rests on."""
