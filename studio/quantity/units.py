"""Every unit with its exact size, how it is said and written (`shared/units.toml`), and which is named at a place."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from studio import resources
from studio.quantity.tokens import END, FRACTION, NUMBER, SIGN, WORD, Tokens
from studio.quantity.words import words

_DIMENSIONS = (
    "length", "area", "mass", "volume", "paper_weight", "time", "temperature", "angle", "percent", "concentration",
    "thread_count", "speed", "other", "single",
)  # fmt: skip
SPELLINGS = {"degC": "C", "degF": "F"}
"""Units as the document writes them -> as the reader writes them."""


@dataclass(frozen=True)
class Unit:
    """A unit of measurement.

    Attributes:
        name: its symbol where the document has one, else its English name.
        dimension: one of the tables of `shared/units.toml`; that of a `single` one is its own name.
        size: its exact size in the base unit of the dimension (mm, mm², g, ml, g/m², s).
    """

    name: str
    dimension: str
    size: Fraction


@dataclass(frozen=True)
class Table:
    """All units, and the ways to find them."""

    by_name: dict[str, Unit]
    by_words: dict[tuple[str, ...], Unit]
    """Lower-case words of a name -> unit."""
    by_sign: dict[str, Unit]
    """A sign exactly as written -> unit."""
    longest: dict[str, int]
    """First word of a name -> how many words the longest name has that begins with it."""


def split_words(phrase: str) -> tuple[str, ...]:
    """Split a unit's name as the tokeniser would."""
    return tuple(phrase.replace("/", " / ").split())


@cache
def table() -> Table:
    """Return the unit table; built once."""
    found = Table({}, {}, {}, {})
    for dimension in _DIMENSIONS:
        for name, row in resources.table("units.toml")[dimension].items():
            known = Unit(name, name if dimension == "single" else dimension, Fraction(row["is"]))
            found.by_name[name] = known
            for said in map(split_words, filter(None, row["words"].split(", "))):
                found.by_words[said] = known
                found.longest[said[0]] = max(len(said), found.longest.get(said[0], 0))
            found.by_sign.update(dict.fromkeys(filter(None, row["signs"].split(", ")), known))
    return found


def unit(name: str) -> Unit:
    """Return the unit of this name, sign or word ("in", "inches", "degC").

    Raises:
        KeyError: there is no such unit.
    """
    units = table()
    name = SPELLINGS.get(name, name)
    found = units.by_name.get(name) or units.by_sign.get(name) or units.by_words.get(split_words(name.lower()))
    if found is None:
        raise KeyError(name)
    return found


def to(value: Fraction | int, source: str, target: str) -> Fraction:
    """Convert exactly.

    Args:
        value: how many of `source`.
        source: unit that the value is in.
        target: unit wanted, of the same dimension.

    Raises:
        KeyError: an unknown unit.
        ValueError: units of different dimensions.
    """
    here, there = unit(source), unit(target)
    if here.dimension != there.dimension or here.dimension == "other":
        raise ValueError(f"{source} and {target} do not measure the same.")
    (factor, zero), (other, origin) = _SCALES.get(here.name, (1, 0)), _SCALES.get(there.name, (1, 0))
    if here.dimension == "temperature":
        return (Fraction(value) - zero) * factor / other + origin
    return Fraction(value) * here.size / there.size


_SCALES: dict[str, tuple[Fraction | int, Fraction | int]] = {
    "F": (Fraction(5, 9), Fraction(32)),
    "K": (Fraction(1), Fraction("273.15")),
}
"""Scale -> degrees Celsius in one of its degrees, and what it shows where Celsius shows 0 (SI Brochure)."""


@cache
def counted() -> dict[str, str]:
    """Return the nouns of counted things: singular or plural -> singular."""
    rows = resources.table("units.toml")["counted"]
    found: dict[str, str] = {}
    for noun in rows["nouns"].split():
        found[noun] = found[_plural(noun, rows["irregular"])] = noun
    return found


def _plural(noun: str, irregular: dict[str, str]) -> str:
    if noun in irregular:
        return irregular[noun]
    if noun.endswith(("s", "x", "ch", "sh")):
        return f"{noun}es"
    return f"{noun[:-1]}ies" if noun.endswith("y") and noun[-2] not in "aeiou" else f"{noun}s"


