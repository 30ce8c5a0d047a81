"""Which sentences the post tells: what each of them does decides, and whether a kept neighbour leans on it."""

from collections.abc import Container, Sequence
from itertools import pairwise

from studio.model import Sentence
from studio.writing import worth

_OUT = {
    "chat": "talk beside the work",
    "greeting": "greeting",
    "viewer": "talk to a viewer",
    "offer": "talk around the offer",
}


def reasons(sentences: Sequence[Sentence], holding: Container[int]) -> dict[int, str]:
    """Return why sentences are left out, by their number; all others are told.

    Talk is told after all where the sentence after it is told and leans on it, and a viewer's question where its answer
    is told.

    Args:
        sentences: the talk in its order.
        holding: numbers of sentences that hold something known; no chat, whatever else they are.
    """
    out = {one.index: _OUT[one.kind] for one in sentences if one.kind in _OUT}
    out = {n: why for n, why in out.items() if why != _OUT["chat"] or n not in holding}
    for before, after in reversed(list(pairwise(sentences))):
        if after.index not in out and _needed(before, after):
            out.pop(before.index, None)
    return out


def _needed(before: Sentence, after: Sentence) -> bool:
    """Return whether what is said after cannot be understood without what is said before."""
    if before.kind == "viewer":
        return before.text.rstrip().endswith("?")
    first = next(iter(worth.words(after.text)), "")
    return before.kind == "chat" and first in worth.rules()["clauses"]["leans"].split()
