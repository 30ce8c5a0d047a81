"""Self-corrections: what was said first and withdrawn, what stands, and the words that mark it."""

import re
from collections.abc import Iterator

from studio import rule_files
from studio.model import Correction, Sentence
from studio.quantity.found import Found
from studio.quantity.mending import cue_between
from studio.quantity.reader import Amounts, amounts_of
from studio.quantity.tokens import WORD, Tokens
from studio.quantity.words import phrase_after, phrases, words
from studio.talk import RunningText, running_text

VERSION = 4
_JOINING = frozenset(["and", "of", "&", "the", "in", "-"])
_DETERMINERS = frozenset(["the", "a", "an", "my", "this", "your", "our"])
_NO_NAMES = frozenset(
    "i i'm i'd i've i'll oh no so and but now okay ok right well yes yeah sorry this that it it's that's what let "
    "actually wait hang hold there there's then the a an you your my we we're they're".split()
)
_HESITATION = frozenset(["oh", "um", "uh", "er", "erm", "ah"])
_ARGUING = frozenset("says is are was were isn't aren't would will won't does doesn't about for".split())
_LONGEST_NAME = 6
_LONGEST_EXPLANATION = 16


def corrections(sentences: tuple[Sentence, ...], told: Amounts | None = None) -> tuple[Correction, ...]:
    """Return every self-correction of a value, a name or a word, in the order of the recording.

    The last of a chain stands: "ten, no, eleven, sorry, twelve" is one correction of ten to twelve. Like replaces like:
    a number a number of its kind, a name a name. `told` is the talk read once.
    """
    if not sentences:
        return ()
    whole = running_text(sentences)
    tokens, amounts = told or amounts_of(whole.text)
    values = [_correction(whole, *span) for span in _of_values(amounts)]
    taken = [(span.start_ms, span.end_ms) for span in values]
    spans = _apart([*_of_names(tokens), *beliefs(tokens), *meant(tokens), *labelled(tokens)])
    named = [_correction(whole, *span) for span in spans]
    fresh = [found for found in named if not any(found.start_ms < end and start < found.end_ms for start, end in taken)]
    return tuple(sorted([*values, *fresh], key=lambda found: found.start_ms))


Span = tuple[int, int, int, int, str]
"""First and last character of what was withdrawn, the same of what stands, and the cue."""


def _correction(whole: RunningText, wrong: int, wrong_end: int, right: int, right_end: int, cue: str) -> Correction:
    start_ms, end_ms = whole.time_of(wrong, right_end)
    text = whole.text
    return Correction(
        start_ms=start_ms, end_ms=end_ms, wrong=text[wrong:wrong_end], right=text[right:right_end], cue=cue
    )


def _apart(spans: list[Span]) -> list[Span]:
    """Return the spans that do not reach into one found before them."""
    kept: list[Span] = []
    for span in spans:
        if not any(span[0] < other[3] and other[0] < span[3] for other in kept):
            kept.append(span)
    return kept


def _of_values(amounts: list[Found]) -> Iterator[Span]:
    for found in amounts:
        if found.replaced_at is not None:
            yield *found.replaced_at, found.start, found.end, found.cue


def _of_names(tokens: Tokens) -> Iterator[Span]:
    """Find a name, a cue, and a like name."""
    at, cues = 1, phrases("correction", "cues")
    while at < tokens.count:
        end = phrase_after(tokens, at, cues)
        first = at - (tokens.before(at) in _HESITATION)
        marked = end > at and tokens.raw[first - 1] in ",.?!—–-…"
        span = _around_cue(tokens, first, end) if marked else _unmarked(tokens, at, end)
        if span is not None:
            yield span
        at = max(end, at + 1)


def _around_cue(tokens: Tokens, at: int, end: int) -> Span | None:
    for left in (_name_before(tokens, at - 1), _phrase_before(tokens, at - 1)):
        if left is None:
            continue
        right = _same_name(tokens, left, end) if left[2] else _parallel(tokens, left, end)
        if right is not None and _text(tokens, *left[:2]) != _text(tokens, *right):
            return _span(tokens, left, right, " ".join(tokens.low[at:end]))
    return _alike(tokens, at, end)


