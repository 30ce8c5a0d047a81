"""Conversions and printing of quantities, against the tables of law, trade and CLDR."""

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from babel.numbers import format_currency
from hypothesis import given
from hypothesis import strategies as st

from studio import quantity
from studio.quantity import units

REGISTRY = pint.UnitRegistry(non_int_type=Fraction)
PINT = {
    "in": "inch", "ft": "foot", "yd": "yard", "mi": "mile", "mm": "millimeter", "cm": "centimeter", "m": "meter",
    "km": "kilometer", "g": "gram", "kg": "kilogram", "mg": "milligram", "oz": "ounce", "lb": "pound",
    "t": "metric_ton",
    "ton": "short_ton", "stone": "stone", "carat": "carat", "ml": "milliliter", "cl": "centiliter", "dl": "deciliter",
    "l": "liter", "fl oz": "fluid_ounce", "tsp": "teaspoon", "tbsp": "tablespoon", "cup": "cup", "pt": "pint",
    "quart": "quart", "gal": "gallon", "m2": "meter**2", "km2": "kilometer**2", "square inch": "inch**2",
    "square foot": "foot**2", "square yard": "yard**2", "square mile": "mile**2", "hectare": "hectare",
    "cubic inch": "inch**3", "cubic foot": "foot**3", "cubic metre": "meter**3", "cubic centimetre": "centimeter**3",
    "s": "second", "min": "minute", "h": "hour", "day": "day", "week": "week", "nautical mile": "nautical_mile",
}  # fmt: skip
BASE = {"length": "millimeter", "area": "millimeter**2", "mass": "gram", "volume": "milliliter", "time": "second"}


@pytest.mark.parametrize("name", sorted(PINT))
def test_every_unit_has_the_size_that_pint_gives_it(name: str) -> None:
    """The table agrees with pint 0.25 to every digit, where pint counts in fractions."""
    unit = units.unit(name)
    wanted = REGISTRY.Quantity(Fraction(1), PINT[name]).to(BASE[unit.dimension]).magnitude
    assert unit.size == Fraction(wanted)


@pytest.mark.parametrize(
    ("value", "source", "target", "wanted"),
    [
        (1, "in", "mm", "25.4"),  # 16 CFR 500.19
        (1, "ft", "mm", "304.8"),  # 16 CFR 500.19
        (1, "yd", "m", "0.9144"),  # 16 CFR 500.19
        (1, "square inch", "square centimetre", "6.4516"),  # 16 CFR 500.19
        (Fraction(17, 4), "in", "mm", "107.95"),
        (12, "in", "mm", "304.8"),
        (100, "degC", "degF", "212"),
        (350, "degF", "degC", "1590/9"),
    ],
)
def test_conversions_are_exact(value: Fraction, source: str, target: str, wanted: str) -> None:
    """A conversion is a fraction, never a float."""
    assert quantity.to(value, source, target) == Fraction(wanted)


@pytest.mark.parametrize(
    ("unit", "base", "six_figures"),
    [
        ("lb", "g", 453.592), ("oz", "g", 28.3495), ("fl oz", "ml", 29.5735), ("pt", "ml", 473.177),
        ("gal", "l", 3.78541),
    ],
)  # fmt: skip
def test_sizes_agree_with_the_regulation(unit: str, base: str, six_figures: float) -> None:
    """The table agrees with 16 CFR 500.19, whose last figure is rounded up for the pint (473.176473 ml)."""
    assert float(quantity.to(1, unit, base)) == pytest.approx(six_figures, rel=3e-6)


@given(st.fractions(-1000, 1000, max_denominator=64), st.sampled_from(["in", "ft", "yd", "mm", "cm", "m"]))
def test_there_and_back_is_the_same(value: Fraction, unit: str) -> None:
    """Converting and converting back loses nothing."""
    assert quantity.to(quantity.to(value, unit, "mm"), "mm", unit) == value


def test_units_of_different_dimensions_are_refused() -> None:
    """Inches are never turned into grams, and an unknown unit is named."""
    with pytest.raises(ValueError, match="do not measure the same"):
        quantity.to(1, "in", "g")
    with pytest.raises(KeyError, match="cubit"):
        quantity.to(1, "cubit", "in")


@pytest.mark.parametrize(
    ("pounds", "grade", "grams"),
    [
        (1, "cover", "2.704"), (1, "text", "1.480"), (1, "bond", "3.760"), (1, "index", "1.808"),
        (20, "bond", "75.2"), (80, "text", "118.4"), (65, "cover", "175.8"), (80, "cover", "216.3"),
        (110, "cover", "297.5"),
        (90, "index", "162.7"), (110, "index", "198.9"), (50, "text", "74.0"), (90, "offset", "133.2"),
        (1, "tag", "1.627"),
        (1, "bristol", "2.193"),
    ],
)  # fmt: skip
def test_paper_weights_follow_the_basis_area(pounds: int, grade: str, grams: str) -> None:
    """Pounds a ream become g/m² by the basis size of the grade (basis sizes: a paper merchant's page; computed)."""
    places = len(grams.split(".")[1])
    assert f"{float(quantity.gsm(pounds, grade)):.{places}f}" == grams


def test_the_same_pounds_are_two_papers() -> None:
    """The words "110 lb" name 199 g/m² as index and 298 as cover, so the grade is asked."""
    (found,) = quantity.read("110 pound cardstock")
    assert {"lb_cover", "lb_index"} <= set(found.ambiguous)


