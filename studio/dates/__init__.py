"""From when to when: the stretch of days that a sentence gives, every day resolved from the day it was said."""

from dataclasses import dataclass, replace
from datetime import date
from functools import cache, lru_cache

from studio import rule_files
from studio.dates.calendar_days import against, same_number
from studio.dates.words import Said, days
from studio.quantity.tokens import Tokens, cut
from studio.quantity.words import Phrases, listed, phrase_after, phrase_before

__all__ = ["Period", "days", "period"]


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


@cache
def _edges(name: str) -> Phrases:
    return listed(rule_files.text("dates.toml", "edges", name))


@lru_cache(maxsize=8192)
def period(text: str, on: date | None) -> Period | None:
    """Return the stretch of days that a sentence gives, or None where it gives none.

    Args:
        text: one sentence.
        on: the day on which it was said; without it only the end of the stock is seen.
    """
    stock = _stock(cut(text))
    said = _merged(text, days(text, on)) if on else []
    if not said or on is None:
        return Period(*stock, while_stocks_last=True) if stock else None
    found = Period(said[0].start, said[-1].end, while_stocks_last=stock is not None)
    for place, day in enumerate(said):
        lead = cut(text[said[place - 1].end if place else 0 : day.start])
        edge = _edge(lead, joins=place > 0)
        edge = "" if day.stretch and not _is_end(lead) else edge
        found = _with(found, day if edge == "first" else _to_come(day, on), edge)
    return _checked(_in_order(found, said), said)


def _stock(t: Tokens) -> tuple[int, int] | None:
    """Return where the end of the stock is said: "while stocks last", "once they're gone"."""
    for at in range(t.count):
        opens = phrase_after(t, at, _edges("stock_opens"))
        end = phrase_after(t, opens, _edges("stock")) if opens > at else 0
        if end > opens > at:
            return t.start[at], t.end[end - 1]
    return None


def _is_end(lead: Tokens) -> bool:
    """Return whether the words right before "this weekend" or "all of May" make it an end."""
    at = lead.count - (lead.before(lead.count) == "the")
    return phrase_before(lead, at, _edges("until")) < at


def _to_come(day: Said, on: date) -> Said:
    """Return a number without a month in the month in which it is still to come; only a beginning may be past."""
    if not day.number_only or day.first >= on:
        return day
    later = same_number(day.first.day, on, before=False) or day.first
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
        between = cut(text[kept[-1].end : day.start].strip(" ,.-–")) if kept else None
        if between and len(between.text) < 60 and _has(between, _edges("corrected")):
            kept[-1] = replace(day, start=kept[-1].start)
        elif between and (not between.count or phrase_after(between, 0, _edges("same")) == between.count):
            kept[-1] = _one(kept[-1], day)
        else:
            kept.append(day)
    return kept


def _has(t: Tokens, known: Phrases) -> bool:
    return any(phrase_after(t, at, known) > at for at in range(t.count))


def _one(before: Said, after: Said) -> Said:
    """Return the better known of two ways of saying one day; where they differ it is asked."""
    better = after if after.month_said or not before.month_said else before
    joined = replace(better, start=before.start, end=after.end, doubt=before.doubt or after.doubt)
    if before.first == after.first and before.last == after.last:
        return joined
    if after.number_only and after.first.day == before.first.day:
        return replace(before, end=after.end)
    return replace(joined, doubt=f"two days are named: {before.last:%-d %B} and {after.last:%-d %B}")


def _edge(lead: Tokens, *, joins: bool) -> str:
    """Return which end the words before a day make it: the nearest cue decides, the longer of two ("not until")."""
    if joins and phrase_after(lead, lead.low[0] == ",", _edges("joined")) == lead.count > 0:
        return "last"
    cues = []
    for at in range(lead.count):
        for edge in ("first", "last"):
            end = phrase_after(lead, at, _edges(edge))
            denied = end > at and edge == "last" and _denied(lead, at)
            cues += [(end, end - at + denied, "first" if denied else edge)] if end > at else []
    return max(cues)[2] if cues else ""


def _denied(lead: Tokens, at: int) -> bool:
    """Return whether "until" or "before" ends a no: "it won't be here until", "don't ring us before"."""
    for back in range(at - 1, max(-1, at - 6), -1):
        if lead.low[back] in ("over", "ending", "finished", "done"):
            return False
        if phrase_after(lead, back, _edges("denied")) > back:
            return lead.low[at] in ("until", "till", "before")
    return False


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
        first = same_number(first.day, last, before=True) or first
    elif last.day in numbers and (first.day not in numbers or last < first):
        last = same_number(last.day, first, before=False) or last
    doubt = found.doubt or ("it would end before it begins" if first > last else "")
    return replace(
        found, first=found.first if first > last else first, last=found.last if first > last else last, doubt=doubt
    )