def _unmarked(tokens: Tokens, at: int, end: int) -> Span | None:
    """Find "the lid I mean the base", written without a sign between."""
    if end == at or _cue_end(tokens, at - 1) == at:
        return None
    while end < at + _LONGEST_EXPLANATION and _cue_end(tokens, end) > end:
        end = _cue_end(tokens, end)
    if end - at < _PLAIN_CUE or tokens.low[at - 1] in _NO_THINGS:
        return None
    left = _phrase_before(tokens, at)
    right = _parallel(tokens, left, end) if left is not None else None
    if left is None or right is None:
        return _alike(tokens, at + 1, end)
    return _span(tokens, left, right, " ".join(tokens.low[at:end]))


_PLAIN_CUE = 2
"""A cue of so many words needs no sign before it."""
_NO_THINGS = frozenset("one ones thing things".split())


def _span(tokens: Tokens, left: tuple[int, int, bool], right: tuple[int, int], cue: str) -> Span:
    start, end = tokens.start, tokens.end
    return start[left[0]], end[left[1] - 1], start[right[0]], end[right[1] - 1], cue


def _alike(tokens: Tokens, at: int, end: int) -> Span | None:
    """Find two words of one short list on both sides of a cue: "it's medium, no, large"."""
    right = _after_cues(tokens, end)
    for kind in rule_files.typed(dict[str, str], "quantities.toml", "alike"):
        pair = {tokens.low[at - 2], tokens.low[right]}
        if at > 1 and len(pair) == 2 and pair <= words("alike", kind):
            cue = " ".join(tokens.low[at:end])
            return (tokens.start[at - 2], tokens.end[at - 2], tokens.start[right], tokens.end[right], cue)
    return None


def _text(tokens: Tokens, first: int, last: int) -> str:
    return " ".join(tokens.low[first:last])


def _is_name(tokens: Tokens, at: int) -> bool:
    return tokens.kind[at] == WORD and tokens.raw[at][:1].isupper() and tokens.low[at] not in _NO_NAMES


def _name_before(tokens: Tokens, end: int) -> tuple[int, int, bool] | None:
    """Return the run of capital words that ends right before a piece: "Fig and Fir"."""
    first = end
    while (
        first > 0 and end - first < _LONGEST_NAME and (_is_name(tokens, first - 1) or tokens.low[first - 1] in _JOINING)
    ):
        first -= 1
    while first < end and not _is_name(tokens, first):
        first += 1
    return (first, end, True) if first < end and _is_name(tokens, end - 1) else None


def _name_from(tokens: Tokens, at: int) -> int:
    """Return where the run of capital words ends that begins at a piece."""
    end = at
    while end - at < _LONGEST_NAME and (
        _is_name(tokens, end) or (tokens.low[end] in _JOINING and _is_name(tokens, end + 1))
    ):
        end += 1
    return end


def _same_name(tokens: Tokens, left: tuple[int, int, bool], at: int) -> tuple[int, int] | None:
    """Return the name that stands: right after the cue, or, where it resembles the first, a few words later."""
    direct, beyond = True, at
    for place in range(at, min(at + _LONGEST_EXPLANATION, tokens.count)):
        if place < beyond:
            continue
        beyond = max(place + 1, _cue_end(tokens, place))
        if _is_name(tokens, place):
            end = _name_from(tokens, place)
            likes = _resemble(tokens.low[left[0] : left[1]], tokens.low[place:end])
            even = direct and abs((end - place) - (left[1] - left[0])) <= 1 and tokens.low[end] not in _ARGUING
            return (place, end) if likes or even else None
        step = beyond > place + 1 or _cue_end(tokens, place) > place
        direct = direct and (
            step or tokens.low[place] in words("correction", "filler") or tokens.before(place + 1) in _DETERMINERS
        )
        if tokens.low[place] in ("about", "for") and place == at:
            return None
    return None


