"""The unit table: every unit with its exact size, and how it is said and written; data in `shared/units.toml`."""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from studio import resources

_DIMENSIONS = (
    "length", "area", "mass", "volume", "paper_weight", "time", "temperature", "angle", "percent", "speed", "other",
)  # fmt: skip
SPELLINGS = {"degC": "C", "degF": "F"}
"""Units as the document writes them -> as the reader writes them."""


@dataclass(frozen=True)
class Unit:
    """A unit of measurement.

    Attributes:
        name: its symbol where the document has one, else its English name.
        dimension: length, area, mass, volume, paper_weight, time, temperature, angle, percent, speed, other.
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
            unit = found.by_name[name] = Unit(name, dimension, Fraction(row["is"]))
            for words in filter(None, row["words"].split(", ")):
                _add_words(found, split_words(words), unit)
            for sign in filter(None, row["signs"].split(", ")):
                found.by_sign[sign] = unit
    return found


def _add_words(found: Table, words: tuple[str, ...], unit: Unit) -> None:
    found.by_words[words] = unit
    found.longest[words[0]] = max(len(words), found.longest.get(words[0], 0))


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
    if here.dimension == "temperature":
        return _from_celsius(_to_celsius(Fraction(value), here.name), there.name)
    return Fraction(value) * here.size / there.size


def _to_celsius(value: Fraction, scale: str) -> Fraction:
    return {"C": value, "F": (value - 32) * Fraction(5, 9), "K": value - Fraction("273.15")}[scale]


def _from_celsius(value: Fraction, scale: str) -> Fraction:
    return {"C": value, "F": value * Fraction(9, 5) + 32, "K": value + Fraction("273.15")}[scale]


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
