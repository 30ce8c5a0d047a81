"""Days as they are said."""

import random
import warnings
from datetime import date, timedelta
from pathlib import Path

import pytest
from counted import EVENLY, growth
from dateutil.easter import easter as easter_of_dateutil

from studio.dates import calendar_days, days, period

LINES = [
    line for line in (Path(__file__).parent / "fixtures" / "dates.txt").read_text(encoding="utf-8").splitlines()
    if line and not line.startswith("#")
]  # fmt: skip


@pytest.mark.parametrize("line", LINES)
def test_a_stretch_of_days_is_read_from_what_was_said(line: str) -> None:
    """First and last day, the stock, and what must be asked are read as a person with a calendar reads them."""
    said, expected = line.split(" => ")
    on, text = said.split(" | ")
    found = period(text, date.fromisoformat(on))
    if expected == "none":
        assert found is None
        return
    assert found is not None
    assert bool(found.doubt) == expected.endswith(" ask")
    assert found.while_stocks_last == expected.endswith(" stock")
    expected = expected.removesuffix(" ask").removesuffix(" stock")
    told = f"~ {found.day}" if found.day else f"{found.first or '-'} | {found.last or '-'}"
    assert told == expected


def test_without_the_day_of_recording_no_day_is_guessed() -> None:
    """In talk, "Friday" has no date where nobody knows when it was said; the end of the stock still is one."""
    assert period("it ends Friday", None) is None
    found = period("until Friday or while stocks last", None)
    assert found is not None
    assert (found.last, found.while_stocks_last) == (None, True)


def test_absolute_days_agree_with_dateparser() -> None:
    """A day with month and year is the day that dateparser reads (an independent library), said in five ways."""
    import dateparser

    chance = random.Random(7)
    ways = ("{d} {m} {y}", "{m} {d}, {y}", "the {d}{s} of {m} {y}", "{m} the {d}{s} {y}", "{d}{s} {m} {y}")
    for number in range(60):
        day = date(2024, 1, 1) + timedelta(chance.randrange(1400))
        suffix = "th" if 10 < day.day < 14 else {1: "st", 2: "nd", 3: "rd"}.get(day.day % 10, "th")
        text = ways[number % 5].format(d=day.day, m=day.strftime("%B"), y=day.year, s=suffix)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            other = dateparser.parse(text, languages=["en"])
        assert other is not None
        assert [one.first for one in days(text, date(2025, 6, 1))] == [other.date()] == [day]


def test_easter_agrees_with_dateutil() -> None:
    """Easter Sunday is the one that dateutil computes (an independent library), 1900 to 2199."""
    assert all(calendar_days.easter(year) == easter_of_dateutil(year) for year in range(1900, 2200))


@pytest.mark.parametrize("text", ["until ", "the 4th ", "1", "monday ", "from the 1st to ", "end of "])
def test_a_long_sentence_costs_no_more_than_its_length(text: str) -> None:
    """20 kB of one thing cost no more than four times a quarter of them: nothing runs away."""
    assert growth(lambda size: period(text * (size // len(text)), date(2026, 1, 7)), 20_000) < EVENLY
