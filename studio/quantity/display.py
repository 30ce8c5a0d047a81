"""Sizes, weights and the like as the trade prints them, in inches and in millimetres, rounding said aloud ("about")."""

from collections.abc import Sequence
from fractions import Fraction
from math import floor, inf

from studio.quantity import units

RULER = 16
"""The finest fraction of an inch that is printed; a ruler shows no finer one."""
_FRACTIONS = frozenset(
    ["in", "ft", "yd", "mi", "lb", "oz", "tsp", "tbsp", "cup", "pt", "quart", "gal", "fl oz", "stone", "mile"]
)
_RULED = frozenset(["in", "yd", "tsp"])
_KITCHEN = (2, 3, 4, 8)
_METRIC = frozenset("mm cm dm m km µm nm g kg mg µg t ml cl dl l µl gsm C m2 km2 degC".split())
_SYMBOL = {"C": "°C", "F": "°F", "degC": "°C", "degF": "°F", "degree": "°", "%": "%", "K": "K"}
_TIGHT = frozenset(["°", "%"])
_PLACES = {"mm": 1, "cm": 1, "m": 2, "km": 2, "g": 1, "kg": 2, "ml": 1, "l": 2, "degC": 0, "degF": 0, "C": 0, "F": 0}

Printed = tuple[str, bool]
"""A number as printed, and whether it was rounded."""


def round_to(value: Fraction, step: Fraction) -> Fraction:
    """Round to the nearest step, halves away from zero."""
    size = floor(abs(value) / step + Fraction(1, 2)) * step
    return size if value >= 0 else -size


def mixed(value: Fraction) -> str:
    """Print a fraction as a mixed number: "5 3/4"."""
    sign, value = ("-" if value < 0 else ""), abs(value)
    whole, rest = divmod(value.numerator, value.denominator)
    part = f"{rest}/{value.denominator}" if rest else ""
    return sign + (f"{whole} {part}".strip() if whole or not part else part)


