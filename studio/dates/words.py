"""Single days and stretches of days as they are said in English: a closed grammar, resolved from one day."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from studio.dates.calendar_days import (
    against,
    day_words,
    days_numbered,
    feast,
    in_year,
    month_end,
    nearest,
    of_number,
    weekday_of,
)
from studio.quantity.number_words import ORDINALS, SMALL, SUFFIXES, TENS
from studio.quantity.tokens import NUMBER, WORD, cut

_ORDINALS = ORDINALS | {"first": 1, "second": 2}
_UNTIL = ("until", "till", "til", "through", "thru")


@dataclass(frozen=True)
class Said:
    """A day (`first` is `last`) or a stretch of days in a text.

    `number_only` marks "the 4th", whose month a neighbouring day may still settle; `doubt` says why it must be asked.
    """

    start: int
    end: int
    first: date
    last: date
    number_only: bool = False
    month_said: bool = False
    stretch: bool = False
    weekday: int | None = None
    """The weekday said with a number alone; 0 is Monday."""
    doubt: str = ""


Hit = tuple[Said, int] | None
"""What the next words say, with how many they are."""


@dataclass(frozen=True)
class Place:
    """A place among the words of a sentence, and the day on which it was said."""

    said_words: list[tuple[str, int, int]]
    at: int
    on: date
    text: str

    def word(self, ahead: int = 0) -> str:
        """Return the word so many places on, or nothing beyond the ends."""
        place = self.at + ahead
        return self.said_words[place][0] if 0 <= place < len(self.said_words) else ""

    def says(self, count: int, first: date, last: date | None = None, **more: Any) -> Hit:  # noqa: ANN401
        """Return what the next `count` words say."""
        start, end = self.said_words[self.at][1], self.said_words[self.at + count - 1][2]
        return Said(start, end, first, last or first, **more), count

    @property
    def sunday(self) -> date:
        """The end of the week in which it was said."""
        return self.on + timedelta(6 - self.on.weekday())


def days(text: str, on: date) -> list[Said]:
    """Return the days said in a text, in their order.

    Args:
        text: one sentence.
        on: the day on which it was said.
    """
    found, at, said_words = [], 0, _words(text)
    while at < len(said_words):
        place = Place(said_words, at, on, text)
        hit = next((hit for hit in (rule(place) for rule in _RULES) if hit), None)
        found += [hit[0]] if hit else []
        at += hit[1] if hit else 1
    return found


def _words(text: str) -> list[tuple[str, int, int]]:
    """Return words and numbers in lower case with their places, "4th" as one, signs left out."""
    t, found = cut(text), []
    for at in range(t.count):
        suffix = t.low[at] in SUFFIXES and t.glued(at) and t.kind[at - 1] == NUMBER
        ordinal = t.kind[at] == NUMBER and t.low[at + 1] in SUFFIXES and t.glued(at + 1)
        if t.kind[at] in (NUMBER, WORD) and not suffix:
            found.append((t.low[at] + (t.low[at + 1] if ordinal else ""), t.start[at], t.end[at + ordinal]))
    return found


# --- pieces ----------------------------------------------------------------------------------------------------------


def _month(word: str) -> int | None:
    word = word.removesuffix("'s")
    known = word in day_words("month") or word in day_words("short_month")
    return next((number for number, name in enumerate(day_words("month"), 1) if known and name[:3] == word[:3]), None)


def _weekday(word: str) -> int | None:
    word = word.removesuffix("'s")
    return day_words("day").index(word) if word in day_words("day") else None


def _day_number(place: Place, ahead: int, *, bare: bool = True) -> tuple[int, int] | None:
    """Return an ordinal, or a bare number as written next to a month, and how many words it takes."""
    word, after = place.word(ahead), place.word(ahead + 1)
    digits = word[:-2] if word[-2:] in SUFFIXES else word if bare else ""
    if digits.isdecimal() and len(digits) < 3:
        number, taken = int(digits), 1
    elif word in TENS and _ORDINALS.get(after, 10) < 10:
        number, taken = TENS[word] + _ORDINALS[after], 2
    else:
        number, taken = _ORDINALS.get(word, 0), 1
    return (number, taken) if 1 <= number <= 31 else None


def _year(place: Place, ahead: int) -> tuple[int | None, int]:
    word, tens, ones = (place.word(ahead + step) for step in range(3))
    if len(word) == 4 and word.startswith("20") and word.isdecimal():
        return int(word), 1
    said = word == "twenty" and tens in TENS and 0 < SMALL.get(ones, 0) < 10
    return (2000 + TENS[tens] + SMALL[ones], 3) if said else (None, 0)


def _month_of(place: Place, ahead: int) -> tuple[date, int] | None:
    """Return the first day of the month named at a place ("this month", "April") and the words it takes."""
    word, after = place.word(ahead), place.word(ahead + 1).removesuffix("'s")
    first = place.on.replace(day=1)
    if word == "month" or (word in ("this", "the") and after == "month"):
        return first, 1 + (word != "month")
    if word == "next" and after == "month":
        return month_end(first) + timedelta(1), 2
    month = _month(word)
    if month is None:
        return None
    year, taken = _year(place, ahead + 1)
    years = [year] if year else range(first.year - 1, first.year + 2)
    day = nearest([month_end(date(one, month, 1)) for one in years], place.on)
    return (day.replace(day=1), 1 + taken) if day else None


# --- rules, the longest first ----------------------------------------------------------------------------------------


def _calendar_day(place: Place) -> Hit:
    """Read "Sunday October the 4th", "Saturday the 26th", "the sixth of April 2026", "8 March"."""
    weekday = _weekday(place.word())
    at = 0 if weekday is None else 1
    at += place.word(at) == "the"
    month = _month(place.word(at))
    if month is not None:
        at += 1 + (place.word(at + 1) == "the")
        numbered = _day_number(place, at)
        return _absolute(place, at + numbered[1], weekday, month, numbered[0]) if numbered else None
    numbered = _day_number(place, at)
    if numbered is None:
        return None
    bare = place.word(at).isdecimal()
    at += numbered[1]
    of = place.word(at) == "of"
    month = _month(place.word(at + of))
    if month is not None:
        return _absolute(place, at + 1 + of, weekday, month, numbered[0])
    return None if weekday is None or bare else _numbered(place, at, weekday, numbered[0])


def _absolute(place: Place, count: int, weekday: int | None, month: int, number: int) -> Hit:
    year, taken = _year(place, count)
    day = in_year(place.on, month, number, year)
    return place.says(count + taken, day, month_said=True, doubt=against(weekday, day)) if day else None


def _numbered(place: Place, count: int, weekday: int | None, number: int) -> Hit:
    of = place.word(count) == "of"
    month = _month_of(place, count + of) if of or place.word(count) in ("this", "next") else None
    if month is not None:
        day = next(iter(days_numbered(month[0].year, month[0].month, number)), None)
        taken = count + month[1] + of
        return place.says(taken, day, month_said=True, doubt=against(weekday, day)) if day else None
    day = of_number(place.on, number)
    return place.says(count, day, number_only=True, weekday=weekday) if day else None


def _bare_day(place: Place) -> Hit:
    """Read "the 28th" where the words around leave no other reading: not "the second coat", not "the first thing"."""
    figures = place.word(1)[:1].isdigit() and (place.word(-1) in ("that's", "it's") or place.word(2) == "is")
    known = place.word() == "the" and (figures or place.word(-1) in day_words("before_a_bare_day"))
    numbered = _day_number(place, 1, bare=False) if known else None
    if numbered is None:
        return None
    taken = 1 + numbered[1]
    after = place.text[place.said_words[place.at + taken - 1][2] :].lstrip()
    if not figures and after[:1].isalnum() and place.word(taken) not in day_words("after_a_bare_day"):
        return None
    return _numbered(place, taken, None, numbered[0])


def _relative(place: Place) -> Hit:
    if (place.word(), place.word(1), place.word(2)) == ("day", "after", "tomorrow"):
        return place.says(3, place.on + timedelta(2))
    ahead = {"today": 0, "tonight": 0, "tomorrow": 1, "yesterday": -1}.get(place.word())
    return place.says(1, place.on + timedelta(ahead)) if ahead is not None and place.word(-1) != "not" else None


def _part_of(place: Place) -> Hit:
    """Read "the end of April", "the last day of the month", "the last Friday in May", "the beginning of next month"."""
    word, weekday = place.word(), _weekday(place.word(1))
    at = 2 if word in ("last", "first") else 1
    days_of = at == 1 or weekday is not None or place.word(1) == "day"
    if word not in day_words("part_of_month") or not days_of or place.word(at) not in ("of", "in"):
        return None
    week = _week(place, at + 1) if word == "end" else None
    if week is not None:
        return place.says(at + 1 + week[1], week[0])
    month = _month_of(place, at + 1)
    if month is None:
        return None
    first, count = month[0], at + 1 + month[1]
    if at == 2 and weekday is not None:
        return place.says(count, weekday_of(first, weekday, last=word == "last"), month_said=True)
    day = {"middle": first.replace(day=15), "end": month_end(first), "last": month_end(first)}.get(word, first)
    return place.says(count, day, month_said=True, doubt="the middle of a month is no day" if word == "middle" else "")


def _week(place: Place, ahead: int) -> tuple[date, int] | None:
    """Return the Sunday of "the week" or "next week", or the last day of the year."""
    which, what = place.word(ahead), place.word(ahead + 1)
    if what in ("week", "weekend") and which in ("the", "this", "next"):
        return place.sunday + timedelta(7 * (which == "next")), 2
    return (date(place.on.year, 12, 31), 2) if what == "year" and which in ("the", "this") else None


def _stretch(place: Place) -> Hit:
    """Read "this week", "this weekend", "all of April", "throughout May"."""
    word, after, ends = place.word(), place.word(1), {"week": place.sunday, "month": month_end(place.on)}
    if word in ("this", "the") and after == "weekend":
        return place.says(2, max(place.on, place.sunday - timedelta(1)), place.sunday, stretch=True)
    if word == "this" and after in ends:
        return place.says(2, place.on, ends[after], stretch=True)
    at = 1 + (after == "of")
    month = _month_of(place, at)
    if word == "rest" and at == 2:
        end = (month_end(month[0]), month[1]) if month else _week(place, at)
        return place.says(at + end[1], place.on, end[0], stretch=True, month_said=True) if end else None
    if word in ("all", "throughout", "during", "whole"):
        if month is not None:
            return place.says(at + month[1], month[0], month_end(month[0]), stretch=True, month_said=True)
        return place.says(at + 1, place.on, ends[place.word(at)], stretch=True) if place.word(at) in ends else None
    return None


def _length(place: Place) -> Hit:
    """Read "for the next ten days", "in a fortnight", "in two weeks"."""
    if place.word() not in ("for", "in"):
        return None
    at = 1 + (place.word(1) == "the")
    coming = place.word(at) in ("next", "coming")
    at += coming
    word = place.word(at)
    number = int(word) if word.isdecimal() and len(word) < 3 else {"a": 1, "couple": 2}.get(word, SMALL.get(word, 0))
    each = {"day": 1, "week": 7, "fortnight": 14}.get(place.word(at + 1).rstrip("s").removesuffix("'"))
    if not number or each is None or (place.word() == "for" and not coming):
        return None
    end = place.on + timedelta(number * each)
    return place.says(at + 2, place.on if coming and place.word() == "for" else end, end, stretch=place.word() == "for")


def _weekday_alone(place: Place) -> Hit:
    """Read "Friday", "next Friday", "a week on Saturday", "Friday week"."""
    weekday, before = _weekday(place.word()), place.word(-1)
    if weekday is None or before in ("every", "each", "last", "one"):
        return None
    ahead = (weekday - place.on.weekday()) % 7
    if before == "next":
        day = place.on - timedelta(place.on.weekday()) + timedelta(7 + weekday)
        clear = (day - place.on).days <= 7
        return place.says(1, day, doubt="" if clear else "next week's is taken; this week's may be meant")
    told = [place.word(-back) for back in range(1, 9)]
    past = any(word in day_words("past") or (word.endswith("ed") and len(word) > 4) for word in told)
    if past and ahead and not any(word in (*_UNTIL, "by", "before", "till") for word in told[:2]):
        return place.says(1, place.on - timedelta(7 - ahead))
    doubt = "it was said on that weekday" if ahead == 0 else ""
    doubt = "it is counted from another day" if place.word(1) == "after" else doubt
    later = place.word(1) == "week"
    week_more = later or (place.word(-2) == "week" and before in ("on", "from"))
    return place.says(1 + later, place.on + timedelta((ahead or 7) + 7 * week_more), doubt=doubt)


def _month_alone(place: Place) -> Hit:
    """Read "through April", "until May", "in June": "until May" may or may not take May in."""
    before = place.word(-1)
    known = before in (*_UNTIL, "in", "from", "for") and (_month(place.word()) or place.word() == "next")
    month = _month_of(place, 0) if known else None
    if month is None or (before == "for" and place.word(month[1]) != "only"):
        return None
    first, last, count = month[0], month_end(month[0]), month[1]
    if before in ("in", "for"):
        return place.says(count, first, last, stretch=True, month_said=True)
    if before == "from" or before in ("through", "thru"):
        return place.says(count, first if before == "from" else last, month_said=True)
    doubt = f"it is not said whether {first:%B} is included"
    return place.says(count, first - timedelta(1), month_said=True, doubt=doubt)


def _feast(place: Place) -> Hit:
    """Read a feast by its name, the longest first."""
    for count in (4, 3, 2, 1):
        name = " ".join(place.word(ahead) for ahead in range(count))
        years = range(place.on.year - 1, place.on.year + 2)
        day = nearest([day for year in years for day in feast(name, year)], place.on)
        if day:
            return place.says(count, day, month_said=True)
    return None


_RULES = (
    _feast, _calendar_day, _bare_day, _relative, _part_of, _stretch, _length, _weekday_alone, _month_alone,
)  # fmt: skip
