"""The name of a unit at a place: words, signs, and signs that may be a word, a letter or a quotation mark."""

from fractions import Fraction

from studio.quantity import units
from studio.quantity.number_words import starts_number
from studio.quantity.tokens import END, FRACTION, NUMBER, SIGN, WORD, Tokens
from studio.quantity.units import Unit

_IN_FOLLOWERS = frozenset("by x wide long tall high deep thick across square squares and or to of from each".split())
_LETTERS_NEVER_APART = frozenset(["C", "F", "K", "B", "V", "W", "J", "N", "M", "ct"])
MIL = Unit("mil", "length", Fraction(1))
"""Said for millimetres and for millilitres: told apart from the talk around."""


def unit_at(tokens: Tokens, at: int) -> tuple[Unit, int] | None:
    """Return the unit that is named at this piece and the index after its name; the longest name wins."""
    low = tokens.low[at]
    if low in ("mil", "mils") or (low == "mill" and starts_number(tokens, at - 1) and at):
        return MIL, at + 1
    table = units.table()
    best: tuple[Unit, int] | None = None
    longest = table.longest.get(low, 0)
    if longest:
        said, ends = _joined_words(tokens, at, longest)
        for length in range(len(said), 0, -1):
            unit = table.by_words.get(tuple(said[:length]))
            if unit is not None:
                best = unit, ends[length - 1]
                break
    sign = _sign_at(tokens, at)
    return sign if sign is not None and (best is None or sign[1] > best[1]) else best


def _joined_words(tokens: Tokens, at: int, longest: int) -> tuple[list[str], list[int]]:
    """Return the next words, over the dots and hyphens in "sq. ft." and "square-foot", and where each ends."""
    said, ends = [tokens.low[at]], [at + 1]
    place = at + 1
    while len(said) < longest and place < tokens.count:
        if tokens.raw[place] in ".-" and tokens.kind[place + 1] == WORD and tokens.glued(place):
            place += 1
        said.append(tokens.low[place])
        place += 1
        ends.append(place)
    return said, ends


def _sign_at(tokens: Tokens, at: int) -> tuple[Unit, int] | None:
    by_sign = units.table().by_sign
    length = 1
    while length < 4 and tokens.glued(at + length) and at + length < tokens.count:
        length += 1
    for end in range(at + length, at, -1):
        unit = by_sign.get(tokens.text[tokens.start[at] : tokens.end[end - 1]])
        if unit is not None and _sign_fits(tokens, at, end):
            return unit, end
    return None


def _sign_fits(tokens: Tokens, at: int, end: int) -> bool:
    """Return whether a sign that may be a word, a letter or a quotation mark is a unit here."""
    raw, glued = tokens.raw[at], tokens.glued(at)
    if end < tokens.count and tokens.glued(end) and tokens.kind[end] in (WORD, NUMBER) and tokens.kind[at] == WORD:
        return False
    if raw == "in" and tokens.low[end] in ("from", "to", "at") and not glued:
        return False
    if raw == "in":
        return glued or tokens.kind[end] in (END, SIGN) or tokens.low[end] in _IN_FOLLOWERS
    if raw in ('"', "”", "'"):
        return not _in_quotes(tokens, at) if raw == '"' else glued
    if raw in ("C", "F"):
        return glued or ((tokens.kind[end] != WORD or tokens.raw[end].islower()) and len(tokens.raw[at - 1]) > 1)
    if raw in _LETTERS_NEVER_APART and end == at + 1:
        return glued
    if raw == "s":
        return glued or len(tokens.raw[at - 1]) < 4
    return raw != "t" or tokens.kind[at - 1] == NUMBER


def _in_quotes(tokens: Tokens, at: int) -> bool:
    """Return whether a quotation was opened a little before and this mark closes it."""
    opened = False
    for place in range(max(0, at - _QUOTED), at):
        if tokens.raw[place] == '"' and not (tokens.glued(place) and tokens.kind[place - 1] in (NUMBER, FRACTION)):
            opened = not opened
    return opened


_QUOTED = 40
