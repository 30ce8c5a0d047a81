"""The reader of quantities: what makers say, what lists write, and that no text can stall it."""

from fractions import Fraction
from pathlib import Path

import pytest
from counted import EVENLY, growth
from hypothesis import given
from hypothesis import strategies as st
from length import whole_or
from quantity_lines import told

from studio import quantity

FIXTURES = Path(__file__).parent / "fixtures"


def spoken() -> list[tuple[str, list[str]]]:
    """Return the sentences of the fixture with the quantities each is to give."""
    cases: list[tuple[str, list[str]]] = []
    for line in (FIXTURES / "spoken_quantities.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("    "):
            cases[-1][1].append(line.strip())
        elif line and not line.startswith("#"):
            cases.append((line, []))
    return cases


@pytest.mark.parametrize(("sentence", "wanted"), spoken(), ids=[case[0] for case in spoken()])
def test_what_makers_say_is_read_exactly(sentence: str, wanted: list[str]) -> None:
    """Each way to say a size, weight, price or count gives its exact values, unit, kind and marks, and nothing else."""
    assert [told(found) for found in quantity.read(sentence)] == wanted  # common practice, no source


ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
).split()
TENS = "- - twenty thirty forty fifty sixty seventy eighty ninety".split()
PARTS = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth", 32: "thirty-second", 3: "third", 5: "fifth"}


