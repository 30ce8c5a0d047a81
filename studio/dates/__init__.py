"""From when to when: the stretch of days that a sentence gives, every day resolved from the day it was said."""

import re
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from studio import rule_files
from studio.dates.calendar_days import against
from studio.dates.place import Said
from studio.dates.words import days

__all__ = ["Period", "days", "period"]


_UNTIL = re.compile(r"\b(?:until|till|til|through|thru|by|before|to|ends?|ending)\s+(?:the\s+)?$", re.IGNORECASE)
"""Right before "this weekend" or "all of May" only these make it an end."""


@dataclass(frozen=True)
class Period:
    """A stretch of days; either end may be open.

    `day` is one that the words around do not make a first or a last day ("goes on the 4th" is for the reader to say).
    """

    start: int
    end: int
    first: date | None = None
    last: date | None = None
    day: date | None = None
    while_stocks_last: bool = False
    doubt: str = ""


def _pattern(name: str) -> re.Pattern[str]:
    edge = rule_files.text("dates.toml", "edges", name)
    return rule_files.expression(rf"(?<![\w'])(?:{edge})(?![\w'])")


@lru_cache(maxsize=8192)
def period(text: str, on: date | None) -> Period | None:
    """Return the stretch of days that a sentence gives, or None where it gives none.

    Args:
        text: one sentence.
        on: the day on which it was said; without it only the end of the stock is seen.
    """
    stock = _pattern("stock").search(text)
    said = _merged(text, days(text, on)) if on else []
    if not said or on is None:
        return Period(stock.start(), stock.end(), while_stocks_last=True) if stock else None
    found = Period(said[0].start, said[-1].end, while_stocks_last=stock is not None)
    for place, day in enumerate(said):
        lead = text[said[place - 1].end if place else 0 : day.start]
        edge = _edge(lead, said[place - 1] if place else None)
        edge = "" if day.stretch and not _UNTIL.search(lead) else edge
        found = _with(found, day if edge == "first" else _to_come(day, on), edge)
    return _checked(_in_order(found, said), said)


def _to_come(day: Said, on: date) -> Said:
    """Return a number without a month in the month in which it is still to come; only a beginning may be past."""
    if not day.number_only or day.first >= on:
        return day
    later = _same_number(day.first.day, on, before=False) or day.first
    return replace(day, first=later, last=later)


def _checked(found: Period, said: list[Said]) -> Period:
    """Ask where a number's day is not on the weekday said with it."""
    ends = [day for day in (found.first, found.last, found.day) if day]
    for one in said:
        day = next((end for end in ends if end.day == one.first.day), None)
        if one.number_only and day and not found.doubt:
            found = replace(found, doubt=against(one.weekday, day))
    return found


def _merged(text: str, said: list[Said]) -> list[Said]:
    """Join two ways of saying one day ("Wednesday, that's the end of September") and drop what was corrected away."""
    kept: list[Said] = []
    for day in said:
        between = text[kept[-1].end : day.start].lower().replace("’", "'").strip(" ,.-–") if kept else None
        if between is not None and _pattern("corrected").search(between) and len(between) < 60:
            kept[-1] = replace(day, start=kept[-1].start)
        elif between is not None and _pattern_same().fullmatch(between):
            kept[-1] = _one(kept[-1], day)
        else:
            kept.append(day)
    return kept


def _pattern_same() -> re.Pattern[str]:
    same = rule_files.text("dates.toml", "edges", "same")
    return rule_files.expression(same + r"(?: (?:the|on|on the))?", exact=True)


def _one(before: Said, after: Said) -> Said:
    """Return the better known of two ways of saying one day; where they differ it is asked."""
    better = after if after.month_said or not before.month_said else before
    joined = replace(better, start=before.start, end=after.end, doubt=before.doubt or after.doubt)
    if before.first == after.first and before.last == after.last:
        return joined
    if after.number_only and after.first.day == before.first.day:
        return replace(before, end=after.end)
    return replace(joined, doubt=f"two days are named: {before.last:%-d %B} and {after.last:%-d %B}")


def _joined() -> re.Pattern[str]:
    joint = rule_files.text("dates.toml", "edges", "joined")
    return rule_files.expression(rf"(?:{joint})(?: (?:the|and))*(?: very)?", exact=True)


def _edge(lead: str, before: Said | None) -> str:
    """Return which end the words before a day make it: the nearest cue decides, the longer of two ("not until")."""
    if before is not None and _joined().fullmatch(lead.lower().strip(" ,")):
        return "last"
    cues = [(m.end(), m.end() - m.start(), edge) for edge in ("first", "last") for m in _pattern(edge).finditer(lead)]
    return max(cues)[2] if cues else ""


def _with(found: Period, day: Said, edge: str) -> Period:
    doubt = found.doubt or day.doubt
    if day.stretch and edge != "last":
        return replace(found, first=day.first, last=day.last, doubt=doubt)
    if edge == "first" and found.first is None:
        return replace(found, first=day.first, doubt=doubt)
    if edge == "last" and found.last is None:
        first = found.first or found.day
        return replace(found, first=first, last=day.last, day=None if first == found.day else found.day, doubt=doubt)
    return found if found.first or found.last or found.day else replace(found, day=day.last, doubt=doubt)


def _in_order(found: Period, said: list[Said]) -> Period:
    """Give "from the 16th to the 8th of March" its months: the first day is the nearest before the last one."""
    first, last = found.first, found.last
    if first is None or last is None or len(said) < 2:
        return found
    numbers = {day.first.day for day in said if day.number_only}
    if first.day in numbers and last.day not in numbers:
        first = _same_number(first.day, last, before=True) or first
    elif last.day in numbers and (first.day not in numbers or last < first):
        last = _same_number(last.day, first, before=False) or last
    if first > last:
        return replace(found, doubt=found.doubt or "it would end before it begins")
    return replace(found, first=first, last=last)


def _same_number(number: int, other: date, *, before: bool) -> date | None:
    """Return the day with this number that is nearest before or after another day."""
    shifts = (0, -1, -2) if before else (0, 1, 2)
    for shift in shifts:
        month = other.month - 1 + shift
        try:
            day = date(other.year + month // 12, month % 12 + 1, number)
        except ValueError:
            continue
        if (day <= other) if before else (day >= other):
            return day
    return None