def decimal(value: Fraction, places: int) -> Printed:
    """Print a decimal with at most so many places, and none that says nothing."""
    rounded = round_to(value, Fraction(1, 10**places))
    whole, rest = divmod(abs(rounded.numerator) * 10**places // rounded.denominator, 10**places)
    after = f"{rest:0{places}d}".rstrip("0") if places else ""
    text = f"{'-' if rounded < 0 else ''}{whole:,}{'.' if after else ''}{after}"
    return text, rounded != value


def number(value: Fraction, unit: str) -> Printed:
    """Print a value of a unit: a mixed number for inches, feet, ounces and spoons, a decimal for the rest."""
    if unit not in _FRACTIONS:
        exact = next((places for places in range(4) if (value * 10**places).denominator == 1), None)
        return decimal(value, _PLACES.get(unit, 2) if exact is None else exact)
    if unit == "in" or value.denominator in (2, 4, 8, 16):
        rounded = round_to(value, Fraction(1, RULER))
        if rounded == 0 != value:
            return decimal(value, 3)[0], False
        return mixed(rounded), rounded != value
    if value.denominator in (1, *_KITCHEN):
        return mixed(value), False
    return decimal(value, 1 if abs(value) >= 1 else 2)


def symbol(unit: str, value: Fraction = Fraction(2)) -> str:
    """Return how a unit is printed after a value: "in", "°C", "lb cover", "sheets"."""
    if unit.startswith("lb_"):
        return f"lb {unit.removeprefix('lb_')}"
    if unit in _SYMBOL:
        return _SYMBOL[unit]
    known = unit in units.table().by_name
    if unit in ("day", "week", "month", "year", "cup", "quart", "piece", "item", "thread", "stitch") or not known:
        return unit if value == 1 or not unit else _plural(unit)
    return unit


def _plural(noun: str) -> str:
    plurals = [plural for plural, single in units.counted().items() if single == noun and plural != noun]
    return plurals[0] if plurals else noun if noun.endswith("s") else f"{noun}s"


def show(values: Sequence[Fraction], unit: str, dimension: str = "") -> str:
    """Print values of one unit: "5 3/4 x 4 in", "38 to 42 °C", "2:1", "12 sheets", "about 3 11/16 in".

    Args:
        values: one value; the sides of a size; the ends of a range.
        unit: a unit's name, or the noun of a counted thing.
        dimension: such as "size", "length_range" or "ratio".
    """
    parts = [number(value, unit) for value in values]
    about = "about " if any(rounded for _, rounded in parts) else ""
    return about + _joined([text for text, _ in parts], unit, dimension, values)


def _joined(texts: Sequence[str], unit: str, dimension: str, values: Sequence[Fraction]) -> str:
    between = " to " if dimension.endswith("_range") else ":" if dimension == "ratio" else " x "
    after = "" if dimension == "ratio" else symbol(unit, values[-1] if len(values) == 1 else Fraction(2))
    gap = "" if after in _TIGHT else " "
    return f"{between.join(texts)}{gap}{after}".rstrip()


def show_length(value: Fraction, unit: str, target: str = "") -> str:
    """Print one length in its own unit or another, rounded as the trade rounds.

    Args:
        value: how many of `unit`.
        unit: unit that the value is in.
        target: unit wanted; empty for its own.
    """
    if not target or target == unit:
        return show((value,), unit)
    return _printed((units.to(value, unit, target),), target, "length")


def both(values: Sequence[Fraction], unit: str, dimension: str) -> tuple[str, str]:
    """Print the same in metric and in imperial units; both empty where a thing has no such pair (times, counts)."""
    base = dimension.removesuffix("_range")
    own = show(values, unit, dimension)
    target = _other_unit(values, unit, base)
    if not target:
        return "", ""
    converted = tuple(_converted(value, unit, target, base) for value in values)
    other = _printed(converted, target, dimension)
    return (own, other) if unit in _METRIC else (other, own)


_THICK = {"oz": Fraction(1, 64), "pt": Fraction(1, 1000)}
"""Inches of thickness in an ounce of leather and in a point of board (common practice, no source)."""


def _converted(value: Fraction, unit: str, target: str, dimension: str) -> Fraction:
    if dimension == "thickness":
        return units.to(value * _THICK[unit], "in", target)
    if target.startswith("lb_"):
        return value / units.gsm(1, target.removeprefix("lb_"))
    if unit.startswith("lb_"):
        return units.gsm(value, unit.removeprefix("lb_"))
    return units.to(value, unit, target)


def _other_unit(values: Sequence[Fraction], unit: str, dimension: str) -> str:
    """Return the unit of the other system that fits the largest of the values."""
    if unit == "gsm":
        return "lb_cover" if max(values) >= HEAVY_GSM else "lb_text"
    if unit.startswith("lb_"):
        return "gsm" if unit.removeprefix("lb_") in units.basis_areas() else ""
    if dimension == "thickness":
        return "mm" if unit in _THICK else ""
    known = units.table().by_name.get(units.SPELLINGS.get(unit, unit))
    if known is None or dimension in ("paper_weight", "count"):
        return ""
    if known.dimension == "temperature":
        return {"C": "degF", "F": "degC"}.get(known.name, "")
    if known.dimension not in ("length", "mass", "volume"):
        return ""
    size = max(abs(value) for value in values) * known.size
    return _ladder(known.dimension, float(size), metric=unit not in _METRIC)


HEAVY_GSM = 150
"""From this weight on a paper is sold as cover (common practice, no source)."""
_LADDERS: dict[tuple[str, bool], tuple[tuple[float, str], ...]] = {
    ("length", True): ((25, "mm"), (2500, "cm"), (1e6, "m"), (inf, "km")),
    ("length", False): ((1830, "in"), (1_600_000, "yd"), (inf, "mi")),
    ("mass", True): ((1000, "g"), (inf, "kg")),
    ("mass", False): ((1000, "oz"), (inf, "lb")),
    ("volume", True): ((1000, "ml"), (inf, "l")),
    ("volume", False): ((10, "tsp"), (1900, "fl oz"), (inf, "gal")),
}
"""Dimension, metric -> the unit that a thing below so many mm, g or ml is printed in."""


def _ladder(dimension: str, size: float, *, metric: bool) -> str:
    return next(unit for limit, unit in _LADDERS[dimension, metric] if size < limit)


def _rounded(value: Fraction, unit: str) -> Fraction:
    """Round to the step of the unit; to two figures where that step is too coarse for a thin thing."""
    near = round_to(value, _step(value, unit))
    if abs(near - value) <= abs(value) * _TOO_FAR:
        return near
    return round_to(value, Fraction(1, 100)) or value


_TOO_FAR = Fraction(1, 8)


def _step(value: Fraction, unit: str) -> Fraction:
    """Return the step that a converted value is rounded to, so that no false precision is printed."""
    if unit == "mm":
        return Fraction(1, 2) if abs(value) < 5 else Fraction(1)
    if unit == "yd" and abs(value) >= 10:
        return Fraction(1)
    if unit in ("in", "yd", "tsp"):
        return {"in": Fraction(1, RULER), "yd": Fraction(1, 8), "tsp": Fraction(1, 4)}[unit]
    if unit in ("g", "ml"):
        return Fraction(1) if abs(value) >= 20 else Fraction(1, 2)
    if unit == "gsm" or unit.startswith("lb_") or unit in ("degC", "degF"):
        return Fraction(1)
    if (unit in ("m", "kg", "l") and abs(value) < 10) or abs(value) < 1:
        return Fraction(1, 100)
    return Fraction(1, 10)


def _printed(values: Sequence[Fraction], unit: str, dimension: str) -> str:
    """Print converted values, with "about" where a step of rounding changed one."""
    steps = [_rounded(value, unit) for value in values]
    about = "about " if any(step != value for step, value in zip(steps, values, strict=True)) else ""
    printed = [mixed(step) if unit in _RULED and step.denominator <= RULER else decimal(step, 3)[0] for step in steps]
    return about + _joined(printed, unit, dimension, steps)
