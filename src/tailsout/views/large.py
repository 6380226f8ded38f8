"""Letters five rows high and ruled headings, to be read from across the room."""

from collections.abc import Iterator

_WIDTH = 80
_FULL = "█"
_GLYPHS = {
    "A": (" ### ", "#   #", "#####", "#   #", "#   #"),
    "B": ("#### ", "#   #", "#### ", "#   #", "#### "),
    "E": ("#####", "#    ", "#### ", "#    ", "#####"),
    "F": ("#####", "#    ", "#### ", "#    ", "#    "),
    "G": (" ####", "#    ", "#  ##", "#   #", " ####"),
    "I": ("#####", "  #  ", "  #  ", "  #  ", "#####"),
    "K": ("#   #", "#  # ", "###  ", "#  # ", "#   #"),
    "N": ("#   #", "##  #", "# # #", "#  ##", "#   #"),
    "O": (" ### ", "#   #", "#   #", "#   #", " ### "),
    "P": ("#### ", "#   #", "#### ", "#    ", "#    "),
    "S": (" ####", "#    ", " ### ", "    #", "#### "),
    "T": ("#####", "  #  ", "  #  ", "  #  ", "  #  "),
    "W": ("#   #", "#   #", "# # #", "## ##", "#   #"),
    "X": ("#   #", " # # ", "  #  ", " # # ", "#   #"),
}


def large(word: str) -> Iterator[str]:
    """Yield the five rows of a word; raises KeyError for a letter that is in no answer."""
    for row in range(5):
        cells = (_GLYPHS[letter][row].replace("#", _FULL * 2).replace(" ", "  ") for letter in word)
        yield f"  {'   '.join(cells)}".rstrip()


def ruled(title: str) -> Iterator[str]:
    """Yield a heading with a rule as long as the page."""
    yield f"== {title} ".ljust(_WIDTH, "=")
