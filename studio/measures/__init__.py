"""Every size, length, weight, temperature, time and count that was said, tied to the thing it measures."""

from studio.measures import pieces, units
from studio.measures.things import Things
from studio.measures.units import Usage
from studio.model import Catalogue, Measure, Mention, Sentence, State
from studio.quantity import both
from studio.quantity.found import Found
from studio.quantity.reader import Amounts, amounts_of
from studio.quantity.tokens import NUMBER, VULGAR
from studio.quantity.words import words
from studio.settings import PublishingChoices
from studio.talk import running_text

VERSION = 4
_LEFT_OUT = frozenset("currency number name_number clock division other speed rate idiom".split())
_DOCUMENT_UNITS = {"C": "degC", "F": "degF"}


def measures(
    sentences: tuple[Sentence, ...],
    mentions: tuple[Mention, ...],
    catalogue: Catalogue,
    publishing: PublishingChoices,
    told: Amounts | None = None,
) -> tuple[Measure, ...]:
    """Return the measures of a recording in their order.

    A unit that was not said is taken from the catalogue row of that size, from the talk around, then from the settings;
    `unit_implied` says so, and the state is `ask` where the talk leaves it open. `told` is the talk read once.
    """
    if not sentences:
        return ()
    whole = running_text(sentences)
    told = told or amounts_of(whole.text, currency=publishing.currency)
    rows = told.found
    things = Things(whole, told.tokens, mentions, catalogue)
    usage = units.usage(rows, things, publishing)
    units.settle_units(rows, things, usage)
    kept = [row for row in pieces.sides_joined(rows, things) if _is_measure(row, things)]
    return tuple(_measure(number, row, things, usage) for number, row in enumerate(kept, 1))


def _is_measure(found: Found, things: Things) -> bool:
    """Return whether a quantity is a measure: no money, no page, no discount, no passing year, no name of a row."""
    if found.base in _LEFT_OUT or found.question or not found.exact or things.names_row(found):
        return False
    after = things.tokens.low[found.last]
    if found.base == "percent":
        sold = not words("measures", "discount").isdisjoint(things.sentence(found))
        return min(found.exact) >= 0 and not sold
    if found.base == "time":
        return found.unit not in ("year", "ms") and after not in ("ago", "old")
    return found.kind != "count" or found.computed or max(found.exact) > 1


def _measure(number: int, found: Found, things: Things, usage: Usage) -> Measure:
    whole = things.whole
    dimension = found.kind + ("_range" if found.low is not None else "")
    unit = _DOCUMENT_UNITS.get(found.unit, found.unit)
    metric, imperial = both(found.exact, unit, dimension)
    start_ms, end_ms = whole.time_of(min(found.start, *(found.replaced_at or (found.start,))), found.end)
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
        of=things.of(found) or found.of,
        code=things.code(found),
        replaces=_withdrawn(found, things),
        state=_state(found, things, usage),
    )


def _withdrawn(found: Found, things: Things) -> str | None:
    """Return the words that were withdrawn; those of the measure itself where it was put right later in the talk."""
    if found.recalled:
        return things.text(found)
    return things.whole.text[slice(*found.replaced_at)] if found.replaced_at else None


def _state(found: Found, things: Things, usage: Usage) -> State:
    unsure = found.ambiguous or found.conflict or (found.unit_implied and not usage.sure(found, things))
    unsure = unsure or things.may_name_row(found)
    return "ask" if unsure or (found.relative and found.unit_implied) or _is_garbled(found, things) else "confirmed"


def _is_garbled(found: Found, things: Things) -> bool:
    """Return whether a recogniser wrote a number in a way that has two readings: "3 and 3 ¼", "2 and 6-8"."""
    t, heard = things.tokens, things.text(found)
    doubled = found.repaired and any(sign in VULGAR for sign in heard)
    return doubled or ("-" in heard and t.before(found.first) == "and" and t.kind[found.first - 2] == NUMBER)
