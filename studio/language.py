"""The spoken text made ready for reading: sentences rebuilt from word times, pauses and punctuation; the spaCy pipeline."""

from collections.abc import Iterable
from functools import cache
from typing import TYPE_CHECKING

from studio.model import Sentence, SentenceWord, Transcript, Word

if TYPE_CHECKING:
    from spacy.language import Language

VERSION = 1
LONG_PAUSE_MS = 900
SENTENCE_END = (".", "?", "!", "…")


@cache
def pipeline() -> "Language":
    """Return the blank English spaCy pipeline with our tokeniser rules; made once, 1 s."""
    import spacy

    return spacy.blank("en")


def sentences(transcript: Transcript) -> tuple[Sentence, ...]:
    """Rebuild sentences from the words of all segments, whatever blocks they came in."""
    words = [word for segment in transcript.segments for word in segment.words]
    groups: list[list[Word]] = [[]]
    for word in words:
        last = groups[-1][-1] if groups[-1] else None
        if last and (last.text.endswith(SENTENCE_END) or word.start_ms - last.end_ms >= LONG_PAUSE_MS):
            groups.append([])
        groups[-1].append(word)
    found: list[Sentence] = []
    for group in filter(None, groups):
        pause = group[0].start_ms - (found[-1].end_ms if found else 0)
        found.append(sentence(len(found), group, max(0, pause)))
    return tuple(found)


def sentence(index: int, words: Iterable[Word], pause_before_ms: int = 0) -> Sentence:
    """Join words to a sentence whose text is the words with single spaces between them."""
    placed: list[SentenceWord] = []
    at = 0
    for word in words:
        end = at + len(word.text)
        placed.append(SentenceWord(**word.model_dump(), start=at, end=end))
        at = end + 1
    return Sentence(
        index=index,
        text=" ".join(word.text for word in placed),
        words=tuple(placed),
        start_ms=placed[0].start_ms,
        end_ms=placed[-1].end_ms,
        pause_before_ms=pause_before_ms,
    )
