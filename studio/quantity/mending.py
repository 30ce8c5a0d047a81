"""Self-correction: "four inches, sorry, four and a quarter" is four and a quarter; the first is kept beside it."""

from bisect import bisect_left
from collections.abc import Sequence

from studio.quantity.found import Found
from studio.quantity.tokens import END, NUMBER, WORD, Tokens
from studio.quantity.units import unit_at
from studio.quantity.words import phrase_after, phrases, words

_EXPLANATION = 16
"""So many words may explain, after "hang on", why a value is withdrawn."""
_TAIL = 5
"""So many words may end the clause before the cue."""
_NAMED = 4
"""So many words may name what is measured, before its unit is put right."""


_BEFORE = frozenset(word for said in phrases("bound", "about", "below", "above").known for word in said)
"""Words that may stand before a value and say nothing of a correction."""


def mended(t: Tokens, quantities: list[Found]) -> list[Found]:
    """Return the quantities that stand; each holds what it replaces."""
    kept: list[Found] = []
    for found in quantities:
        again = bool(kept) and _restated(kept[-1], found)
        if again:
            found.replaces, found.replaced_at, found.cue = kept[-1].replaces, kept[-1].replaced_at, kept[-1].cue
            kept[-1].replaces, kept[-1].replaced_at, kept[-1].cue = (), None, ""
        while kept and not again and (cue := _cue(t, kept[-1], found)):
            _replace(t, kept.pop(), found, cue)
        _other_unit(t, found)
        kept.append(found)
    _withdraw(t, kept)
    return kept


def _restated(right: Found, again: Found) -> bool:
    """Return whether a value put right is only said once more, perhaps with its unit: "no, fifty, fifty grams"."""
    like = right.values == again.values and (right.unit == again.unit or right.kind == "number")
    return like and right.replaced_at is not None and again.first - right.last <= _NAMED and not again.replaced_at


def _cues(t: Tokens, at: int) -> int:
    """Return where a cue of a correction ends that begins here; the place itself where there is none."""
    return phrase_after(t, at, phrases("correction", "cues"))


def _other_unit(t: Tokens, found: Found) -> None:
    """Let a unit replace the one just said: "two teaspoons, I mean tablespoons", "did I say metres? Feet."."""
    at = found.last
    while t.low[found.last] == "of" and at < found.last + _NAMED and t.kind[at] == WORD and _cues(t, at) == at:
        at += 1
    at += t.raw[at] in (",", "-", "—", "–")
    end = _cues(t, at)
    end += end == at > found.last and t.low[at] in ("er", "erm", "um", "uh")
    asked = _asked_for(t, found, at)
    end = asked or end
    end += t.raw[end] == ","
    named = unit_at(t, end) if (asked or end > at > found.last) and found.glued_unit else None
    if named is None or named[0].dimension != found.kind or named[0].name == found.unit or t.kind[end] != WORD:
        return
    found.replaces, found.replaced_at = found.values, (found.start, found.end)
    found.cue = "did i say" if asked else " ".join(piece for piece in t.low[at:end] if piece != ",")
    found.unit, found.start = named[0].name, t.start[end]
    found.reach(t, named[1])


def _asked_for(t: Tokens, found: Found, at: int) -> int:
    """Return where a unit stands that puts right one asked back: "did I say metres? Feet."; else 0."""
    place = next((place for place in range(at, min(at + _TAIL, t.count)) if t.says(place, "did", "i", "say")), 0)
    named = unit_at(t, place + 3) if place else None
    return named[1] + 1 if named and named[0].name == found.unit and t.raw[named[1]] == "?" else 0


def _cue(t: Tokens, wrong: Found, right: Found) -> str:
    """Return the words that withdraw the last quantity kept in favour of this one, or nothing."""
    if _repeated(t, wrong, right):
        return "repeat"
    argued = phrase_after(t, right.last, phrases("correction", "argument")) > right.last
    if argued or not _like(wrong, right):
        return ""
    return cue_between(t, wrong.last, right.first) or _apology_after(t, wrong, right) or _said_before(t, wrong, right)


def _apology_after(t: Tokens, wrong: Found, right: Found) -> str:
    """Read "fifty, sixty, I beg your pardon" and "over fifty, over sixty, sorry"."""
    between = t.low[wrong.last : right.first]
    at = right.last + (t.raw[right.last] == ",")
    end = phrase_after(t, at, phrases("correction", "apology"))
    near = between[:1] in ([","], ["."]) and _BEFORE.issuperset(between[1:]) and wrong.values != right.values
    goes_on = t.kind[end] == WORD and not t.starts_number(end) and t.low[end] not in _BEFORE
    return " ".join(t.low[at:end]) if near and not goes_on else ""


