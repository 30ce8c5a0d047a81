"""Text cut into words, numbers and signs, each with its place, so that "5¼", "12x12" and "300gsm" come apart."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from studio.quantity.number_words import COUNTING, STARTS

VULGAR = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5),
    "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅐": (1, 7), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
    "⅑": (1, 9), "⅒": (1, 10), "↉": (0, 3),
}  # fmt: skip
NUMBER, FRACTION, WORD, SIGN, END = "n", "v", "w", "s", ""
LONGEST_NUMBER = 40
"""Digits beyond this are an identifier, not an amount."""
_THIN = "\u202f\u00a0\u2009"
_SCAN = re.compile(
    rf"(?P<n>\d{{1,3}}(?:,\d{{3}})+(?![\d])(?:\.\d+)?"
    rf"|\d{{1,3}}(?:[{_THIN}]\d{{3}})+(?!\d)(?:\.\d+)?"
    r"|\d{1,3}(?: 000)+(?![\d,.])|\d+(?:\.\d+)?(?:[eE][+-]?\d{1,2}(?![\w.]))?|(?<![\w.])\.\d+)"
    rf"|(?P<v>[{''.join(VULGAR)}])"
    r"|(?P<w>(?<=\w)['’]s\b|[^\W\d_]+(?:['’][^\W\d_]+)*)"
    r"|(?P<s>\S)"
)
_PADDING = 8


@dataclass(slots=True)
class Tokens:
    """The pieces of a text in parallel lists; past the end stand empty ones, so that looking ahead needs no check."""

    text: str
    raw: list[str] = field(default_factory=list)
    low: list[str] = field(default_factory=list)
    kind: list[str] = field(default_factory=list)
    start: list[int] = field(default_factory=list)
    end: list[int] = field(default_factory=list)
    count: int = 0

    def glued(self, index: int) -> bool:
        """Return whether no space stands before the piece."""
        return index > 0 and self.start[index] == self.end[index - 1]

    def spaced(self, index: int) -> bool:
        """Return whether spaces stand on both sides of the piece."""
        return not self.glued(index) and not self.glued(index + 1)

    def before(self, index: int, back: int = 1) -> str:
        """Return the piece so many places before, in lower case; empty at the start."""
        return self.low[index - back] if index >= back else ""

    def says(self, index: int, *said: str) -> bool:
        """Return whether just these words stand at a place."""
        return self.low[index : index + len(said)] == [*said]

    def near(self, first: int, last: int, reach: int) -> list[str]:
        """Return the words so many pieces before and after a stretch, without "'s"."""
        around = self.low[max(0, first - reach) : last + reach]
        return [word.removesuffix("'s") for word in around]

    def starts_number(self, at: int) -> bool:
        """Return whether a number may begin at this piece; cheap."""
        return self.kind[at] in (NUMBER, FRACTION) or self.low[at] in STARTS


def _pieces(text: str) -> Iterator[tuple[str, int, int]]:
    """Give kind and place of every piece; "'s" is cut off a number: "sixty's too wide"."""
    for match in _SCAN.finditer(text):
        kind, start, end = match.lastgroup or SIGN, match.start(), match.end()
        if kind == WORD and text[end - 2 : end] in ("'s", "’s") and text[start : end - 2].lower() in _CUT_OFF:
            yield kind, start, end - 2
            start = end - 2
        yield kind, start, end


_CUT_OFF = COUNTING - {"zero", "one", "nought", "naught"}


def cut(text: str) -> Tokens:
    """Cut a text into its pieces; linear in its length."""
    t = Tokens(text)
    for kind, start, end in _pieces(text):
        t.raw.append(text[start:end])
        t.kind.append(kind)
        t.start.append(start)
        t.end.append(end)
    t.count = len(t.raw)
    t.raw += [""] * _PADDING
    t.kind += [END] * _PADDING
    t.start += [len(text) + 1] * _PADDING
    t.end += [len(text) + 1] * _PADDING
    t.low = [piece.lower().replace("’", "'") for piece in t.raw]
    return t
