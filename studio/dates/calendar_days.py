"""The calendar behind spoken days: the nearest 4th, the end of a month, the feasts; plain arithmetic on dates."""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from studio import rule_files

_PAST_WEIGHS = 3
"""A day gone by counts as this many times farther off than one to come."""


@cache
def day_words(kind: str) -> list[str]:
    """Return a word list of `shared/dates.toml`, or the names of months and days in their order."""
    file, section = ("quantities.toml", "alike") if kind in ("month", "day") else ("dates.toml", "words")
    return rule_files.text(file, section, kind).split()


def nearest(candidates: list[date], on: date) -> date | None:
    """Return the candidate that is nearest, a day gone by counting three times as far as one to come."""

    def far(day: date) -> int:
        return (day - on).days if day >= on else (on - day).days * _PAST_WEIGHS

    return min(candidates, key=far, default=None)


def days_numbered(year: int, month: int, number: int) -> list[date]:
    """Return the day with this number in a month, or none where the month is shorter."""
    return [date(year, month, number)] if number <= monthrange(year, month)[1] else []


def in_year(on: date, month: int, number: int, year: int | None) -> date | None:
    """Return the nearest day of this month and number, in a year where it was said."""
    years = [year] if year else [on.year - 1, on.year, on.year + 1]
    return nearest([day for one in years for day in days_numbered(one, month, number)], on)


def of_number(on: date, number: int) -> date | None:
    """Return the nearest day with this number in the month."""
    months = [divmod(on.year * 12 + on.month - 1 + shift, 12) for shift in range(-1, 3)]
    return nearest([day for year, month in months for day in days_numbered(year, month + 1, number)], on)


def same_number(number: int, other: date, *, before: bool) -> date | None:
    """Return the day with this number that is nearest before or after another day."""
    shifts = (0, -1, -2) if before else (0, 1, 2)
    months = [divmod(other.year * 12 + other.month - 1 + shift, 12) for shift in shifts]
    found = [day for year, month in months for day in days_numbered(year, month + 1, number)]
    return next((day for day in found if (day <= other if before else day >= other)), None)


def month_end(day: date) -> date:
    """Return the last day of a day's month."""
    return day.replace(day=monthrange(day.year, day.month)[1])


def weekday_of(first: date, weekday: int, *, last: bool) -> date:
    """Return the first or last of a weekday in the month that begins on `first`."""
    if last:
        end = month_end(first)
        return end - timedelta((end.weekday() - weekday) % 7)
    return first + timedelta((weekday - first.weekday()) % 7)


def against(weekday: int | None, day: date) -> str:
    """Return what is wrong where a day is not on the weekday that was said with it."""
    if weekday is None or day.weekday() == weekday:
        return ""
    names = [name.capitalize() for name in day_words("day")]
    return f"{day.day} {day:%B %Y} is a {names[day.weekday()]}, not a {names[weekday]}"


@dataclass(frozen=True)
class _Feasts:
    feasts: dict[str, tuple[int, int]]
    easter: dict[str, int]
    advent: dict[str, int]
    nth: dict[str, tuple[int, int, int]]


def feast(name: str, year: int) -> list[date]:
    """Return the day of a feast in a year, or none where the name is no feast."""
    table = rule_files.typed(_Feasts, "dates.toml")
    if name in table.feasts:
        return [date(year, *table.feasts[name])]
    if name in table.easter:
        return [easter(year) + timedelta(table.easter[name])]
    if name in table.advent:
        christmas = date(year, 12, 25)
        return [christmas - timedelta(christmas.weekday() + 1) + timedelta(table.advent[name])]
    if name in table.nth:
        month, weekday, which = table.nth[name]
        first = weekday_of(date(year, month, 1), weekday, last=which < 0)
        return [first + timedelta(7 * max(0, which - 1))]
    return []


def easter(year: int) -> date:
    """Return Easter Sunday of a year (anonymous Gregorian computus, Nature, 1876)."""
    a, b, c = year % 19, year // 100, year % 100
    h = (19 * a + b - b // 4 - (b - (b + 8) // 25 + 1) // 3 + 15) % 30
    k = (32 + 2 * (b % 4) + 2 * (c // 4) - h - c % 4) % 7
    m = (a + 11 * h + 22 * k) // 451
    month, day = divmod(h + k - 7 * m + 114, 31)
    return date(year, month, day + 1)
