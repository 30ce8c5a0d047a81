"""The words as they are shown: a name spelt as the catalogue or the person does, in place of what was heard."""

from collections.abc import Iterator, Sequence
from itertools import takewhile

from studio.model import Spelling, Word

_CLOSING = ".,;:!?…"
_EDGES = " \"'“”‘’()" + _CLOSING
_NEAR_MS = 50


def shown(words: Sequence[Word], spellings: Sequence[Spelling]) -> tuple[Word, ...]:
    """Return the words with each spelling in place of what was heard; its time is shared out among its words."""
    return tuple(_shown(words, spellings))


def _shown(words: Sequence[Word], spellings: Sequence[Spelling]) -> Iterator[Word]:
    waiting = sorted(spellings, key=lambda spelling: spelling.start_ms)
    at = 0
    while at < len(words):
        while waiting and waiting[0].end_ms <= words[at].start_ms:
            waiting.pop(0)
        begun = takewhile(lambda one: one.start_ms - _NEAR_MS <= words[at].start_ms, waiting)  # noqa: B023
        found = next(((one, count) for one in begun if (count := _covered(words, at, one))), None)
        if found is None:
            yield words[at]
            at += 1
            continue
        yield from _replaced(words[at : at + found[1]], found[0].shown)
        waiting.remove(found[0])
        at += found[1]


def _covered(words: Sequence[Word], at: int, spelling: Spelling) -> int:
    """Return how many words from `at` are the ones heard, or 0 where the spelling does not begin here."""
    heard = [word.strip(_EDGES).lower() for word in spelling.heard.split()]
    said = [word.text.strip(_EDGES).lower() for word in words[at : at + len(heard)]]
    return len(heard) if said == heard else 0


def _replaced(words: Sequence[Word], shown: str) -> Iterator[Word]:
    start, end = words[0].start_ms, words[-1].end_ms
    texts = shown.split()
    if not texts:
        return
    last = words[-1].text
    texts[-1] += last[len(last.rstrip(_EDGES)) :]
    for place, text in enumerate(texts):
        times = (start + (end - start) * edge // len(texts) for edge in (place, place + 1))
        yield Word(text=text, start_ms=next(times), end_ms=next(times), confidence=words[0].confidence)
