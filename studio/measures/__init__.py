"""Every size, length, weight, temperature, time and count that was said, tied to the thing it measures."""

import re

from studio.measures import pieces, units
from studio.measures.things import Things
from studio.measures.units import Usage
from studio.model import Catalogue, Measure, Mention, Sentence, State
from studio.quantity import both
from studio.quantity.found import Found
from studio.quantity.reader import read
from studio.quantity.tokens import VULGAR
from studio.settings import PublishingChoices
from studio.talk import RunningText, running_text

VERSION = 3
_LEFT_OUT = frozenset(["currency", "number", "name_number", "clock", "division", "other", "speed", "rate", "idiom"])
_DOCUMENT_UNITS = {"C": "degC", "F": "degF"}


def measures(
    sentences: tuple[Sentence, ...], mentions: tuple[Mention, ...], catalogue: Catalogue, publishing: PublishingChoices
) -> tuple[Measure, ...]:
    """Return the measures of a recording in their order.

    A unit that was not said is taken from the catalogue row of that size, from the talk around, then from the settings;
    `unit_implied` says so, and the state is `ask` where the talk leaves it open.
    """
    if not sentences:
        return ()
    whole = running_text(sentences)
    found = read(whole.text, currency=publishing.currency, length=_UNSAID)
    usage = units.usage(found, frozenset(row.code for row in mentions if row.code), catalogue, publishing)
    things = Things(whole, mentions, catalogue)
    settled = units.settle_units(found, things, usage)
    kept = [row for row in pieces.sides_joined(settled, whole) if _is_measure(row, whole)]
    return tuple(_measure(number, row, things, usage) for number, row in enumerate(kept, 1))


_UNSAID = "in"


def _is_measure(found: Found, whole: RunningText) -> bool:
    """Return whether a quantity is a measure: no money, no page, no discount, no passing year."""
    kind = found.kind.removesuffix("_range")
    if kind in _LEFT_OUT or found.question or not found.exact:
        return False
    after = whole.text[found.end : found.end + 12].lower().split()
    if kind == "percent":
        return min(found.exact) >= 0 and after[:1] not in (["off"], ["discount"], ["off,"], ["off."], ["cheaper"])
    if kind == "time":
        return found.unit not in ("year", "ms") and after[:1] not in (["ago"], ["ago,"], ["ago."], ["old"])
    return kind != "count" or found.computed or max(found.exact) > 1


def _measure(number: int, found: Found, things: Things, usage: Usage) -> Measure:
    whole = things.whole
    unit = _DOCUMENT_UNITS.get(found.unit, found.unit)
    dimension = found.kind + ("_range" if found.low is not None else "")
    metric, imperial = both(found.exact, unit, dimension)
    start_ms, end_ms = whole.time_of(min(found.start, *(found.replaced_at or (found.start,))), found.end)
    thing = things.of(found)
    return Measure(
        id=f"m{number}",
        heard=whole.text[found.start : found.end],
        start_ms=start_ms,
        end_ms=end_ms,
        values=found.exact,
        unit=unit,
        dimension=dimension,
        metric=metric,
        imperial=imperial,
        approximate=found.approximate or bool(found.bound),
        unit_implied=found.unit_implied,
        quantity=found.quantity,
        of=thing.name or (things.heard_name(thing.code) if thing.code else None) or found.of,
        code=thing.code,
        replaces=_withdrawn(found, whole),
        state=_state(found, whole, usage),
    )


def _withdrawn(found: Found, whole: RunningText) -> str | None:
    """Return the words that were withdrawn; those of the measure itself where it was put right later in the talk."""
    if found.recalled:
        return whole.text[found.start : found.end]
    return whole.text[slice(*found.replaced_at)] if found.replaced_at else None


def _state(found: Found, whole: RunningText, usage: Usage) -> State:
    relative = found.relative and found.unit_implied
    relative = relative or _is_garbled(found, whole)
    unsure = found.ambiguous or found.conflict or relative or (found.unit_implied and not usage.sure(found))
    return "ask" if unsure else "confirmed"


_DECIMAL_COMMA = re.compile(r"\d,\d{1,2}(?!\d)")
_WHOLE_BEFORE = re.compile(r"\d and $")


def _is_garbled(found: Found, whole: RunningText) -> bool:
    """Return whether a recogniser wrote a number in a way that has two readings: "3 and 3 ¼", "2 and 6-8", "1,2"."""
    heard = whole.text[found.start : found.end]
    if _DECIMAL_COMMA.search(heard):
        return True
    doubled = found.repaired and any(sign in VULGAR for sign in heard)
    return doubled or ("-" in heard and bool(_WHOLE_BEFORE.search(whole.text[max(0, found.start - 6) : found.start])))
