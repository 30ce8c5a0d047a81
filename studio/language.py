"""The spoken text made ready for reading: sentences rebuilt from times, pauses and marks; the spaCy pipeline."""

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING

from studio import rule_files
from studio.model import Sentence, SentenceWord, Transcript, Word

if TYPE_CHECKING:
    from spacy.language import Language

VERSION = 2
SHORT_PAUSE_MS = 200
LONG_PAUSE_MS = 900
VERY_LONG_PAUSE_MS = 4000
LONGEST_WORDS = 60
SENTENCE_END = (".", "?", "!", "…")
_CLOSING, _OPENING = "\"'”’)]»", "\"'“‘([«"


def _words(kind: str) -> frozenset[str]:
    """Return one of the word lists of `shared/cues.toml`, such as `opening`."""
    return rule_files.word_set("cues.toml", "sentence", kind)


@cache
def pipeline() -> "Language":
    """Return the blank English spaCy pipeline with our tokeniser rules; made once, 1 s."""
    import spacy

    return spacy.blank("en")


def sentences(transcript: Transcript) -> tuple[Sentence, ...]:
    """Rebuild sentences from the words of all segments, whatever blocks they came in.

    A mark that ends a sentence counts unless it belongs to an abbreviation or a number; a pause counts where the words
    on both sides allow it. Where the text has hardly any marks, shorter pauses and the words that open a new
    thought stand in for them, and no stretch grows beyond `LONGEST_WORDS`.
    """
    words = [word for segment in transcript.segments for word in segment.words]
    marked = _is_marked(words)
    usual = LONG_PAUSE_MS if marked else _parting_pause(words)
    groups: list[list[Word]] = [[]]
    for word, after in zip(words, [*words[1:], None], strict=False):
        groups[-1].append(word)
        if after is not None and (_ends(word, after) or _pause_parts(groups[-1], after, usual, marked=marked)):
            groups.append([])
    found: list[Sentence] = []
    for group in (part for whole in groups if whole for part in _shortened(whole)):
        pause = group[0].start_ms - (found[-1].end_ms if found else 0)
        found.append(sentence(len(found), group, max(0, pause)))
    return tuple(found)


def _is_marked(words: Sequence[Word]) -> bool:
    """Return whether the text was punctuated: one end mark in at most 40 words."""
    return sum(word.text.endswith(SENTENCE_END) for word in words) * 40 >= len(words)


def _ends(word: Word, after: Word) -> bool:
    bare = word.text.rstrip(_CLOSING)
    if not bare.endswith(SENTENCE_END):
        return False
    if not bare.endswith(".") or bare.endswith(("..", ".…")):
        return True
    stem = bare[:-1].lstrip(_OPENING).lower()
    if stem in _words("abbreviations") or (len(stem) == 1 and stem.isalpha() and stem not in {"i", "a"}):
        return False
    if stem in _words("abbreviations_before_small"):
        return not after.text[:1].islower()
    if stem in _words("abbreviations_before_numbers"):
        return not after.text[:1].isdigit()
    return not (stem[-1:].isdigit() and after.text[:1].isdigit() and after.start_ms - word.end_ms < SHORT_PAUSE_MS)


def _parting_pause(words: Sequence[Word]) -> int:
    """Return the pause in ms that parts sentences of this speaker: one in twelve is as long, between 0.2 and 0.9 s."""
    pauses = sorted(after.start_ms - before.end_ms for before, after in pairwise(words))
    usual = pauses[len(pauses) * 11 // 12] if pauses else LONG_PAUSE_MS
    return max(SHORT_PAUSE_MS, min(usual, LONG_PAUSE_MS))


def _pause_parts(before: Sequence[Word], after: Word, usual_ms: int, *, marked: bool) -> bool:
    """Return whether the silence after `before` ends a sentence."""
    last = before[-1].text.lower()
    pause = after.start_ms - before[-1].end_ms
    if last.strip(",.") in _words("holding") or last.endswith(","):
        return pause >= VERY_LONG_PAUSE_MS
    if marked:
        return pause >= (LONG_PAUSE_MS if after.text[:1].isupper() else VERY_LONG_PAUSE_MS)
    opens = after.text.lower().strip(",.") in _words("opening") and len(before) > 3
    return pause >= (usual_ms // 2 if opens else usual_ms)


def _shortened(group: list[Word]) -> Iterator[list[Word]]:
    """Part a stretch that is too long for a sentence at its best place: an opening word, a comma, a pause."""
    while len(group) > LONGEST_WORDS:
        places = range(LONGEST_WORDS // 3, LONGEST_WORDS)
        at = max(places, key=lambda place: _break_worth(group[place - 1], group[place]))
        yield group[:at]
        group = group[at:]
    yield group


def _break_worth(before: Word, after: Word) -> float:
    worth = (after.start_ms - before.end_ms) / 100
    worth += 6 if before.text.endswith((",", ";", ":")) else 0
    worth += 4 if after.text.lower().strip(",.") in _words("opening") else 0
    return worth - (20 if before.text.lower() in _words("holding") else 0)


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


class Constructions:
    """Phrases of a rule file, looked for in a text with spaCy's Matcher.

    A phrase is a row of words: `a|b` either, `!a|b` neither, `?` at the end of a word: may be missing, `_` any word.
    """

    def __init__(self, phrases: Sequence[Sequence[str]]) -> None:
        """Take the phrases of each construction, in order."""
        from spacy.matcher import Matcher

        self._matcher = Matcher(pipeline().vocab)
        for number, group in enumerate(phrases):
            self._matcher.add(str(number), [[_token_pattern(word) for word in phrase.split()] for phrase in group])

    def found(self, text: str) -> list[tuple[int, int, int]]:
        """Return for each match the number of its construction, and its first character and the one after its last."""
        doc = pipeline().make_doc(text.replace("’", "'"))
        spans = self._matcher(doc, as_spans=True)
        return sorted({(int(span.label_), span.start_char, span.end_char) for span in spans})


def _token_pattern(word: str) -> dict[str, object]:
    """Return what spaCy's Matcher calls one word of a phrase."""
    bare, optional = (word[:-1], {"OP": "?"}) if word.endswith("?") else (word, {})
    if bare == "_":
        return dict(optional)
    if bare.startswith("!"):
        return {"LOWER": {"NOT_IN": bare[1:].split("|")}, "IS_PUNCT": False, **optional}
    return {"LOWER": {"IN": bare.split("|")} if "|" in bare else bare, **optional}