def _like(wrong: Found, right: Found) -> bool:
    """Return whether one quantity can stand for the other."""
    kinds = {wrong.kind, right.kind}
    if len(kinds) == 1:
        return (wrong.kind != "count" or wrong.unit == right.unit) and len(wrong.values) == len(right.values)
    if kinds & {"clock", "division"} or (len(wrong.values) != len(right.values) and wrong.kind != "number"):
        return False
    bare = {"number", "name_number"}
    open_kind = kinds & bare or wrong.unit_implied or right.unit_implied
    return bool(open_kind) and ("percent" not in kinds or right.kind in bare)


def _repeated(t: Tokens, wrong: Found, right: Found) -> bool:
    """Return whether a speaker only said the same number twice, before many units: "four four inches"."""
    same = wrong.last == right.first and wrong.values == right.values and wrong.kind == "number"
    several = right.glued_unit and t.low[right.last - 1].endswith(("s", "feet")) and right.kind != "currency"
    return same and several and t.kind[wrong.first] == WORD


def cue_between(t: Tokens, start: int, end: int) -> str:
    """Return the cue of a correction where nothing else stands between two things; else nothing.

    Args:
        t: the text.
        start: index after the last token of what was said first.
        end: index of the first token of what was said then.
    """
    if not 0 < end - start <= 3 * _EXPLANATION or _asked(t, start):
        return ""
    at, cue = _tail_end(t, start, end), ""
    while at < end:
        step = _cues(t, at)
        if at < step <= end:
            if not _is_cue(t, at, step, end, chained=bool(cue)):
                return ""
            cue = f"{cue} {' '.join(t.low[at:step])}".strip()
            at = step
        elif t.low[at] in words("correction", "filler") or t.low[at] in _BEFORE or t.low[at] == "?":
            at += 1
        else:
            return cue if cue and _explains(t, start, at, end) else ""
    return cue or ("did i say" if t.raw[start] == "?" else "")


def _is_cue(t: Tokens, at: int, step: int, end: int, *, chained: bool) -> bool:
    """Return whether words that may mark a correction do so here: not "no more than", "wait for it"."""
    if t.low[at] == "no" and phrase_after(t, at + 1, phrases("correction", "after_no")) > at + 1:
        return False
    if t.low[step] in ("for", "to", "until", "till", "about", "if"):
        return t.low[step - 1] not in ("wait", "on", "sorry", "mean")
    waits = t.low[step - 1] == "wait" and step == end and t.raw[at - 1] != ","
    return chained or not waits or t.raw[step] in (".", ",", "!")


def _tail_end(t: Tokens, start: int, end: int) -> int:
    """Return where the clause of the first thing ends, a few words on: "two brads in, actually make that three".

    Where no sign parts them, the few words must belong to the first thing: "ten grams of salt no eleven".
    """
    at = start
    while at < min(end, start + _TAIL) and t.kind[at] == WORD:
        if _cues(t, at) > at:
            belongs = t.low[start] in ("of", "to", "in", "for", "from", "on", "per") and at > start + 1
            return at if belongs or t.low[at - 1] == "but" else start
        at += 1
    return at if t.raw[at] in (",", ".", "—", "–", "-", "…") else start


def _explains(t: Tokens, start: int, at: int, end: int) -> bool:
    """Return whether the words from `at` only explain, after a strong cue, what was wrong."""
    strong = any(phrase_after(t, place, phrases("correction", "strong")) > place for place in range(start, at))
    clause = t.low[at:end]
    if not strong or len(clause) > _EXPLANATION or NUMBER in t.kind[at:end]:
        return False
    rest = clause[clause.index(",") :] if "," in clause else []
    last = rest[len(rest) - [*reversed(rest), ","].index(",") :]
    says = words("correction", "says").intersection(last or clause[-1:])
    return bool(rest and not {"and", "for", "with", "need", "want"}.intersection(rest)) or bool(says)


def _asked(t: Tokens, start: int) -> bool:
    """Return whether a question stands before, other than "did I say …?"."""
    before = t.low[max(0, start - 10) : start] if t.raw[start] == "?" else []
    return bool(before) and not ({"did", "say"} <= {*before} or {"was", "it"} <= {*before})


