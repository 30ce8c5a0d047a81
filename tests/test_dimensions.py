"""What strangers' talk taught: each way of telling an amount, and each dimension beside a value that can be checked."""

from decimal import Decimal
from fractions import Fraction

import pytest
from quantity_lines import told
from spoken import sentences

from studio import quantity
from studio.measures import measures
from studio.model import Catalogue, Product
from studio.quantity import reader
from studio.settings import PublishingChoices


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("shave eighth of an inch off", ["1/8 in length"]),
        ("go in a thirty-second deep", ["1/32 in length implied of=depth"]),
        ("it took two and a half panels", ["5/2 panel count"]),
        ("leave it two hours and five", ["125 min time"]),
        ("that was four hours twenty", ["260 min time"]),
        ("the total is one forty eight point five grams", ["297/2 g mass"]),
        ("the gap is four thou", ["1/250 in length"]),
        ("leave it a full minute", ["1 min time about"]),
        ("leave it a minute and see", ["1 min time"]),
        ("just give me a minute", []),
        ("keep it a good yard off the stove", ["1 yd length about"]),
        ("dry it a whole day", ["1 day time about"]),
        ("it's oak, inch, planed", ["1 in length"]),
    ],
)
def test_fractions_and_hundreds_are_read_as_said(text: str, wanted: list[str]) -> None:
    """A part without its article, minutes after hours, hundreds without the word, and thousandths of an inch."""
    assert [told(found) for found in quantity.read(text)] == wanted  # common practice, no source


@pytest.mark.parametrize("text", ["put one in every corner", "so put fifteen in, till March", "three in each box"])
def test_the_word_in_is_no_inch(text: str) -> None:
    """The word "in" after a number in words is a place, not a unit."""
    assert all(found.unit != "in" for found in quantity.read(text))


@pytest.mark.parametrize("text", ["needle twelve", "number six", "shade 40", "size 8", "cone six"])
def test_the_number_of_a_name_is_no_amount(text: str) -> None:
    """The number of a needle, a shade, a size or a cone is a name."""
    (found,) = quantity.read(f"take the {text}, please")
    assert found.kind == "name_number"


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("forty, fifty degrees celsius", ["40 to 50 C temperature_range"]),
        ("it's eight degrees, maybe nine, in here", ["8 to 9 degree temperature_range or=C,F"]),
        ("let it hang twenty, thirty centimetres", ["20 to 30 cm length_range"]),
        ("two hours, three.", ["2 to 3 h time_range"]),
        ("two, three, four inches", ["2 in length", "3 in length", "4 in length"]),
        ("the bands are forty, twenty centimetres", ["40 cm length", "20 cm length"]),
    ],
)
def test_a_second_number_that_is_a_little_more_makes_a_range(text: str, wanted: list[str]) -> None:
    """Two numbers with only a comma between are a range where the second is a little more and no list is told."""
    found = [told(one) for one in quantity.read(text)]
    assert [one.replace(" implied", "") for one in found] == [one.replace(" implied", "") for one in wanted]


@pytest.mark.parametrize("text", ["press it and count to twenty", "count twenty, and let go"])
def test_counting_aloud_is_a_time(text: str) -> None:
    """To count to twenty is to wait about twenty seconds, and it is asked."""
    assert [told(one) for one in quantity.read(text)] == ["20 s time implied"]


@pytest.mark.parametrize(
    ("text", "unit", "kind"),
    [
        ("ten grams per litre", "g/l", "concentration"),
        ("fourteen threads per inch", "tpi", "tpi"),
        ("twenty-two gauge wire", "gauge", "gauge"),
        ("a forty mesh screen", "mesh", "mesh"),
        ("sixteen count cloth", "count", "thread_count"),
        ("12 pt card", "pt", "thickness"),
        ("an eight ounce leather", "oz", "thickness"),
        ("eight ounces of milk", "fl oz", "volume"),
    ],
)
def test_each_dimension_is_its_own(text: str, unit: str, kind: str) -> None:
    """What is told in grams a litre, threads an inch, gauge, mesh, count, points or ounces of leather stays that."""
    (found,) = quantity.read(text)
    assert (found.unit, found.kind) == (unit, kind)