@cache
def paper_sizes() -> dict[str, tuple[Fraction, ...]]:
    """Return ISO sheet sizes in millimetres, short side first, by their names."""
    return {name: tuple(map(Fraction, size)) for name, size in resources.table("units.toml")["paper_size"].items()}


@cache
def basis_areas() -> dict[str, Fraction]:
    """Return the basis area in square inches by grade of paper."""
    rows = resources.table("units.toml")["basis"]
    return {grade: Fraction(size[0]) * Fraction(size[1]) for grade, size in rows.items()}


def gsm(pounds: Fraction | int, grade: str) -> Fraction:
    """Return the weight in g/m² of a paper sold as so many pounds a ream of 500 sheets of its grade.

    Raises:
        KeyError: a grade without a basis size.
    """
    sheet_mm2 = basis_areas()[grade] * unit("square inch").size
    return Fraction(pounds) * unit("lb").size / 500 / (sheet_mm2 / 1_000_000)


# --- the unit that is named at a place --------------------------------------------------------------------------------

MIL = Unit("mil", "length", Fraction(1))
"""Said for millimetres and for millilitres: told apart from the talk around."""


def unit_at(t: Tokens, at: int) -> tuple[Unit, int] | None:
    """Return the unit that is named at this piece and the index after its name; the longest name wins."""
    low = t.low[at]
    if low in ("mil", "mils") or (low == "mill" and at and t.starts_number(at - 1)):
        return MIL, at + 1
    best = _words_at(t, at, table().longest.get(low, 0))
    sign = _sign_at(t, at)
    return sign if sign is not None and (best is None or sign[1] > best[1]) else best


def _words_at(t: Tokens, at: int, longest: int) -> tuple[Unit, int] | None:
    """Read a name in words, over the dots and hyphens in "sq. ft." and "square-foot"."""
    said: list[str] = []
    best, place = None, at
    while len(said) < longest and place < t.count:
        place += bool(said) and t.raw[place] in ".-" and t.kind[place + 1] == WORD and t.glued(place)
        said.append(t.low[place])
        place += 1
        unit = table().by_words.get(tuple(said))
        best = (unit, place) if unit is not None else best
    return best


def _sign_at(t: Tokens, at: int) -> tuple[Unit, int] | None:
    last = at + 1
    while last < at + 4 and t.glued(last) and last < t.count:
        last += 1
    for end in range(last, at, -1):
        unit = table().by_sign.get(t.text[t.start[at] : t.end[end - 1]])
        if unit is not None and _sign_fits(t, at, end):
            return unit, end
    return None


def _sign_fits(t: Tokens, at: int, end: int) -> bool:
    """Return whether a sign that may be a word, a letter or a quotation mark is a unit here."""
    raw, glued = t.raw[at], t.glued(at)
    if end < t.count and t.glued(end) and t.kind[end] in (WORD, NUMBER) and t.kind[at] == WORD:
        return False
    if raw == "in":
        written = t.kind[at - 1] in (NUMBER, FRACTION)
        return glued or (written and (t.kind[end] in (END, SIGN) or t.low[end] in words("context", "after_inch_sign")))
    if raw in ('"', "”", "'"):
        return not _in_quotes(t, at) if raw == '"' else glued
    if raw in ("C", "F"):
        return glued or ((t.kind[end] != WORD or t.raw[end].islower()) and len(t.raw[at - 1]) > 1)
    if raw in _LETTERS_NEVER_APART and end == at + 1:
        return glued
    if raw == "s":
        return glued or len(t.raw[at - 1]) < 4
    return raw != "t" or t.kind[at - 1] == NUMBER


_LETTERS_NEVER_APART = frozenset(["K", "B", "V", "W", "J", "N", "M", "ct"])


def _in_quotes(t: Tokens, at: int) -> bool:
    """Return whether a quotation was opened a little before and this mark closes it."""
    marks = [place for place in range(max(0, at - _QUOTED), at) if t.raw[place] == '"']
    inches = [place for place in marks if t.glued(place) and t.kind[place - 1] in (NUMBER, FRACTION)]
    return (len(marks) - len(inches)) % 2 == 1


_QUOTED = 40