def in_words(number: int, *, hyphen: str = "-") -> str:
    """Return a whole number below a million in English words."""
    if number < 20:
        return ONES[number]
    if number < 100:
        return TENS[number // 10] + (f"{hyphen}{ONES[number % 10]}" if number % 10 else "")
    base, name = (1000, "thousand") if number >= 1000 else (100, "hundred")
    rest = number % base
    joint = " and " if rest < 100 else " "
    more = f"{joint}{in_words(rest, hyphen=hyphen)}" if rest else ""
    return f"{in_words(number // base, hyphen=hyphen)} {name}{more}"


def part_in_words(top: int, bottom: int) -> str:
    """Return a fraction below one in words, as "three quarters"."""
    plural = "halves" if bottom == 2 else f"{PARTS[bottom]}s"
    return f"{in_words(top)} {PARTS[bottom] if top == 1 else plural}"


@given(st.integers(0, 999_999), st.sampled_from(["-", " "]))
def test_any_whole_number_in_words_is_read(number: int, hyphen: str) -> None:
    """A number below a million, spelt with or without hyphens, comes back as itself."""
    (found,) = quantity.read(f"{in_words(number, hyphen=hyphen)} millimetres")
    assert (found.value, found.unit) == (number, "mm")


@given(st.integers(0, 400), st.sampled_from(sorted(PARTS)), st.data(), st.sampled_from(["words", "figures", "slash"]))
def test_any_mixed_number_is_read_in_words_and_in_figures(
    whole: int, bottom: int, data: st.DataObject, form: str
) -> None:
    """A whole number and a fraction of a ruler are read exactly, however they are written."""
    top = data.draw(st.integers(1, bottom - 1))
    said = f"{whole} {top}/{bottom}" if form == "slash" else part_in_words(top, bottom)
    if form != "slash" and whole:
        said = f"{in_words(whole) if form == 'words' else whole} and {said}"
    joint = "of an " if not whole and form != "slash" else ""
    (found,) = quantity.read(f"{said} {joint}inches" if not joint else f"{said} of an inch")
    assert (found.value, found.unit) == (whole + Fraction(top, bottom), "in")


@given(st.decimals(0, 9999, places=3, allow_nan=False).filter(lambda value: value > 0))
def test_any_decimal_is_read_without_loss(value: object) -> None:
    """Figures with a decimal point keep every place."""
    (found,) = quantity.read(f"it holds {value} grams")
    assert found.value == Fraction(str(value))


@given(st.text(max_size=300))
def test_no_text_breaks_the_reader(text: str) -> None:
    """Whatever is typed, each find lies inside the text and in order, and prints."""
    places = [(found.start, found.end) for found in quantity.read(text)]
    assert all(0 <= start < end <= len(text) for start, end in places)
    assert places == sorted(places)
    assert all(set(row) for row in quantity.explain(text))


OWN_WORDS = (
    "one 1 ½ 1/2 and a half by x to or no, sorry hang on inch in £ pounds mil of each two-thirds point hundred million "
    "square % degrees , . ? - per dozen past o'clock 10 1e5 000 0 ^-3 ×10−5 mm"
).split()


@given(st.lists(st.sampled_from(OWN_WORDS), max_size=25))
def test_no_mix_of_its_own_words_breaks_the_reader(pieces: list[str]) -> None:
    """Words of quantities in any order never raise."""
    for found in quantity.read(" ".join(pieces)):
        assert found.values


@pytest.mark.parametrize(
    ("text", "values", "unit"),
    [
        ("$ 46 . 8 million", [46_800_000], "USD"),
        ("12 , 345 gallons", [12345], "gal"),
        ("1\u202f234\u202f567.5 dollars", [1234567.5], "USD"),
        ("2.5×10−3 kg", [0.0025], "kg"),
        ("half a million euros", [500_000], "EUR"),
        ("a $5 note", [5], "USD"),
        ("A$20", [20], "AUD"),
        ("25 swiss francs", [25], "CHF"),
        ("the area is 40 square metres", [40], "m2"),
        ("a 1,500-square-foot barn", [1500], "square foot"),
        ("three miles per hour", [3], "mile per hour"),
        ("8 GB of memory", [8], "byte"),
        ("one over twenty", [0.05], ""),
        ("minus 12.5 °C", [-12.5], "C"),
        ("six hundred and five thousandths", [0.605], ""),
    ],
)
def test_written_amounts_of_other_trades_are_read(text: str, values: list[float], unit: str) -> None:
    """News and science write amounts in forms that a catalogue or a guest may bring along."""
    (found,) = quantity.read(text)
    assert [float(value) for value in found.exact] == pytest.approx(values)  # common practice, no source
    assert found.unit == unit


def test_a_written_interval_keeps_its_ends() -> None:
    """A written interval is one measured value, its middle, and its two ends stand beside it."""
    (found,) = quantity.read("particles of 0.5–2 µm")
    assert found.values == (Fraction(5, 4),)
    assert found.exact == (Fraction(1, 2), Fraction(2))


@pytest.mark.parametrize(
    "text", ["SCP", "COVID", "the second layer", "whichever one", "I'm one of them", "MP3", "a few", "several", "B12"]
)
def test_words_that_only_resemble_numbers_give_nothing(text: str) -> None:
    """Ordinals, pronouns and letters with figures in them are no quantities."""
    assert quantity.read(text) == []


def test_a_price_takes_the_currency_of_the_person() -> None:
    """Dollars are of the country that the settings name, and a bare price is in its currency."""
    assert quantity.read("it's twenty dollars", currency="NZD")[0].unit == "NZD"
    assert quantity.read("it's twelve fifty", currency="EUR")[0].unit == "EUR"
    assert quantity.read("it's twenty US dollars", currency="NZD")[0].unit == "USD"


def test_places_are_characters_of_the_text_given() -> None:
    """The place of a find is where it stands in the text, fractions and glued units included."""
    text = "Cut the 12x12 at 5¼ and keep 300gsm."
    assert [text[found.start : found.end] for found in quantity.read(text)] == ["12x12", "5¼", "300gsm"]


HOSTILE = ["1", '"', "1/2/", "a", "five", "½½", "$", "1e", "(", ", ", "one hundred and ", "no, ", "a half "]


@pytest.mark.parametrize("piece", HOSTILE)
def test_a_hundred_kilobytes_of_anything_do_not_stall_it(piece: str) -> None:
    """The reader is linear: four times the text is four times the work, never sixteen."""
    assert growth(lambda size: quantity.read(piece * (size // len(piece))), whole_or(100_000, 16_000)) < EVENLY
