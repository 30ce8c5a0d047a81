"""An amount told earlier and withdrawn later: "I said four earlier, I meant four and a quarter" changes the four."""

from bisect import bisect_left
from collections.abc import Sequence

from studio.quantity.found import Found
from studio.quantity.tokens import END, Tokens
from studio.quantity.words import phrase_after, phrases, words

_TAIL = 12
"""So many words may lie between what "I said" and what stands."""
_LEAD = 6
"""So many words may lie between "I said" and the amount said."""
_SIZES = frozenset(["length", "size"])


def said_before(tokens: Tokens, wrong: Found, right: Found) -> str:
    """Return the words that recall the first of two amounts ("I said") which the second replaces, or nothing.

    Between them stand only words of putting right: "I said four inches earlier, it should have been five".
    """
    between = tokens.low[wrong.last : right.first]
    if wrong.values == right.values or not 0 < len(between) <= _TAIL or not is_recalled(tokens, wrong.first):
        return ""
    at, end, states = wrong.last, right.first, False
    while at < end:
        step = min(phrase_after(tokens, at, phrases("recall", "between")), end)
        if step == at and tokens.low[at] not in words("correction", "filler"):
            return ""
        states = states or not words("recall", "states").isdisjoint(tokens.low[at : max(step, at + 1)])
        at = max(step, at + 1)
    return "i said" if states else ""


def is_recalled(tokens: Tokens, first: int) -> bool:
    """Return whether the amount at a token only says again what was said: "I said four", "did I say four"."""
    known = phrases("recall", "said")
    for at in range(max(0, first - _LEAD), first):
        end = phrase_after(tokens, at, known)
        if at < end <= first:
            return all(tokens.low[place] in words("recall", "lead") for place in range(end, first))
    return False


def withdraw(tokens: Tokens, quantities: Sequence[Found]) -> None:
    """Put each recalled correction into the amount that it recalls, in place; where several may be meant, ask."""
    for place, right in enumerate(quantities):
        if right.replaced_at is None or len(right.replaces) != 1:
            continue
        first = bisect_left(tokens.start, right.replaced_at[0], 0, tokens.count)
        if tokens.kind[first] != END and is_recalled(tokens, first):
            _put_right(right, [one for one in quantities[:place] if one.last <= first])


def _put_right(right: Found, before: Sequence[Found]) -> None:
    told = [one for one in before if _says(one, right)]
    sized = [one for one in told if one.kind in _SIZES]
    told = sized if sized and not right.unit else told
    if not told:
        return
    if right.kind == "number":
        right.kind, right.unit, right.unit_implied = _single(told[-1]), told[-1].unit, told[-1].unit_implied
    alike = {(one.kind, one.unit, one.values, one.quantity) for one in told}
    sure = len(told) == 1 or (len(alike) == 1 and told[0].kind == "size")
    for one in told:
        if sure and _fits(one, right):
            _change(one, right)
        else:
            one.conflict = True


def _single(found: Found) -> str:
    return "length" if found.kind == "size" else found.kind.removesuffix("_range")


def _says(found: Found, right: Found) -> bool:
    """Return whether an amount holds the value that is withdrawn, in a unit that fits."""
    if found.kind in ("number", "name_number", "clock", "idiom", "division"):
        return False
    wrong = right.replaces[0]
    if right.kind == "count" or not right.unit:
        pieces = found.quantity == wrong
        if pieces or right.kind == "count":
            return pieces or (found.unit == right.unit and wrong in found.values)
    same = found.unit == right.unit or found.unit_implied or right.unit_implied
    return wrong in found.values and (not right.unit or (same and _single(found) == _single(right)))


def _fits(found: Found, right: Found) -> bool:
    several = len(right.values) > 1
    return found.quantity == right.replaces[0] or not several or len(found.values) == len(right.values)


def _change(found: Found, right: Found) -> None:
    """Let the later value stand in the earlier amount, which keeps its own place and words."""
    wrong = right.replaces[0]
    if wrong not in found.values and found.quantity == wrong:
        found.quantity = int(right.value)
    elif len(right.values) > 1:
        found.values = right.values
    else:
        found.values = tuple(right.value if value == wrong else value for value in found.values)
    found.replaces, found.recalled = (*found.replaces, wrong), True
