"""Self-correction: "four inches, sorry, four and a quarter" is four and a quarter; the first is kept beside it."""

from studio.quantity import numbers, recalled
from studio.quantity.found import Found
from studio.quantity.named_units import unit_at
from studio.quantity.tokens import NUMBER, WORD, Tokens
from studio.quantity.words import phrase_after, phrases, words

BEFORE = frozenset(word for phrase in phrases("bound", "about", "below", "above").known for word in phrase)
"""Words that may stand before a value and say nothing of a correction."""
_EXPLANATION = 16
"""So many words may explain, after "hang on", why a value is withdrawn."""
_FAR = 30
"""So many words may lie between a value broken off and the one that stands."""
_TAIL = 5
_NAMED = 4
"""So many words may name what is measured, before its unit is put right."""
"""So many words may end the clause before the cue."""


def mended(tokens: Tokens, quantities: list[Found]) -> list[Found]:
    """Return the quantities that stand; each holds what it replaces."""
    kept: list[Found] = []
    for found in quantities:
        if kept and _restated(kept[-1], found):
            found.replaces, found.replaced_at, found.cue = kept[-1].replaces, kept[-1].replaced_at, kept[-1].cue
            kept.pop()
        while kept:
            cue = _cue(tokens, kept, found)
            if not cue:
                break
            _replace(tokens, kept.pop(), found, cue)
        _late(tokens, kept, found)
        _other_unit(tokens, found)
        kept.append(found)
    recalled.withdraw(tokens, kept)
    return kept


def _restated(right: Found, again: Found) -> bool:
    """Return whether a value put right is only said once more, perhaps with its unit: "no, fifty, fifty grams"."""
    like = right.values == again.values and (right.unit == again.unit or right.kind == "number")
    return like and right.replaced_at is not None and again.first - right.last <= _NAMED and not again.replaced_at


def _late(tokens: Tokens, kept: list[Found], right: Found) -> None:
    """Let a value of the same shape replace one that "hang on" broke off, with an argument in bare numbers between."""
    for back in range(2, min(4, len(kept) + 1)):
        wrong = kept[-back]
        far = right.first - wrong.last > _FAR or any(between.kind != "number" for between in kept[-back + 1 :])
        if (
            far
            or (wrong.kind, wrong.form, wrong.unit) != (right.kind, right.form, right.unit)
            or wrong.values == right.values
        ):
            continue
        at = wrong.last + (tokens.raw[wrong.last] in ",.—")
        end = phrase_after(tokens, at, phrases("correction", "broken_off"))
        if end > at > wrong.last and wrong.kind != "number":
            del kept[-back:]
            _replace(tokens, wrong, right, " ".join(tokens.low[at:end]))
            return


def _other_unit(tokens: Tokens, found: Found) -> None:
    """Let a unit replace the one just said: "two teaspoons, I mean tablespoons"."""
    at = found.last
    while tokens.low[found.last] == "of" and at < found.last + _NAMED and tokens.kind[at] == WORD:
        if phrase_after(tokens, at, phrases("correction", "cues")) > at:
            break
        at += 1
    at += tokens.raw[at] in (",", "-", "—", "–")
    end = phrase_after(tokens, at, phrases("correction", "cues"))
    end += end == at > found.last and tokens.low[at] in _HESITATION
    asked = _asked_for(tokens, found, at)
    end = asked or end
    end += tokens.raw[end] == ","
    named = unit_at(tokens, end) if (asked or end > at > found.last) and found.glued_unit else None
    if named is None or named[0].dimension != found.kind or named[0].name == found.unit or tokens.kind[end] != WORD:
        return
    found.replaces, found.replaced_at = found.values, (found.start, found.end)
    found.cue = "did i say" if asked else " ".join(piece for piece in tokens.low[at:end] if piece != ",")
    found.unit, found.last = named[0].name, named[1]
    found.start, found.end = tokens.start[end], tokens.end[named[1] - 1]


_HESITATION = frozenset(["er", "erm", "um", "uh"])


