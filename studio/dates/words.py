"""Single days and stretches of days as they are said in English: a closed grammar, resolved from one day."""

from datetime import date, timedelta

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
from studio.dates.place import Place, Said, day_tokens

_TENS = {"twenty": 20, "thirty": 30}


def days(text: str, on: date) -> list[Said]:
    """Return the days said in a text, in their order.

    Args:
        text: one sentence.
        on: the day on which it was said.
    """
    tokens, found, at = day_tokens(text), [], 0
    while at < len(tokens):
        step = 1
        place = Place(tokens, at, on, text)
        for rule in _RULES:
            hit = rule(place)
            if hit is not None:
                found.append(hit[0])
                step = hit[1]
                break
        at += step
    return found


# --- pieces ----------------------------------------------------------------------------------------------------------


def _month(word: str) -> int | None:
    word = word.removesuffix("'s")
    if word in day_words("months"):
        return day_words("months").index(word) + 1
    short = [name for name in day_words("short_months") if name == word]
    return next(i + 1 for i, name in enumerate(day_words("months")) if name.startswith(word[:3])) if short else None


def _weekday(word: str) -> int | None:
    word = word.removesuffix("'s")
    return day_words("weekdays").index(word) if word in day_words("weekdays") else None


def _ordinal(place: Place, ahead: int) -> tuple[int, int] | None:
    """Return the day number at a place and how many tokens it takes."""
    word, after = place.word(ahead), place.word(ahead + 1)
    if word.endswith(("st", "nd", "rd", "th")) and len(word) <= 4 and word[:-2].isdecimal():
        number, taken = int(word[:-2]), 1
    elif word in day_words("ordinals"):
        number, taken = day_words("ordinals").index(word) + 1, 1
    elif word in _TENS and after in day_words("ordinals")[:9]:
        number, taken = _TENS[word] + day_words("ordinals").index(after) + 1, 2
    elif word == "thirtieth":
        number, taken = 30, 1
    else:
        return None
    return (number, taken) if 1 <= number <= 31 else None


def _day_number(place: Place, ahead: int) -> tuple[int, int] | None:
    """Return an ordinal, or a bare number as written next to a month."""
    word = place.word(ahead)
    if len(word) <= 2 and word.isdigit() and 1 <= int(word) <= 31:
        return int(word), 1
    return _ordinal(place, ahead)


def _year(place: Place, ahead: int) -> tuple[int | None, int]:
    word = place.word(ahead)
    if len(word) == 4 and word.isdecimal() and word.startswith("20"):
        return int(word), 1
    if word == "twenty" and place.word(ahead + 1) in _TENS and place.word(ahead + 2) in day_words("numbers"):
        return 2000 + _TENS[place.word(ahead + 1)] + day_words("numbers").index(place.word(ahead + 2)) + 1, 3
    return None, 0


def _month_of(place: Place, ahead: int) -> tuple[date, int] | None:
    """Return the first day of the month named at a place ("this month", "April") and the tokens it takes."""
    word, after = place.word(ahead), place.word(ahead + 1)
    first = place.on.replace(day=1)
    if word in ("this", "the") and after in ("month", "month's"):
        return first, 2
    if word == "month":
        return first, 1
    if word == "next" and after in ("month", "month's"):
        return month_end(first) + timedelta(1), 2
    month = _month(word)
    if month is None:
        return None
    year, taken = _year(place, ahead + 1)
    day = nearest(
        [month_end(date(one, month, 1)) for one in ([year] if year else range(first.year - 1, first.year + 2))],
        place.on,
    )
    return (day.replace(day=1), 1 + taken) if day else None


# --- rules, the longest first ----------------------------------------------------------------------------------------


def _written(place: Place) -> tuple[Said, int] | None:
    if "-" not in place.word():
        return None
    try:
        return place.said(1, date.fromisoformat(place.word()), month_said=True)
    except ValueError:
        return None


def _calendar_day(place: Place) -> tuple[Said, int] | None:
    """Read "Sunday October the 4th", "Saturday the 26th", "the sixth of April 2026", "8 March"."""
    weekday, at = _weekday(place.word()), 0
    if weekday is not None:
        at = 1
    at += place.word(at) == "the"
    month = _month(place.word(at))
    if month is not None:
        at += 1
        at += place.word(at) == "the"
        numbered = _day_number(place, at)
        return _absolute(place, at + numbered[1], weekday, month, numbered[0]) if numbered else None
    numbered = _day_number(place, at)
    if numbered is None:
        return None
    at += numbered[1]
    month = _month(place.word(at + (place.word(at) == "of")))
    if month is not None:
        return _absolute(place, at + 1 + (place.word(at) == "of"), weekday, month, numbered[0])
    if weekday is None or place.word(at - numbered[1]).isdigit():
        return None
    return _numbered(place, at, weekday, numbered[0])


