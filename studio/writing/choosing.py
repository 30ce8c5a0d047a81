"""Which sentences the post tells: what each of them does decides, and whether a kept neighbour leans on it."""

from collections.abc import Container, Sequence
from itertools import pairwise

from studio import rule_files
from studio.model import Sentence
from studio.writing import worth

_OUT = {
    "chat": "talk beside the work",
    "greeting": "greeting",
    "viewer": "talk to a viewer",
    "offer": "talk around the offer",
}


_OPENING = frozenset({"chat", "greeting"})


def reasons(sentences: Sequence[Sentence], holding: Container[int], opening_ms: int = 0) -> dict[int, str]:
    """Return why sentences are left out, by their number; all others are told.

    Talk is told after all where the sentence after it is told and leans on it, a viewer's question where its answer is
    told, and the sentence of the opening that says what is made.

    Args:
        sentences: the talk in its order.
        holding: numbers of sentences that hold something known; no mere talk, whatever the reader holds them to be.
        opening_ms: where the opening ends.
    """
    out = {one.index: _OUT[one.kind] for one in sentences if one.kind in _OUT and not _is_held(one, holding)}
    for before, after in reversed(list(pairwise(sentences))):
        if after.index not in out and _needed(before, after):
            out.pop(before.index, None)
    early = (one for one in sentences if one.start_ms < opening_ms and thing(one.text, "made"))
    first = next(early, None)
    if first is not None and first.kind in _OPENING:
        out.pop(first.index, None)
    return out


def _needed(before: Sentence, after: Sentence) -> bool:
    """Return whether what is said after cannot be understood without what is said before."""
    if before.kind == "viewer" and before.text.rstrip().endswith("?"):
        return True
    first = next(iter(worth.said_words(after.text)), "")
    return before.kind == "chat" and first in worth.listed("clauses", "leans")


def _is_held(sentence: Sentence, holding: Container[int]) -> bool:
    return sentence.kind in {"chat", "viewer"} and sentence.index in holding


def thing(said: str, name: str) -> str:
    """Return what a sentence says is made ("a little loaf"), or nothing.

    Args:
        said: the sentence.
        name: "made" where it is told to be made, "it_is" where it is only told what it is.
    """
    found = rule_files.pattern(worth.FILE, "intro", name).search(said)
    return found["thing"] if found and not _vague(found["thing"]) else ""


def _vague(name: str) -> bool:
    said = worth.said_words(name)
    counted = worth.listed("protected", "numbers") & set(said) or any(char.isdigit() for char in name)
    vague = not worth.listed("intro", "vague").isdisjoint(said)
    return bool(counted) or vague or not 2 <= len(said) <= 7