def _asked_for(tokens: Tokens, found: Found, at: int) -> int:
    """Return where a unit stands that puts right one asked back: "did I say metres? Feet."; else 0."""
    for place in range(at, min(at + _TAIL, tokens.count)):
        if tokens.low[place : place + 3] == ["did", "i", "say"]:
            named = unit_at(tokens, place + 3)
            return named[1] + 1 if named and named[0].name == found.unit and tokens.raw[named[1]] == "?" else 0
    return 0


def _cue(tokens: Tokens, kept: list[Found], right: Found) -> str:
    """Return the words that withdraw the last quantity kept in favour of this one, or nothing."""
    wrong = kept[-1]
    if _repeated(tokens, wrong, right):
        return "repeat"
    if not _like(wrong, right) or _argued(tokens, right):
        return ""
    near = cue_between(tokens, wrong.last, right.first) or _apology_after(tokens, wrong, right)
    return near or recalled.said_before(tokens, wrong, right)


def _like(wrong: Found, right: Found) -> bool:
    """Return whether one quantity can stand for the other."""
    if wrong.kind == "clock" or right.kind == "clock":
        return wrong.kind == right.kind
    if "idiom" in (wrong.kind, right.kind) or "division" in (wrong.kind, right.kind):
        return wrong.kind == right.kind
    if len(wrong.values) != len(right.values) and wrong.kind != "number":
        return False
    bare = {"number", "name_number"}
    if wrong.kind in bare or right.kind in bare or wrong.unit_implied or right.unit_implied:
        return "percent" not in (wrong.kind, right.kind) or right.kind in bare
    return wrong.kind == right.kind and (wrong.kind != "count" or wrong.unit == right.unit)


def _argued(tokens: Tokens, right: Found) -> bool:
    return phrase_after(tokens, right.last, phrases("correction", "argument")) > right.last


def _repeated(tokens: Tokens, wrong: Found, right: Found) -> bool:
    """Return whether a speaker only said the same number twice, before many units: "four four inches".

    Bare numbers, and a size before its noun, are never merged: "double seven seven", "three three inch strips".
    """
    return (
        wrong.last == right.first
        and wrong.values == right.values
        and wrong.kind == "number"
        and tokens.kind[wrong.first] == WORD
        and right.glued_unit
        and tokens.low[right.last - 1].endswith(("s", "feet"))
        and right.kind != "currency"
    )


def cue_between(tokens: Tokens, start: int, end: int) -> str:
    """Return the cue of a correction where nothing else stands between two things; else nothing.

    Args:
        tokens: the text.
        start: index after the last token of what was said first.
        end: index of the first token of what was said then.
    """
    if not 0 < end - start <= 3 * _EXPLANATION or _asked(tokens, start):
        return ""
    at, cue = _tail_end(tokens, start, end), ""
    while at < end:
        step = phrase_after(tokens, at, phrases("correction", "cues"))
        if at < step <= end:
            if not _is_cue(tokens, at, step, end, chained=bool(cue)):
                return ""
            said = " ".join(tokens.low[at:step])
            cue = f"{cue} {said}".strip()
            at = step
        elif tokens.low[at] in words("correction", "filler") or tokens.low[at] in BEFORE or tokens.low[at] == "?":
            at += 1
        elif cue and _explains(tokens, start, at, end):
            return cue
        else:
            return ""
    return cue or ("did i say" if tokens.raw[start] == "?" else "")


def _is_cue(tokens: Tokens, at: int, step: int, end: int, *, chained: bool) -> bool:
    """Return whether words that may mark a correction do so here: not "no more than", "wait for it"."""
    if tokens.low[at] == "no" and phrase_after(tokens, at + 1, phrases("correction", "after_no")) > at + 1:
        return False
    if tokens.low[step] in _TAKES_OBJECT:
        return tokens.low[step - 1] not in _WITH_OBJECT
    waits = tokens.low[step - 1] == "wait" and step == end and tokens.raw[at - 1] != ","
    return chained or not waits or tokens.raw[step] in (".", ",", "!")


_TAKES_OBJECT = frozenset(["for", "to", "until", "till", "about", "if"])
_WITH_OBJECT = frozenset(["wait", "on", "sorry", "mean"])


