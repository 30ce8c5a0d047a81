"""The words of numbers, and what a number read is."""

from fractions import Fraction
from typing import NamedTuple

from studio.quantity.tokens import FRACTION, NUMBER, Tokens

SMALL = {
    word: value
    for value, word in enumerate(
        "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen "
        "seventeen eighteen nineteen".split()
    )
} | {"nought": 0, "naught": 0, "fourty": 40}
TENS = {word: 10 * value for value, word in enumerate(
    "twenty thirty forty fifty sixty seventy eighty ninety".split(), 2)}  # fmt: skip
SCALES = {"thousand": 10**3, "million": 10**6, "billion": 10**9, "trillion": 10**12, "grand": 10**3}
SCALES |= {f"{word}s": value for word, value in SCALES.items() if word != "grand"}
LETTERS = {"k": 10**3, "K": 10**3, "M": 10**6, "mn": 10**6, "bn": 10**9, "tn": 10**12}
DOZEN = frozenset("dozen dozens doz dozs dz dzs".split())
HUNDRED = frozenset(["hundred", "hundreds"])
_ORDINALS = (
    "third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth sixteenth "
    "seventeenth eighteenth nineteenth"
).split()
ORDINALS = {word: value for value, word in enumerate(_ORDINALS, 3)}
ORDINALS |= {"twentieth": 20, "thirtieth": 30, "fortieth": 40, "fiftieth": 50, "sixtieth": 60, "seventieth": 70}
ORDINALS |= {"eightieth": 80, "ninetieth": 90, "hundredth": 100, "thousandth": 1000, "millionth": 10**6}
ORDINALS |= {"billionth": 10**9, "trillionth": 10**12}
PARTS = ORDINALS | {"half": 2, "quarter": 4}
PARTS |= {f"{word}s": value for word, value in PARTS.items()} | {"halves": 2, "halfs": 2}
RULER_PARTS = frozenset([2, 4, 8, 16, 32, 64])
MINUS = frozenset(["minus", "negative"])
AND = frozenset(["and", "&"])
SUFFIXES = frozenset(["st", "nd", "rd", "th"])
DASHES = frozenset("-‐‑")
SLASHES = frozenset("/⁄")


def starts_number(tokens: Tokens, at: int) -> bool:
    """Return whether a number may begin at this piece; cheap."""
    return tokens.kind[at] in (NUMBER, FRACTION) or tokens.low[at] in STARTS


STARTS = frozenset([*SMALL, *TENS, *HUNDRED, *SCALES, *DOZEN, *PARTS, *MINUS, "a", "an", "point", "couple", "-", "−"])


class Number(NamedTuple):
    """A number read.

    Attributes:
        value: exact.
        end: index after its last piece.
        form: `figures`, `words`, `fraction` (below one and said as a fraction), or `article` ("a", "half").
        repaired: it was written wrongly, and one reading fits.
    """

    value: Fraction
    end: int
    form: str
    repaired: bool = False
