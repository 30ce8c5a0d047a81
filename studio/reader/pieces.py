"""What the network is shown: a window of the talk, or a stretch in its context with the rows that it may mean."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from studio.reader.marks import KINDS, ROLES

BEGIN, END, ROW, UNKNOWN, CLS, SEP = 1, 2, 3, 100, 101, 102
"""Pieces around a stretch and before a row (three that the base model never used), and the base model's own."""
PLACES = 512
"""Places that the base model knows: pieces of a talk with a row at most."""
WINDOW, STEP = 224, 112
"""Pieces of a window, and how far the next one is moved."""
BEFORE, SAID, AFTER, ROW_PIECES, MOST = 72, 16, 30, 22, 16
"""Pieces of the context before, of the stretch, of the context after, of a row; rows listed."""
LONGEST = 32
"""Pieces of a word at most: what is not a word of a language (an address, a row of signs) still fits into a window."""
NONE = "none of these"
"""Stands last among the rows that a stretch may mean."""
FLAGS = (
    "withdrawn", "final", "warn", "private", "earn", "claim", "offer", "amount", "says", "gone", "coming",
)  # fmt: skip
"""What a word may be besides: a part of these marks."""
TAGS = ("O", "B", "I")
"""Outside, first and further words of what names or points at a thing."""
MEANINGS = (*(role for role in ROLES if role != "unclear"), "said")
"""What a stretch may be: a row in a role, or a statement about a row."""
EDGES = ("start", "stop")
"""First word of a new subject; last word of a sentence."""
HEADS = {"tag": TAGS, "kind": KINDS, "edge": EDGES, "flag": FLAGS, "meaning": MEANINGS}
"""The labels of a piece, head by head in this order."""
LABELS = sum(map(len, HEADS.values()))
"""How many there are in all."""


def slices() -> dict[str, slice]:
    """Return where each head's labels lie among all of them."""
    found, at = {}, 0
    for name, labels in HEADS.items():
        found[name] = slice(at, at + len(labels))
        at += len(labels)
    return found


class Pieces:
    """Words cut into the pieces of the base model, remembered."""

    def __init__(self, file: Path) -> None:
        from tokenizers import Tokenizer

        self._tokenizer = Tokenizer.from_file(str(file))
        self._tokenizer.no_padding()
        self._tokenizer.no_truncation()
        self._known: dict[str, list[int]] = {}

    def __call__(self, text: str) -> list[int]:
        """Return the first piece ids of a text, at most `LONGEST`; an unreadable word is one unknown piece."""
        if text not in self._known:
            ids = self._tokenizer.encode(text, add_special_tokens=False).ids or [UNKNOWN]
            self._known[text] = ids[:LONGEST]
        return self._known[text]


@dataclass(frozen=True)
class Shown:
    """A window of a talk: its pieces, and at the first piece of each word the word, elsewhere -1."""

    ids: list[int]
    marks: list[int]


def windows(cut: Sequence[Sequence[int]]) -> Iterator[Shown]:
    """Return the windows of a talk, half overlapping.

    Args:
        cut: the pieces of each word.
    """
    first = 0
    while first < len(cut):
        ids, marks, at = [CLS], [-1], first
        while at < len(cut) and len(ids) + len(cut[at]) < WINDOW:
            ids += cut[at]
            marks += [at] + [-1] * (len(cut[at]) - 1)
            at += 1
        yield Shown([*ids, SEP], [*marks, -1])
        if at >= len(cut):
            return
        first = max(first + 1, _back(cut, at, WINDOW - STEP))


def _back(cut: Sequence[Sequence[int]], at: int, pieces: int) -> int:
    """Return the word from which to `at` there are at most so many pieces."""
    while at > 0 and pieces >= len(cut[at - 1]):
        at -= 1
        pieces -= len(cut[at])
    return at


def in_context(cut: Sequence[Sequence[int]], first: int, last: int) -> list[int]:
    """Return the pieces of a stretch, between BEGIN and END, in its context.

    Args:
        cut: the pieces of each word of the talk.
        first: the first word of the stretch.
        last: the word after its last.
    """
    begin = _back(cut, first, BEFORE)
    before = [piece for word in cut[begin:first] for piece in word]
    said = [piece for word in cut[first:last] for piece in word][:SAID]
    after = [piece for word in cut[last : last + AFTER] for piece in word][:AFTER]
    return [CLS, *before, BEGIN, *said, END, *after, SEP]