def _tail_end(tokens: Tokens, start: int, end: int) -> int:
    """Return where the clause of the first thing ends, a few words on: "two brads in, actually make that three".

    Where no sign parts them, the few words must belong to the first thing: "ten grams of salt no eleven".
    """
    at = start
    while at < min(end, start + _TAIL) and tokens.kind[at] == WORD:
        if phrase_after(tokens, at, phrases("correction", "cues")) > at:
            belongs = tokens.low[start] in _BELONGING and at > start + 1
            return at if belongs or tokens.low[at - 1] == "but" else start
        at += 1
    return at if tokens.raw[at] in (",", ".", "—", "–", "-", "…") else start


_BELONGING = frozenset("of to in for from on per".split())


def _explains(tokens: Tokens, start: int, at: int, end: int) -> bool:
    """Return whether the words from `at` only explain, after a strong cue, what was wrong."""
    strong = any(phrase_after(tokens, place, phrases("correction", "strong")) > place for place in range(start, at))
    clause = tokens.low[at:end]
    if not strong or len(clause) > _EXPLANATION or any(kind == NUMBER for kind in tokens.kind[at:end]):
        return False
    if "," in clause and not {"and", "for", "with", "need", "want"}.intersection(clause[clause.index(",") :]):
        return True
    return _says_again(clause)


def _says_again(clause: list[str]) -> bool:
    """Return whether an explanation ends in "it's", "that's", "it says" alone, before the value that stands."""
    signs = [place for place, word in enumerate(clause) if word in _SIGNS]
    last = clause[signs[-1] + 1 :] if signs else []
    ends = bool(_COPULAS.intersection(last)) and words("correction", "filler").issuperset(last)
    return ends or (not signs and clause[-1] in _COPULAS)


_SIGNS = frozenset([",", ".", "…", "—", "–", ";"])
_COPULAS = frozenset("it's that's is says say reads they're there's".split())


def _asked(tokens: Tokens, start: int) -> bool:
    """Return whether a question stands before, other than "did I say …?"."""
    if tokens.raw[start] != "?":
        return False
    before = tokens.low[max(0, start - 10) : start]
    return not ("did" in before and "say" in before) and not ("was" in before and "it" in before)


def _apology_after(tokens: Tokens, wrong: Found, right: Found) -> str:
    """Read "fifty, sixty, I beg your pardon" and "over fifty, over sixty, sorry"."""
    between = tokens.low[wrong.last : right.first]
    if (
        between[:1] not in ([","], ["."])
        or not BEFORE.issuperset(between[1:])
        or wrong.values == right.values
        or wrong.kind == "count" != right.kind
    ):
        return ""
    at = right.last + (tokens.raw[right.last] == ",")
    end = phrase_after(tokens, at, phrases("correction", "apology"))
    if tokens.kind[end] == WORD and not numbers.starts_number(tokens, end) and tokens.low[end] not in BEFORE:
        return ""
    return " ".join(tokens.low[at:end])


def _replace(tokens: Tokens, wrong: Found, right: Found, cue: str) -> None:
    """Let the new quantity stand, in the unit of the first where it has none."""
    if cue == "repeat":
        right.first, right.start = wrong.first, wrong.start
        return
    if right.kind == "number" and wrong.kind != "number":
        right.unit, right.kind = wrong.unit, wrong.kind.removesuffix("_range") if len(right.values) == 1 else wrong.kind
        right.ambiguous = wrong.ambiguous
    if right.unit_implied and wrong.unit and not wrong.unit_implied:
        right.unit, right.unit_implied = wrong.unit, False
    right.quantity = right.quantity or wrong.quantity
    changed = tuple(value for value in wrong.values if value not in right.values or len(wrong.values) == 1)
    right.replaces = (*wrong.replaces, *(changed or wrong.values))
    start = wrong.replaced_at[0] if wrong.replaced_at else wrong.start
    right.replaced_at, right.cue = (start, wrong.end), cue
    right.question = False
    if wrong.values == right.values and wrong.unit == right.unit:
        right.replaces, right.replaced_at, right.cue = wrong.replaces, wrong.replaced_at, wrong.cue
