"""Sentences made from plain text, a word each 350 ms, for tests of what was understood."""

import re

from studio import language
from studio.model import Sentence, Word

EACH_MS, PAUSE_MS = 350, 500


def sentences(text: str) -> tuple[Sentence, ...]:
    """Return the sentences of a text with times; a sentence ends at its mark."""
    made: list[Sentence] = []
    at = 0
    for index, part in enumerate(re.split(r"(?<=[.?!])\s+", text.strip())):
        words = [
            Word(start_ms=at + n * EACH_MS, end_ms=at + n * EACH_MS + 300, text=w) for n, w in enumerate(part.split())
        ]
        made.append(language.sentence(index, words, PAUSE_MS))
        at = words[-1].end_ms + PAUSE_MS
    return tuple(made)
