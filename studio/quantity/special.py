"""Quantities that do not begin with a plain number: sheet sizes, clock times, prices without a unit, divisions."""

from fractions import Fraction

from studio.quantity import amounts, numbers, units
from studio.quantity.found import Found, found_at
from studio.quantity.number_words import PARTS, Number
from studio.quantity.tokens import NUMBER, WORD, Tokens
from studio.quantity.units import unit_at
from studio.quantity.words import words

_HALF, _QUARTER = Fraction(1, 2), Fraction(1, 4)


def special(t: Tokens, at: int) -> Found | None:
    """Read what only looks like a bare number, or has none, at this piece."""
    low = t.low[at]
    if low in ("a", "b", "c") and t.kind[at + 1] == NUMBER:
        return _paper_size(t, at)
    if low in ("into", "in"):
        return _division(t, at)
    before = low == "%" and t.glued(at + 1) and not t.glued(at)
    named = unit_at(t, at) if low.startswith("per") else None
    end = at + 1 if before else named[1] + 1 if named and named[0].name == "%" and t.low[named[1]] == "of" else 0
    number = numbers.number(t, end) if end else None  # "percent of twenty", "%20"
    if number is None or number.form == "article":
        return None
    return found_at(t, at, number.end, (number.value,), "%", "percent", glued_unit=True)


def _paper_size(t: Tokens, at: int) -> Found | None:
    size = units.paper_sizes().get(t.text[t.start[at] : t.end[at + 1]])
    if size is None or (t.glued(at + 2) and t.kind[at + 2] == WORD):
        return None
    return found_at(t, at, at + 2, size, "mm", "size", form="paper", glued_unit=True)


def _division(t: Tokens, at: int) -> Found | None:
    """Read "cut it into quarters" and "cut it in half"; "in half" alone is a way of speaking."""
    parts = PARTS.get(t.low[at + 1]) if t.low[at + 1].endswith("s") or t.low[at + 1] == "half" else None
    if parts is None:
        return None
    back = next((back for back in range(1, 6) if t.before(at, back) in words("context", "dividing")), 0)
    return found_at(t, at - back, at + 2, (Fraction(parts),), "piece", "division" if back else "idiom", glued_unit=True)


# --- clock -----------------------------------------------------------------------------------------------------------


def clock(t: Tokens, found: Found) -> Found | None:
    """Read a time of day that begins with this number: "half past seven", "7:30", "2 pm", "eight o'clock"."""
    at, low = found.last, t.low
    if low[at] == "past" or (low[at] == "to" and found.form == "fraction"):
        return _past(t, found)
    if found.value not in range(25):
        return None
    minute, end = 0, at
    if low[at] == ":" and t.glued(at) and t.glued(at + 1) and len(low[at + 1]) == 2 and low[at + 1].isdecimal():
        minute, end = int(low[at + 1]), at + 2
    half, after = _half_of_day(t, end)
    end = max(after, end + (low[end] == "o'clock"))
    return _time(t, found.first, end, int(found.value) * 60 + minute, half) if end > at else None


def _past(t: Tokens, found: Found) -> Found | None:
    hour = numbers.cardinal(t, found.last + 1)
    if hour is None or hour.form == "article" or hour.value not in range(1, 13):
        return None
    part, to = found.form == "fraction", t.low[found.last] == "to"
    if part and found.value not in (_HALF, _QUARTER):
        return None
    if to and (numbers.fraction(t, found.last + 1) or unit_at(t, hour.end) or t.low[hour.end] in units.counted()):
        return None
    minute = int(found.value * 60 if part else found.value)
    half, end = _half_of_day(t, hour.end)
    return _time(t, found.first, end, (int(hour.value) * 60 + (-minute if to else minute)) % (12 * 60), half)


def _half_of_day(t: Tokens, at: int) -> tuple[str, int]:
    if t.low[at] in ("am", "pm"):
        return t.low[at], at + 1
    if t.low[at] in ("a", "p") and t.says(at + 1, ".", "m"):
        return f"{t.low[at]}m", at + 3 + (t.low[at + 3] == ".")
    if t.says(at, "in", "the", "morning"):
        return "am", at
    return ("pm", at) if t.says(at, "in", "the") and t.low[at + 2] in ("evening", "afternoon") else ("", at)