def _absolute(place: Place, count: int, weekday: int | None, month: int, number: int) -> tuple[Said, int] | None:
    year, taken = _year(place, count)
    day = in_year(place.on, month, number, year)
    if day is None:
        return None
    return place.said(count + taken, day, month_said=True, doubt=against(weekday, day))


def _numbered(place: Place, count: int, weekday: int | None, number: int) -> tuple[Said, int] | None:
    month = _month_of(place, count + (place.word(count) == "of"))
    if month is not None and place.word(count) in ("of", "this", "next"):
        days = days_numbered(month[0].year, month[0].month, number)
        taken = count + month[1] + (place.word(count) == "of")
        return place.said(taken, days[0], month_said=True, doubt=against(weekday, days[0])) if days else None
    day = of_number(place.on, number)
    if day is None:
        return None
    return place.said(count, day, number_only=True, weekday=weekday)


def _bare_day(place: Place) -> tuple[Said, int] | None:
    """Read "the 28th" where the words around leave no other reading: not "the second coat", not "the first thing"."""
    figures = place.word(1)[:1].isdigit() and (place.word(-1) in ("that's", "it's") or place.word(2) == "is")
    if place.word() != "the" or not (figures or place.word(-1) in day_words("before_a_bare_day")):
        return None
    numbered = _ordinal(place, 1)
    if numbered is None:
        return None
    taken = 1 + numbered[1]
    after = place.text[place.tokens[place.at + taken - 1].end :].lstrip()
    if not figures and after[:1].isalnum() and place.word(taken) not in day_words("after_a_bare_day"):
        return None
    return _numbered(place, taken, None, numbered[0])


def _relative(place: Place) -> tuple[Said, int] | None:
    words = {"today": 0, "tonight": 0, "tomorrow": 1, "yesterday": -1}
    if place.word() == "day" and (place.word(1), place.word(2)) == ("after", "tomorrow"):
        return place.said(3, place.on + timedelta(2))
    if place.word() in words and place.word(-1) != "not":
        return place.said(1, place.on + timedelta(words[place.word()]))
    return None


def _part_of(place: Place) -> tuple[Said, int] | None:
    """Read "the end of April", "the last day of the month", "the last Friday in May", "the beginning of next month"."""
    word, at = place.word(), 1
    if word not in ("end", "last", "beginning", "start", "first", "middle"):
        return None
    weekday = _weekday(place.word(1))
    if word in ("last", "first"):
        if weekday is None and place.word(1) != "day":
            return None
        at = 2
    if place.word(at) not in ("of", "in"):
        return None
    week = _week(place, at + 1) if word == "end" else None
    if week is not None:
        return place.said(at + 1 + week[1], week[0])
    month = _month_of(place, at + 1)
    if month is None:
        return None
    first, count = month[0], at + 1 + month[1]
    if weekday is not None:
        return place.said(count, weekday_of(first, weekday, last=word == "last"), month_said=True)
    if word == "middle":
        return place.said(count, first.replace(day=15), month_said=True, doubt="the middle of a month is no day")
    return place.said(count, month_end(first) if word in ("end", "last") else first, month_said=True)


def _week(place: Place, ahead: int) -> tuple[date, int] | None:
    """Return the Sunday of "the week" or "next week", or the last day of the year."""
    which, what = place.word(ahead), place.word(ahead + 1)
    sunday = place.on + timedelta(6 - place.on.weekday())
    if what in ("week", "weekend") and which in ("the", "this", "next"):
        return sunday + timedelta(7 * (which == "next")), 2
    if what == "year" and which in ("the", "this"):
        return date(place.on.year, 12, 31), 2
    return None