def _resemble(first: list[str], second: list[str]) -> bool:
    """Return whether two names share a word, or begin alike."""
    meant = set(first) - _JOINING
    shared = bool(meant.intersection(second))
    return shared or (len(first[0]) > 3 and first[0][:4] == second[0][:4])


_TRIVIAL = re.compile(r"[^\w-]+")


def _phrase_before(tokens: Tokens, end: int) -> tuple[int, int, bool] | None:
    """Return "the matt card" right before a piece, in whatever letters."""
    for first in range(end - 1, max(-1, end - _LONGEST_NAME), -1):
        if _TRIVIAL.fullmatch(tokens.raw[first]):
            return None
        if tokens.low[first] in _DETERMINERS:
            return (first, end, False) if first < end - 1 else None
    return None


def _parallel(tokens: Tokens, left: tuple[int, int, bool], at: int) -> tuple[int, int] | None:
    """Return a phrase after the cue that is built like the one before it: "the matt, sorry, the gloss"."""
    if not cue_between(tokens, left[1], at):
        return None
    place, last = at, min(at + _LONGEST_EXPLANATION, tokens.count)
    while place < last and (tokens.raw[place] in ",.—" or _cue_end(tokens, place) > place):
        place = max(place + 1, _cue_end(tokens, place))
    direct = _like_phrase(tokens, left, place)
    explained = _past_explanation(tokens, left, at) if direct is None else 0
    return _like_phrase(tokens, left, explained) if explained else direct


def _cue_end(tokens: Tokens, at: int) -> int:
    return phrase_after(tokens, at, phrases("correction", "cues"))


def _after_cues(tokens: Tokens, at: int) -> int:
    """Return the next place that holds no cue and no word without meaning."""
    last = min(at + _LONGEST_EXPLANATION, tokens.count)
    while at < last:
        step = _cue_end(tokens, at)
        if step == at and tokens.raw[at] != "," and tokens.low[at] not in words("correction", "filler"):
            break
        at = max(step, at + 1)
    return at


def _past_explanation(tokens: Tokens, left: tuple[int, int, bool], at: int) -> int:
    """Return where a phrase begins after cues and one clause that says why: "no, that's blunt, the …"; else 0."""
    strong = phrases("correction", "strong")
    if not any(phrase_after(tokens, place, strong) > place for place in range(left[1], _after_cues(tokens, at))):
        return 0
    place = _after_cues(tokens, at)
    last = min(place + _LONGEST_CLAUSE, tokens.count)
    while place < last and tokens.kind[place] == WORD:
        place += 1
    return place + 1 if tokens.raw[place] == "," and place < last else 0


_LONGEST_CLAUSE = 6


def _like_phrase(tokens: Tokens, left: tuple[int, int, bool], at: int) -> tuple[int, int] | None:
    """Return the phrase at a place: it begins with the same article, or ends in the same noun, as one before."""
    same_noun = _same_noun(tokens, left, at)
    if tokens.low[at] != tokens.low[left[0]]:
        return same_noun
    end = at + 1
    while end < tokens.count and end - at <= left[1] - left[0] and not _TRIVIAL.fullmatch(tokens.raw[end]):
        if tokens.low[end] in _ARGUING:
            return None
        end += 1
    return (at, end) if end > at + 1 and tokens.low[end] not in _ARGUING else None


def _same_noun(tokens: Tokens, left: tuple[int, int, bool], at: int) -> tuple[int, int] | None:
    """Return "clear varnish" after "the matt varnish"."""
    noun, said = tokens.low[left[1] - 1], set(tokens.low[left[0] + 1 : left[1]])
    for end in range(at + 2, at + left[1] - left[0] + 1):
        if tokens.low[end - 1] == noun and tokens.kind[at] == WORD and tokens.low[end] not in _ARGUING:
            return None if said.issubset(tokens.low[at:end]) else (at, end)
    return None


_DENIED = (
    ("i", "have", "not"), ("i", "haven't"), ("i", "didn't"), ("i", "did", "not"), ("it", "isn't"), ("it", "is", "not"),
    ("it", "wasn't"), ("it's", "not"), ("that's", "not", "it"), ("i", "hadn't"), ("it's", "wrong"),
    ("i", "was", "wrong"),
)  # fmt: skip
_BELIEVED = frozenset("thought think believed assumed figured reckoned supposed".split())
_REACH = 14


