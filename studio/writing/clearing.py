"""What must not be printed is taken out of a sentence clause by clause: prices, private talk, wrong facts, chatter."""

import re
from collections.abc import Sequence

from studio.writing import wording, worth
from studio.writing.marks import SentenceMark
from studio.writing.redaction import Working, applied

SHORT = 4
"""A sentence of so few words without an item, a size, a step or a warning says nothing by itself."""

_TAKEN_OUT = {
    "price": "the price is printed from the catalogue",
    "private": "private",
    "said wrong": "the catalogue says otherwise",
    "named": "names a person",
    "withdrawn": "withdrawn aloud",
}


def unfit(working: Working, found: list[SentenceMark]) -> str:
    """Take out the clauses that must not be printed; return why the sentence cannot stay, where that is not enough."""
    if any(mark.kind == "offer" for mark in found):
        return "told in the offer box"
    why = "nothing left"
    for kind, reason in _TAKEN_OUT.items():
        out = [mark for mark in found if mark.kind == kind and mark.shown is None]
        why = reason if out else why
        if out and not _cleared(working, out, found, reason):
            return reason
    if why != "nothing left":
        _without_hanging_start(working, why)
    hangs = why != "nothing left" and not _has_main_clause(working.text)
    return why if hangs or not worth.said_words(working.text) else ""


_WAITS = re.compile(
    r"\W*(?:(?:and|so|but|now|well)\s+)?(?:(?:there's|there are|there is|it's|they're|you get|you've got|it comes|"
    r"they come|what is it|what's that|what was it|what are they|let me see|let's see|how many is it)\s*[,;]\s*)+",
    re.IGNORECASE,
)
"""An opening that waits for the words that were taken out ("There's, what is it, ...")."""


def _without_hanging_start(working: Working, why: str) -> None:
    """Take out an opening clause that belonged to what was taken out beside it ("which is the cheapest there")."""
    stretches = wording.clauses(working.text)
    first = worth.said_words(working.text)[:1]
    if len(stretches) > 1 and first and first[0] in {"which", "who", "whose", "where"}:
        working.replace(*stretches[0], "", why)
    out = next((edit for edit in working.edits if not edit.shown and edit.rule in _TAKEN_OUT.values()), None)
    before = applied(working.source, working.start, out.start, working.edits[: working.edits.index(out)]) if out else ""
    if _WAITS.fullmatch(before):
        working.replace(0, len(before), "", why)


def _has_main_clause(text: str) -> bool:
    """Return whether a clause with a verb is left that needs no other ("if you were wondering" does)."""
    stretches = [text[start:end] for start, end in wording.clauses(text)]
    return any(worth.has_finite_verb(one) and not wording.depends(one) for one in stretches) or _figure_left(text)


def _figure_left(text: str) -> bool:
    """Return whether a figure is left in the text."""
    return any(char.isdigit() for char in text)


def _cleared(working: Working, out: Sequence[SentenceMark], found: list[SentenceMark], reason: str) -> bool:
    """Take the words of the marks out with their clauses; return whether none of them is left."""
    spoken = [_as_it_stands(mark, working.source, found).lower() for mark in out]
    keep = [
        (mark.shown if mark.shown is not None else working.source[mark.start : mark.end]).lower()
        for mark in found
        if mark.kind in {"name", "size"} and mark.end > mark.start and not _overlaps_any(mark, out)
    ]

    def bad(text: str) -> bool:
        return any(words in text.lower() for words in spoken)

    def good(text: str) -> bool:
        return any(words in text.lower() for words in keep)

    if reason == _TAKEN_OUT["price"]:
        _price_phrases(working, spoken)
    return wording.without_clauses(working, bad, good, reason)


def _as_it_stands(mark: SentenceMark, source: str, found: list[SentenceMark]) -> str:
    """Return the words of a mark with what is already shown in place of some of them ("ten grams": "10 g")."""
    text = source[mark.start : mark.end]
    inside = [one for one in found if one.shown is not None and mark.start <= one.start < one.end <= mark.end]
    for one in sorted(inside, key=lambda one: -one.start):
        text = text[: one.start - mark.start] + (one.shown or "") + text[one.end - mark.start :]
    return text


def _overlaps_any(mark: SentenceMark, others: Sequence[SentenceMark]) -> bool:
    return any(mark.start < other.end and other.start < mark.end for other in others)


_BEFORE_PRICE = (
    r"(?:(?:it|they|that|this|those|these|which|that one|this one|each|both)"
    r"(?:'s|'re|'ll be| is| are| was| were| costs?| comes? (?:in|to|in at|out at)| will be| would be)"
    r"|for|at|just|only|costs?|about|and|so|is|are|was|were|priced at) "
)
_AFTER_PRICE = (
    r"(?: (?:each|apiece|a piece|a \w+|per \w+|for (?:that|this|the \w+)(?: one)?|the (?:pair|set|lot|pack)))?"
)
_LEFT_HANGING = frozenset(
    "and so it they that this which for at is are was were it's they're that's but just only then".split()
)


def _price_phrases(working: Working, spoken: Sequence[str]) -> None:
    """Take out the price with the few words that belong to it ("for five dollars", "it's £18", "£6 each")."""
    words = "|".join(re.escape(text) for text in sorted(spoken, key=len, reverse=True))
    phrase = re.compile(
        rf"(?:^|(?<= ))(?:{_BEFORE_PRICE}){{0,3}}(?:{words}){_AFTER_PRICE}\s*(?=[,.;?!]|$)", re.IGNORECASE
    )
    for start, end in reversed(wording.clauses(working.text)):
        clause = working.text[start:end]
        hit = phrase.search(clause)
        if not hit:
            continue
        rest = clause[: hit.start()] + clause[hit.end() :]
        hangs = set(worth.said_words(rest)) <= _LEFT_HANGING or (
            worth.has_finite_verb(clause) and not worth.has_finite_verb(rest)
        )
        first, last = (0, len(clause)) if hangs else hit.span()
        keep_stop = end == len(working.text) and last == len(clause) and clause.rstrip()[-1:] in ".!?"
        working.replace(start + first, start + last - keep_stop, "", _TAKEN_OUT["price"])


_TAILS = {"aside", "talk about the recording", "greeting", "sign-off"}


def without_tail(working: Working) -> None:
    """Take the chatter off the end of a sentence whose beginning is worth keeping ("..., and mind the kids")."""
    text = working.text
    if worth.reason_to_leave_out(text, holds_fact=False) not in _TAILS:
        return
    for start, _ in wording.clauses(text)[1:]:
        kept = text[:start].rstrip(" ,;:–—-")
        good = (
            worth.has_finite_verb(text[start:])
            and len(worth.said_words(kept)) > SHORT
            and worth.has_finite_verb(kept)
            and not wording.depends(kept)
        )
        if (
            good
            and worth.reason_to_leave_out(text[start:], holds_fact=False) in _TAILS
            and worth.kind_of(kept) != "talk"
        ):
            if not worth.reason_to_leave_out(kept, holds_fact=False):
                working.replace(len(kept), len(text), ".", "chatter at the end")
            return