def _stretch(place: Place) -> tuple[Said, int] | None:
    """Read "this week", "this weekend", "all of April", "throughout May", "for two weeks"."""
    sunday = place.on + timedelta(6 - place.on.weekday())
    if place.word() in ("this", "the") and place.word(1) == "weekend":
        return place.said(2, max(place.on, sunday - timedelta(1)), sunday, stretch=True)
    if place.word() == "this" and place.word(1) in ("week", "month"):
        return place.said(2, place.on, sunday if place.word(1) == "week" else month_end(place.on), stretch=True)
    at = 1 + (place.word(1) == "of")
    if place.word() == "rest" and at == 2:
        month = _month_of(place, at)
        end = (month_end(month[0]), month[1]) if month else _week(place, at)
        return place.said(at + end[1], place.on, end[0], stretch=True, month_said=True) if end else None
    if place.word() in ("all", "throughout", "during", "whole"):
        month = _month_of(place, at) or (_month_of(place, at - 1) if place.word(at) == "month" else None)
        if month is not None:
            return place.said(at + month[1], month[0], month_end(month[0]), stretch=True, month_said=True)
        if place.word(at) in ("month", "week"):
            last = month_end(place.on) if place.word(at) == "month" else sunday
            return place.said(at + 1, place.on, last, stretch=True)
    return None


def _length(place: Place) -> tuple[Said, int] | None:
    """Read "for the next ten days", "for two weeks", "in a fortnight", "two weeks from today"."""
    if place.word() not in ("for", "in"):
        return None
    at = 1 + (place.word(1) == "the")
    at += place.word(at) in ("next", "coming")
    number = {"a": 1, "one": 1, "couple": 2}.get(place.word(at)) or (
        day_words("numbers").index(place.word(at)) + 1 if place.word(at) in day_words("numbers") else None
    )
    number = int(place.word(at)) if place.word(at).isdigit() and len(place.word(at)) < 3 else number
    unit = place.word(at + 1).rstrip("s").removesuffix("'")
    each = {"day": 1, "week": 7, "fortnight": 14}.get(unit)
    if number is None or each is None:
        return None
    if place.word() == "for" and "next" not in (place.word(1), place.word(2)):
        return None
    end = place.on + timedelta(number * each)
    if place.word() == "for":
        return place.said(at + 2, place.on, end, stretch=True)
    return place.said(at + 2, end)


def _weekday_alone(place: Place) -> tuple[Said, int] | None:
    """Read "Friday", "next Friday", "a week on Saturday", "Friday week"."""
    weekday = _weekday(place.word())
    if weekday is None or place.word(-1) in ("every", "each", "last", "one"):
        return None
    ahead = (weekday - place.on.weekday()) % 7
    if place.word(-1) == "next":
        day = place.on - timedelta(place.on.weekday()) + timedelta(7 + weekday)
        clear = (day - place.on).days <= 7
        return place.said(1, day, doubt="" if clear else "next week's is taken; this week's may be meant")
    doubt = "it was said on that weekday" if ahead == 0 else ""
    doubt = "it is counted from another day" if place.word(1) == "after" else doubt
    ahead = ahead or 7
    week_more = place.word(1) == "week" or (place.word(-2) == "week" and place.word(-1) in ("on", "from"))
    return place.said(1 + (place.word(1) == "week"), place.on + timedelta(ahead + 7 * week_more), doubt=doubt)


def _month_alone(place: Place) -> tuple[Said, int] | None:
    """Read "through April", "until May", "in June": "until May" may or may not take May in."""
    before = place.word(-1)
    if before not in ("until", "till", "til", "through", "thru", "in", "from", "for"):
        return None
    month = _month_of(place, 0) if _month(place.word()) or place.word() == "next" else None
    if month is None:
        return None
    first, last = month[0], month_end(month[0])
    if before == "for" and place.word(month[1]) != "only":
        return None
    if before in ("in", "for"):
        return place.said(month[1], first, last, stretch=True, month_said=True)
    if before == "from":
        return place.said(month[1], first, month_said=True)
    doubt = "" if before in ("through", "thru") else f"it is not said whether {first:%B} is included"
    return place.said(
        month[1], last if before in ("through", "thru") else first - timedelta(1), month_said=True, doubt=doubt
    )


def _feast(place: Place) -> tuple[Said, int] | None:
    """Read a feast by its name, the longest first."""
    for count in (4, 3, 2, 1):
        name = " ".join(place.word(ahead) for ahead in range(count))
        days = [day for year in range(place.on.year - 1, place.on.year + 2) for day in feast(name, year)]
        day = nearest(days, place.on)
        if day:
            return place.said(count, day, month_said=True)
    return None


_RULES = (
    _written, _feast, _calendar_day, _bare_day, _relative, _part_of, _stretch, _length, _weekday_alone, _month_alone,
)  # fmt: skip