@pytest.mark.parametrize(
    ("said", "metric", "imperial"),
    [
        ("four and a quarter by five and a half inches", "about 10.8 x 14 cm", "4 1/4 x 5 1/2 in"),
        ("twelve by twelve inches", "about 30.5 x 30.5 cm", "12 x 12 in"),  # not 30 x 30
        ("a quarter inch", "about 6 mm", "1/4 in"),
        ("an eighth of an inch", "about 3 mm", "1/8 in"),
        ("ten inches", "25.4 cm", "10 in"),
        ("148 by 210 mm", "148 x 210 mm", "about 5 13/16 x 8 1/4 in"),
        ("2.5 cm", "2.5 cm", "about 1 in"),
        ("6.4 metres", "6.4 m", "about 7 yd"),
        ("three eighths of a yard", "about 34.3 cm", "3/8 yd"),
        ("400 grams", "400 g", "about 14.1 oz"),
        ("half a teaspoon", "about 2.5 ml", "1/2 tsp"),
        ("a hundred and fifty degrees celsius", "150 °C", "302 °F"),
        ("350 degrees fahrenheit", "about 177 °C", "350 °F"),
        ("between 38 and 42 degrees celsius", "38 to 42 °C", "about 100 to 108 °F"),
        ("300 gsm", "300 gsm", "about 111 lb cover"),
        ("eighty pound cover", "about 216 gsm", "80 lb cover"),
        ("20 percent", "", ""),
        ("12 sheets", "", ""),
    ],
)
def test_both_systems_are_printed_as_the_trade_does(said: str, metric: str, imperial: str) -> None:
    """Inches in sixteenths at most, mm or cm by size, no false precision, and rounding is said."""
    (found,) = quantity.read(said)
    assert quantity.both(found.exact, found.unit, found.kind) == (metric, imperial)  # common practice, no source


@pytest.mark.parametrize(
    ("values", "unit", "dimension", "wanted"),
    [
        (["23/4", "4"], "in", "size", "5 3/4 x 4 in"),
        (["11/3"], "in", "length", "about 3 11/16 in"),
        (["33/16"], "in", "length", "2 1/16 in"),
        (["65/32"], "in", "length", "about 2 1/16 in"),  # half up
        (["1/100"], "in", "length", "0.01 in"),
        (["4", "6"], "week", "time_range", "4 to 6 weeks"),
        (["2", "1"], "", "ratio", "2:1"),
        (["3"], "%", "percent", "3%"),
        (["1"], "sheet", "count", "1 sheet"),
        (["12"], "leaf", "count", "12 leaves"),
        (["45"], "degree", "angle", "45°"),
        (["-5"], "degC", "temperature", "-5 °C"),
        (["1/3"], "cup", "volume", "1/3 cups"),
    ],
)
def test_values_are_printed_one_way_everywhere(values: list[str], unit: str, dimension: str, wanted: str) -> None:
    """One function prints sizes, ranges, ratios and counts for every output."""
    assert quantity.show([Fraction(value) for value in values], unit, dimension) == wanted  # common practice, no source


@given(st.fractions(Fraction(1, 8), 100, max_denominator=1000))
def test_a_rounded_length_is_never_printed_as_exact(value: Fraction) -> None:
    """What is printed without "about" is the value itself."""
    text = quantity.show_length(value, "in")
    if not text.startswith("about "):
        whole, *part = text.removesuffix(" in").split(" ")
        assert sum((Fraction(piece) for piece in (whole, *part)), Fraction(0)) == value


@pytest.mark.parametrize(
    ("amount", "currency", "locale", "wanted"),
    [
        ("6.5", "GBP", "en_GB", "£6.50"),  # CLDR
        ("1234.5", "EUR", "de_DE", "1.234,50\u00a0€"),  # CLDR
        ("1234.5", "EUR", "fr_FR", "1\u202f234,50\u00a0€"),  # CLDR
        ("1200", "JPY", "ja_JP", "￥1,200"),  # CLDR
        ("20", "USD", "en_US", "$20.00"),  # CLDR
        ("0.125", "GBP", "en_GB", "£0.13"),  # half up
    ],
)
def test_money_is_printed_as_cldr_writes_it(amount: str, currency: str, locale: str, wanted: str) -> None:
    """Sign, place, separators and hundredths are those of the locale."""
    assert quantity.show_money(Decimal(amount), currency, locale) == wanted


@given(
    st.decimals(0, 99999, places=2),
    st.sampled_from(["GBP", "USD", "EUR", "SEK", "JPY"]),
    st.sampled_from(["en_GB", "de_DE", "sv_SE"]),
)
def test_whole_hundredths_are_printed_as_babel_does(amount: Decimal, currency: str, locale: str) -> None:
    """Where nothing is rounded, the print is babel's own."""
    amount = amount.quantize(Decimal(1)) if currency == "JPY" else amount
    assert quantity.show_money(amount, currency, locale) == format_currency(amount, currency, locale=locale)


def test_what_was_understood_can_be_shown() -> None:
    """The rows for a person tell what was heard, both systems, and what was taken for granted."""
    (row,) = quantity.explain("cut it at four, sorry, four and a quarter")
    assert row["value"] == "4 1/4"
    assert row["metric"] == "about 10.8 cm"
    assert "instead of 4" in row["notes"]
