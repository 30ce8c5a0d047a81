"""The words of numbers, from `shared/quantities.toml`, and what a number read is."""

from fractions import Fraction
from typing import Any, NamedTuple

from studio import resources

_ROWS: dict[str, Any] = resources.table("quantities.toml")["numbers"]
SMALL: dict[str, int] = {word: value for value, word in enumerate(_ROWS["small"].split())} | _ROWS["also"]
TENS = {word: 10 * value for value, word in enumerate(_ROWS["tens"].split(), 2)}
SCALES: dict[str, int] = _ROWS["scales"] | {f"{word}s": size for word, size in _ROWS["scales"].items()}
LETTERS: dict[str, int] = _ROWS["letters"]
DOZEN = frozenset(_ROWS["dozen"].split())
HUNDRED = frozenset(["hundred", "hundreds"])
UNITS_OF_TEN = _ROWS["ordinals"].split()
ORDINALS = {word: value for value, word in enumerate(UNITS_OF_TEN, 3)}
ORDINALS |= {f"{word[:-1]}ieth": value for word, value in TENS.items()}
ORDINALS |= {f"{word}th": value for word, value in SCALES.items() if word[-1] in "dn"} | {"hundredth": 100}
PARTS = ORDINALS | {"half": 2, "quarter": 4}
PARTS |= {f"{word}s": value for word, value in PARTS.items()} | {"halves": 2}
RULER_PARTS = frozenset([2, 4, 8, 16, 32, 64])
MINUS = frozenset(_ROWS["minus"].split())
AND = frozenset(["and", "&"])
SUFFIXES = frozenset("st nd rd th ths nds rds".split())
DASHES = frozenset("-‐‑")
SLASHES = frozenset("/⁄")
COUNTING = frozenset([*SMALL, *TENS, *HUNDRED])
STARTS = COUNTING | {*SCALES, *DOZEN, *PARTS, *MINUS, "a", "an", "point", "couple", "-", "−"}
"""The words that a number may begin with."""


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

    @property
    def whole(self) -> bool:
        """Whether it is a whole number that was not only an article."""
        return self.value.denominator == 1 and self.form != "article"
