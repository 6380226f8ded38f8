"""What a sample can tell of a lot: the arithmetic behind acceptance sampling by attributes.

Pure counting (hypergeometric distribution), as ISO 2859-1 rests on; its tables give the same
figures for lots that are large beside the sample.
"""

from fractions import Fraction
from math import comb


def chance_of_acceptance(*, lot: int, faulty: int, sample: int, most: int = 0) -> Fraction:
    """Return how likely a plain draw of `sample` from `lot` holds at most `most` faulty ones.

    Raises ValueError for counts that are no lot and sample.
    """
    if not 0 <= faulty <= lot or not 0 <= sample <= lot or most < 0:
        raise ValueError(f"{sample} of {lot}, {faulty} faulty, at most {most}")
    ways = sum(
        comb(faulty, found) * comb(lot - faulty, sample - found)
        for found in range(min(most, faulty, sample) + 1)
    )
    return Fraction(ways, comb(lot, sample))


def most_faulty(*, lot: int, sample: int, sure: Fraction = Fraction(95, 100)) -> int:
    """Return how many of the lot may be faulty although none in the sample was.

    With one more, at least one faulty would have been drawn with a chance of `sure`.
    Raises ValueError as `chance_of_acceptance`.
    """
    low, high = 0, lot - sample
    while low < high:
        middle = (low + high + 1) // 2
        if chance_of_acceptance(lot=lot, faulty=middle, sample=sample) > 1 - sure:
            low = middle
        else:
            high = middle - 1
    return low