def beliefs(tokens: Tokens) -> Iterator[Span]:
    """Find what was believed, denied, and put right: "I thought I had the fine one, and I haven't, it's the coarse"."""
    for at in range(tokens.count):
        if tokens.low[at] in _BELIEVED and tokens.before(at) == "i":
            span = _belief(tokens, at + 1)
            if span is not None:
                yield span


def _belief(tokens: Tokens, at: int) -> Span | None:
    within = range(at, min(at + _REACH, tokens.count))
    stop = next((place for place in within if tokens.low[place] in (",", "and", "but")), 0)
    left = _phrase_before(tokens, stop) if stop else None
    denied = stop + 1 + (tokens.raw[stop] == "," and tokens.low[stop + 1] in ("and", "but"))
    known = [words for words in _DENIED if tuple(tokens.low[denied : denied + len(words)]) == words]
    if left is None or not known:
        return None
    for place in range(denied + len(known[0]), min(denied + _REACH, tokens.count)):
        said = tokens.low[place] in ("it's", "that's") or tokens.low[place : place + 2] in (
            ["it", "is"],
            ["this", "is"],
        )
        right = _like_phrase(tokens, left, place + 1 + (tokens.low[place] in ("it", "this"))) if said else None
        if right is not None:
            return _span(tokens, left, right, " ".join(known[0]))
    return None


def meant(tokens: Tokens) -> Iterator[Span]:
    """Find what was said and what was meant: "I said jute, I meant sisal"."""
    for at in range(2, tokens.count):
        if tokens.low[at - 2 : at] != ["i", "said"]:
            continue
        stop = _words_end(tokens, at)
        then = stop + (tokens.raw[stop] == ",") + (tokens.low[stop + 1] == "but")
        if tokens.low[then : then + 2] in (["i", "meant"], ["i", "mean"]) and stop > at:
            end = _words_end(tokens, then + 2)
            if end > then + 2:
                yield _span(tokens, (at, stop, False), (then + 2, end), " ".join(tokens.low[then : then + 2]))


def _words_end(tokens: Tokens, at: int) -> int:
    """Return where a few words end that no sign interrupts."""
    end = at
    while end - at < _LONGEST_NAME and tokens.kind[end] == WORD and tokens.low[end] != "i":
        end += 1
    return end if tokens.kind[end] != WORD or tokens.low[end] == "i" else at


def labelled(tokens: Tokens) -> Iterator[Span]:
    """Find what a label puts right: "the sage, hang on, that's not what it says, it says mint"."""
    for at in range(2, tokens.count):
        if tokens.low[at] != "says" or tokens.before(at) not in ("it", "label", "packet", "tin", "box", "lid"):
            continue
        before = range(max(1, at - _LONGEST_EXPLANATION), at)
        first = next((place for place in before if _denied(tokens, place)), 0)
        end = _words_end(tokens, at + 1)
        left = first - 1 - (tokens.raw[first - 1] in ",.—")
        known = first > 1 and tokens.kind[left] == WORD and tokens.low[left] not in words("correction", "filler")
        if known and end > at + 1 and not tokens.starts_number(at + 1):
            yield _span(tokens, (left, left + 1, False), (at + 1, end), " ".join(tokens.low[first : first + 2]))


def _denied(tokens: Tokens, at: int) -> bool:
    """Return whether cues that begin here deny what a label was said to say, and lead to what it says."""
    end, denied = at, False
    while end < at + _LONGEST_EXPLANATION and end < tokens.count:
        step = _cue_end(tokens, end)
        if step == end and tokens.raw[end] not in ",.":
            break
        denied = denied or " ".join(tokens.low[end:step]).endswith(("what it says", "read that again", "read it again"))
        end = max(step, end + 1)
    return denied and tokens.low[end + 1] == "says" and _cue_end(tokens, at) != at