def _replace(t: Tokens, wrong: Found, right: Found, cue: str) -> None:
    """Let the new quantity stand, in the unit of the first where it has none."""
    if cue == "repeat":
        right.begin(t, wrong.first)
        return
    if right.kind == "number" and wrong.kind != "number":
        right.unit, right.kind = wrong.unit, wrong.base if len(right.values) == 1 else wrong.kind
        right.ambiguous = wrong.ambiguous
    if right.unit_implied and wrong.unit and not wrong.unit_implied:
        right.unit, right.unit_implied = wrong.unit, False
    right.quantity, right.question = right.quantity or wrong.quantity, False
    if wrong.values == right.values and wrong.unit == right.unit:
        right.replaces, right.replaced_at, right.cue = wrong.replaces, wrong.replaced_at, wrong.cue
        return
    changed = tuple(value for value in wrong.values if value not in right.values or len(wrong.values) == 1)
    right.replaces = (*wrong.replaces, *(changed or wrong.values))
    start = wrong.replaced_at[0] if wrong.replaced_at else wrong.start
    right.replaced_at, right.cue = (start, wrong.end), cue


# --- "I said four earlier, I meant four and a quarter" changes the four -----------------------------------------------


def _said_before(t: Tokens, wrong: Found, right: Found) -> str:
    """Return the words that recall the first of two amounts ("I said") which the second replaces, or nothing."""
    at, states = wrong.last, False
    far = not 0 < right.first - at <= 12
    if far or wrong.values == right.values or not _is_recalled(t, wrong.first):
        return ""
    while at < right.first:
        step = phrase_after(t, at, phrases("recall", "between"))
        if step == at and t.low[at] not in words("correction", "filler"):
            return ""
        step = max(step, at + 1)
        states = states or not words("recall", "states").isdisjoint(t.low[at:step])
        at = step
    return "i said" if states else ""


def _is_recalled(t: Tokens, first: int) -> bool:
    """Return whether the amount at a token only says again what was said: "I said four", "did I say four"."""
    for at in range(max(0, first - 6), first):
        end = phrase_after(t, at, phrases("recall", "said"))
        if at < end <= first:
            return words("recall", "lead").issuperset(t.low[end:first])
    return False


def _withdraw(t: Tokens, quantities: Sequence[Found]) -> None:
    """Put each recalled correction into the amount that it recalls, in place; where several may be meant, ask."""
    for place, right in enumerate(quantities):
        if right.replaced_at is None or len(right.replaces) != 1:
            continue
        first = bisect_left(t.start, right.replaced_at[0], 0, t.count)
        if t.kind[first] != END and _is_recalled(t, first):
            _put_right(right, [one for one in quantities[:place] if one.last <= first and _says(one, right)])


def _put_right(right: Found, told: Sequence[Found]) -> None:
    sized = [one for one in told if one.kind in ("length", "size")]
    told = sized if sized and not right.unit else told
    if told and right.kind == "number":
        right.kind, right.unit, right.unit_implied = _single(told[-1]), told[-1].unit, told[-1].unit_implied
    for one in told:
        one.conflict = len(told) > 1 or not _change(one, right)


def _single(found: Found) -> str:
    return "length" if found.kind == "size" else found.base


def _says(found: Found, right: Found) -> bool:
    """Return whether an amount holds the value that is withdrawn, in a unit that fits."""
    if found.kind in ("number", "name_number", "clock", "idiom", "division"):
        return False
    wrong = right.replaces[0]
    if found.quantity == wrong and (right.kind == "count" or not right.unit):
        return True
    same = found.unit == right.unit or (right.kind != "count" and (found.unit_implied or right.unit_implied))
    return wrong in found.values and (not right.unit or (same and _single(found) == _single(right)))


def _change(found: Found, right: Found) -> bool:
    """Let the later value stand in the earlier amount, which keeps its own place and words; tell whether it fits."""
    wrong = right.replaces[0]
    if wrong not in found.values and found.quantity == wrong:
        found.quantity = int(right.value)
    elif len(right.values) == 1:
        found.values = tuple(right.value if value == wrong else value for value in found.values)
    elif len(found.values) == len(right.values):
        found.values = right.values
    else:
        return False
    found.replaces, found.recalled = (*found.replaces, wrong), True
    return True
