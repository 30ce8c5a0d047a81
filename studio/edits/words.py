"""A person's corrections of misheard words, laid over the sentences, and over the words that are shown."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from studio.edits.kinds import WordCorrected
from studio.model import Sentence, SentenceWord, Spelling, Transcript, Word

_EDGES = " \"'“”‘’().,;:!?…"
_SLACK_MS = 400


@dataclass(frozen=True)
class Cell:
    """Some words as they were heard, and what is shown in their place."""

    heard: tuple[Word, ...]
    shown: str

    @property
    def first(self) -> str:
        """The first word shown, bare."""
        return bare(self.shown.split(" ", 1)[0])


def bare(text: str) -> str:
    """Return a word without marks at its edges and without case."""
    return text.strip(_EDGES).casefold()


def over_sentences(result: Sequence[Sentence], edits: Sequence[WordCorrected]) -> tuple[Sentence, ...]:
    """Return the sentences with each correction in place of what was heard; times stay as they were."""
    found = list(result)
    for edit in edits:
        found = [_sentence(sentence, edit) if _may_hold(sentence, edit) else sentence for sentence in found]
    return tuple(found)


def spellings(transcript: Transcript, edits: Sequence[WordCorrected]) -> tuple[Spelling, ...]:
    """Return what the corrections show in place of the words of a transcript, one spelling for each place."""
    cells = [Cell((word,), word.text) for segment in transcript.segments for word in segment.words]
    for edit in edits:
        cells = _corrected(cells, edit)
    return tuple(_spelling(cell) for cell in cells if cell.shown != " ".join(word.text for word in cell.heard))


def _spelling(cell: Cell) -> Spelling:
    heard = " ".join(word.text for word in cell.heard)
    start, end = cell.heard[0].start_ms, cell.heard[-1].end_ms
    return Spelling(start_ms=start, end_ms=end, heard=heard, shown=cell.shown.strip(_EDGES), source="person")


def _may_hold(sentence: Sentence, edit: WordCorrected) -> bool:
    near = sentence.start_ms <= edit.anchor.end_ms + _SLACK_MS and edit.anchor.start_ms - _SLACK_MS <= sentence.end_ms
    first = bare(edit.anchor.heard.split(" ", 1)[0])
    return (edit.everywhere or near) and first in sentence.text.casefold()


def _corrected(cells: list[Cell], edit: WordCorrected) -> list[Cell]:
    """Return the cells with the words of the edit in place of each group that shows what was heard."""
    heard = [bare(word) for word in edit.anchor.heard.split()]
    changed: list[Cell] = []
    at = 0
    while at < len(cells):
        count = _group(cells, at, heard, edit) if heard and cells[at].first == heard[0] else 0
        changed.append(_joined(cells[at : at + count], edit.shown) if count else cells[at])
        at += count or 1
    return changed


def _group(cells: Sequence[Cell], at: int, heard: Sequence[str], edit: WordCorrected) -> int:
    """Return how many cells from `at` together show the words heard at the time of the edit, or 0."""
    said: list[str] = []
    end = at
    while end < len(cells) and len(said) < len(heard):
        said += [bare(word) for word in cells[end].shown.split()]
        end += 1
    start_ms, end_ms = cells[at].heard[0].start_ms, cells[end - 1].heard[-1].end_ms
    there = start_ms <= edit.anchor.end_ms + _SLACK_MS and edit.anchor.start_ms - _SLACK_MS <= end_ms
    return end - at if said == heard and (edit.everywhere or there) else 0


def _joined(cells: Sequence[Cell], shown: str) -> Cell:
    heard = tuple(word for cell in cells for word in cell.heard)
    before, after = cells[0].shown, cells[-1].shown
    opening = before[: len(before) - len(before.lstrip(_EDGES))]
    closing = after[len(after.rstrip(_EDGES)) :]
    return Cell(heard, f"{opening}{' '.join(shown.split())}{closing}" if shown.strip() else "")


def _sentence(sentence: Sentence, edit: WordCorrected) -> Sentence:
    cells = [Cell((word,), word.text) for word in sentence.words]
    changed = _corrected(cells, edit)
    words = [word for cell in changed for word in _words(cell)]
    if not words or (len(changed) == len(cells) and all(a is b for a, b in zip(changed, cells, strict=True))):
        return sentence
    return _rebuilt(sentence, words)


def _words(cell: Cell) -> Iterator[Word]:
    """Yield the words shown; the time of those heard is shared out among them."""
    texts = cell.shown.split()
    start, length = cell.heard[0].start_ms, cell.heard[-1].end_ms - cell.heard[0].start_ms
    edges = [start + length * place // max(1, len(texts)) for place in range(len(texts) + 1)]
    for text, (begins, ends) in zip(texts, pairwise(edges), strict=True):
        yield Word(start_ms=begins, end_ms=ends, text=text, confidence=cell.heard[0].confidence)


def _rebuilt(sentence: Sentence, words: Sequence[Word]) -> Sentence:
    placed: list[SentenceWord] = []
    at = 0
    for word in words:
        end = at + len(word.text)
        kept = {"start_ms": word.start_ms, "end_ms": word.end_ms, "text": word.text, "confidence": word.confidence}
        placed.append(SentenceWord(**kept, start=at, end=end))
        at = end + 1
    return sentence.but(text=" ".join(word.text for word in placed), words=tuple(placed))  # type: ignore[no-any-return]
