"""Text cut into words, numbers and signs, each with its place, so that "5¼", "12x12" and "300gsm" come apart."""

import re
from dataclasses import dataclass, field

VULGAR = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5),
    "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅐": (1, 7), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
    "⅑": (1, 9), "⅒": (1, 10), "↉": (0, 3),
}  # fmt: skip
NUMBER, FRACTION, WORD, SIGN, END = "n", "v", "w", "s", ""
LONGEST_NUMBER = 40
"""Digits beyond this are an identifier, not an amount."""
_THIN = "\u202f\u00a0\u2009"
_COUNTED = (
    r"\b(?i:two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|twenty|thirty|forty|fifty|sixty|seventy|"
    r"eighty|ninety|hundred)"
)
"""Numbers from which "'s" is cut off: "sixty's too wide"."""
_SCAN = re.compile(
    rf"(?P<n>\d{{1,3}}(?:,\d{{3}})+(?![\d])(?:\.\d+)?|\d{{1,3}}(?:[{_THIN}]\d{{3}})+(?!\d)(?:\.\d+)?"
    r"|\d{1,3}(?: 000)+(?![\d,.])|\d+(?:\.\d+)?(?:[eE][+-]?\d{1,2}(?![\w.]))?|(?<![\w.])\.\d+)"
    rf"|(?P<v>[{''.join(VULGAR)}])"
    rf"|(?P<w>(?:{_COUNTED})(?=['’]s\b)|(?<=\w)['’]s\b|[^\W\d_]+(?:['’][^\W\d_]+)*)"
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


def cut(text: str) -> Tokens:
    """Cut a text into its pieces; linear in its length."""
    tokens = Tokens(text)
    raw, kind, start, end = tokens.raw, tokens.kind, tokens.start, tokens.end
    for match in _SCAN.finditer(text):
        raw.append(match.group())
        kind.append(match.lastgroup or SIGN)
        start.append(match.start())
        end.append(match.end())
    tokens.count = len(raw)
    raw += [""] * _PADDING
    kind += [END] * _PADDING
    start += [len(text) + 1] * _PADDING
    end += [len(text) + 1] * _PADDING
    tokens.low = [piece.lower().replace("’", "'") for piece in raw]
    return tokens
