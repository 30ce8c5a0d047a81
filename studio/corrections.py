"""Self-corrections: what was said first and withdrawn, what stands, and the words that mark it."""

import re
from collections.abc import Iterator

from studio import resources
from studio.model import Correction, Sentence
from studio.quantity.mending import cue_between
from studio.quantity.reader import read
from studio.quantity.tokens import WORD, Tokens, cut
from studio.quantity.words import phrase_after, phrases, words
from studio.talk import Talk, talk

VERSION = 1
_JOINING = frozenset(["and", "of", "&", "the", "in", "-"])
_DETERMINERS = frozenset(["the", "a", "an", "my", "this", "your", "our"])
_NO_NAMES = frozenset(
    "i i'm i'd i've i'll oh no so and but now okay ok right well yes yeah sorry this that it it's that's what let "
    "actually wait hang hold there there's then the a an you your my we we're they're".split()
)
_HESITATION = frozenset(["oh", "um", "uh", "er", "erm", "ah"])
_ARGUING = frozenset("is are was were isn't aren't would will won't does doesn't about for".split())
_LONGEST_NAME = 6
_LONGEST_EXPLANATION = 16


def corrections(sentences: tuple[Sentence, ...]) -> tuple[Correction, ...]:
    """Return every self-correction of a value, a name or a word, in the order of the recording.

    The last of a chain stands: "ten, no, eleven, sorry, twelve" is one correction of ten to twelve. Like replaces like:
    a number a number of its kind, a name a name.
    """
    if not sentences:
        return ()
    whole = talk(sentences)
    values = [_correction(whole, *span) for span in _of_values(whole.text)]
    taken = [(span.start_ms, span.end_ms) for span in values]
    named = [_correction(whole, *span) for span in _of_names(cut(whole.text))]
    fresh = [found for found in named if not any(found.start_ms < end and start < found.end_ms for start, end in taken)]
    return tuple(sorted([*values, *fresh], key=lambda found: found.start_ms))


Span = tuple[int, int, int, int, str]
"""First and last character of what was withdrawn, the same of what stands, and the cue."""


def _correction(whole: Talk, wrong: int, wrong_end: int, right: int, right_end: int, cue: str) -> Correction:
    start_ms, end_ms = whole.time_of(wrong, right_end)
    text = whole.text
    return Correction(
        start_ms=start_ms, end_ms=end_ms, wrong=text[wrong:wrong_end], right=text[right:right_end], cue=cue
    )


def _of_values(text: str) -> Iterator[Span]:
    for found in read(text):
        if found.replaced_at is not None:
            yield *found.replaced_at, found.start, found.end, found.cue


def _of_names(tokens: Tokens) -> Iterator[Span]:
    """Find a name, a cue, and a like name."""
    at, cues = 1, phrases("correction", "cues")
    while at < tokens.count:
        end = phrase_after(tokens, at, cues)
        first = at - (tokens.before(at) in _HESITATION)
        span = _around_cue(tokens, first, end) if end > at and tokens.raw[first - 1] in ",.?!—–-…" else None
        if span is not None:
            yield span
        at = max(end, at + 1)


def _around_cue(tokens: Tokens, at: int, end: int) -> Span | None:
    alike = _alike(tokens, at, end)
    if alike is not None:
        return alike
    for left in (_name_before(tokens, at - 1), _phrase_before(tokens, at - 1)):
        if left is None:
            continue
        right = _same_name(tokens, left, end) if left[2] else _parallel(tokens, left, end)
        if right is not None and _text(tokens, *left[:2]) != _text(tokens, *right):
            cue = " ".join(tokens.low[at:end])
            return (
                tokens.start[left[0]],
                tokens.end[left[1] - 1],
                tokens.start[right[0]],
                tokens.end[right[1] - 1],
                cue,
            )
    return None


def _alike(tokens: Tokens, at: int, end: int) -> Span | None:
    """Find two words of one short list on both sides of a cue: "it's medium, no, large"."""
    right = end
    while tokens.raw[right] == "," or tokens.low[right] in words("correction", "filler"):
        right += 1
    for kind in resources.table("quantities.toml")["alike"]:
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
    direct = True
    for place in range(at, min(at + _LONGEST_EXPLANATION, tokens.count)):
        if _is_name(tokens, place):
            end = _name_from(tokens, place)
            likes = _resemble(tokens.low[left[0] : left[1]], tokens.low[place:end])
            even = direct and abs((end - place) - (left[1] - left[0])) <= 1 and tokens.low[end] not in _ARGUING
            return (place, end) if likes or even else None
        step = phrase_after(tokens, place, phrases("correction", "cues")) > place
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


_TRIVIAL = re.compile(r"[^\w]+")


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
    while at < tokens.count and (tokens.raw[at] == "," or phrase_after(tokens, at, phrases("correction", "cues")) > at):
        at = max(at + 1, phrase_after(tokens, at, phrases("correction", "cues")))
    if tokens.low[at] != tokens.low[left[0]]:
        return None
    end = at + 1
    while end < tokens.count and end - at <= left[1] - left[0] and not _TRIVIAL.fullmatch(tokens.raw[end]):
        if tokens.low[end] in _ARGUING:
            return None
        end += 1
    return (at, end) if end > at + 1 and tokens.low[end] not in _ARGUING else None