@pytest.mark.parametrize(
    ("value", "unit", "dimension", "metric"),
    [
        (8, "oz", "thickness", "3.2 mm"),  # 1/64 in an ounce of leather: common practice, no source; 8/64 in = 3.175 mm
        (12, "pt", "thickness", "0.3 mm"),  # a point of board is 0.001 in: common practice, no source; 0.3048 mm
        (1, "lb", "mass", "453.6 g"),  # 16 CFR 500.19: 453.59237 g
        (1, "fl oz", "volume", "29.6 ml"),  # 16 CFR 500.19: 29.5735295625 ml
    ],
)
def test_what_a_dimension_is_in_metric_agrees_with_published_values(
    value: int, unit: str, dimension: str, metric: str
) -> None:
    """A value in the trade's unit is the metric value that handbooks give, within its rounding."""
    printed = quantity.both((Fraction(value),), unit, dimension)[0].removeprefix("about ")
    shown, wanted = (Decimal(text.split()[0]) for text in (printed, metric))
    assert printed.split()[1] == metric.split()[1]
    assert abs(shown - wanted) <= Decimal("0.5")  # what is printed is rounded as the trade rounds


DISH = Product(code="D1", name="Low Dish 10 inch", price=Decimal("9.00"), currency="USD", size="10 in")


def heard(text: str, *products: Product) -> list[str]:
    """Return values, unit and an open state of each measure in a talk."""
    found = measures(sentences(text), (), Catalogue(products=products), PublishingChoices())
    return [
        " x ".join(map(str, one.values)) + f" {one.unit}" + ("" if one.state == "confirmed" else " ask")
        for one in found
    ]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("I use the ten inch here.", []),
        ("It's ten inches high.", ["10 in"]),
        ("I have four pounds of clay.", ["4 lb"]),
        ("That took four pounds.", ["4 lb"]),
        ("With the code it's ten percent on everything.", []),
        ("It says three. Three minutes, then.", ["3 min ask", "3 min"]),
        ("It dries in four minutes. At home it says six.", ["4 min", "6 min ask"]),
        ("The bath is at 60 degrees celsius. Don't go over seventy.", ["60 degC", "70 degC ask"]),
        ("Don't take it past thirty degrees.", ["30 degF ask"]),
    ],
)
def test_what_a_talk_leaves_unsaid_is_taken_from_around_and_asked(text: str, wanted: list[str]) -> None:
    """An amount that names a row is none, pounds are a weight where prices are in dollars, carried units are asked."""
    assert heard(text, DISH) == wanted


@pytest.mark.parametrize(
    ("text", "of"),
    [
        ("The borders are two inches.", "borders"),
        ("Forty grams of cold water.", "cold water"),
        ("On the board, heel first, it's the best part, forty minutes.", None),
        ("So you take your cloth, wait, ten minutes.", None),
    ],
)
def test_what_is_measured_is_a_noun_of_the_talk_or_nothing(text: str, of: str | None) -> None:
    """A measure is of a noun that stands with it; an aside between commas names nothing, and no row lends its name."""
    (found,) = measures(sentences(text), (), Catalogue(), PublishingChoices())
    assert found.of == of  # common practice, no source


def test_a_text_is_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same words asked for again, by whatever room, are not read again, and no room changes another's finds."""
    seen: list[int] = []
    scan = reader.scan
    monkeypatch.setattr(reader, "scan", lambda tokens, currency: seen.append(1) or scan(tokens, currency))
    text = "cut it at four and one quarter inches, and no more than that"
    first = quantity.amounts_of(text)
    first.found[0].unit = "mm"
    assert quantity.read(text)[0].unit == "in"
    assert len(seen) == 1


@pytest.mark.parametrize(
    "text", ["Square it up to eight and a half inches.", "draw an eight and a half inch box on it"]
)
def test_a_length_to_which_something_is_squared_is_two_sides(text: str) -> None:
    """The side of a square that is squared up to, or of a box that is drawn, is a size (common practice, no source)."""
    (found,) = quantity.read(text)
    assert (found.kind, [str(value) for value in found.values], found.unit) == ("size", ["17/2", "17/2"], "in")