def _time(t: Tokens, first: int, last: int, minutes: int, half: str) -> Found:
    hour, minute = divmod(minutes, 60)
    morning, evening = f"{hour % 12:02d}:{minute:02d}", f"{hour % 12 + 12:02d}:{minute:02d}"
    said = f"{hour:02d}:{minute:02d}" if hour > 12 else {"am": morning, "pm": evening}.get(half, f"{evening}|{morning}")
    return found_at(t, first, last, (said,), kind="clock")


# --- two numbers side by side -----------------------------------------------------------------------------------------


PAIR = "pair"
"""Form of a price of which hundreds may be meant as well."""


def pair(t: Tokens, found: Found, currency: str) -> Found | None:
    """Read "eighteen ninety nine": money where no clock time is meant, a year, a heat, or a grade of sandpaper."""
    second = _second_number(t, found)
    if second is None or found.approximate:
        return None
    last, before, after = second.end, t.before(found.first), t.low[second.end]
    many = (found.value * 100 + second.value,)
    if found.value in range(17, 21) and (after == "when" or before in words("clock", "before_year")):
        return found_at(t, found.first, last, many)
    ends = after in words("price", "after_pair") if t.kind[last] in (WORD, NUMBER) else t.raw[last] in ".,;!?…"
    if before in words("price", "not_before_pair") or not ends:
        return None
    if _is_heat(t, found, last):
        open_scale = {"unit_implied": True, "ambiguous": ("C", "F")}
        return found_at(t, found.first, last, many, "degree", "temperature", **open_scale)
    if words("context", "graded").intersection(t.low[max(0, found.first - _NEAR) : found.first]):
        return found_at(t, found.first, last, many)
    value = found.value + second.value / 100
    form = PAIR if found.value < _HOTTEST_KILN else ""
    return found_at(t, found.first, last, (value,), currency, "currency", unit_implied=True, form=form)


def _second_number(t: Tokens, found: Found) -> Number | None:
    """Return the number of two digits that stands right after a whole number, both in words or both in figures."""
    if not t.starts_number(found.last) or found.form == "fraction" or found.value not in range(1, 1000):
        return None
    second = numbers.cardinal(t, found.last)
    if second is None or not second.whole or not 10 <= second.value < 100:
        return None
    figures = t.kind[found.first] == NUMBER
    alike = figures == (t.kind[found.last] == NUMBER) and not (figures and len(t.raw[found.last]) != 2)
    return second if alike else None


def _is_heat(t: Tokens, found: Found, last: int) -> bool:
    """Return whether words of an oven or a kiln are near, or "heat it to" before."""
    near = t.near(found.first, last, _NEAR)
    before = near[: min(found.first, _NEAR)]
    if not words("heat", "kiln").isdisjoint(near):
        return found.value < _HOTTEST_KILN
    heated = t.before(found.first) in ("to", "at") and words("heat", "heated").intersection(before)
    return found.value < 10 and bool(heated or words("heat", "oven").intersection(near))


_HOTTEST_KILN = 14
"""Hundreds of degrees that no craft kiln exceeds (common practice, no source)."""
_NEAR = 10


def price_per(t: Tokens, found: Found, currency: str) -> Found | None:
    """Read "11.95 a kilo" and "2.40 each" as money: two decimals in figures, for one of something."""
    at = found.last
    if at != found.first + 1 or t.kind[found.first] != NUMBER or len(t.raw[found.first].partition(".")[2]) != 2:
        return None
    of_one = t.low[at] in ("a", "an") and t.kind[at + 1] == WORD and unit_at(t, at + 1) is not None
    if not of_one and t.low[at] not in ("each", "apiece"):
        return None
    return found_at(t, found.first, at, found.values, currency, "currency", unit_implied=True)


# --- names ------------------------------------------------------------------------------------------------------------


def name_number(t: Tokens, found: Found) -> Found | None:
    """Read the number of a page, a version, a step: a name and no amount."""
    spoken_no = found.first > 0 and t.raw[found.first - 1] == "no"
    if found.form == "fraction" or spoken_no or t.before(found.first) not in words("name_number", "before"):
        return None
    last = found.last if found.kind == "number" else found.first + 1
    return found_at(t, found.first - 1, last, found.values, kind="name_number")


def counted_off(t: Tokens, found: Found) -> None:
    """Take "count to twenty" and "count ten" for seconds, in place."""
    back = 1 + (t.before(found.first) == "to")
    if found.kind == "number" and t.before(found.first, back) in ("count", "counting") and amounts.ends(t, found.last):
        found.unit, found.kind, found.unit_implied = "s", "time", True
