"""Spoken text with the items named in it between stars, made into sentences and mentions."""

import re

from spoken import EACH_MS, PAUSE_MS

from studio import language
from studio.model import Mention, Product, Sentence, Word


def said(
    text: str, products: tuple[Product, ...], part: str = r"(?<=[.?!])\s+"
) -> tuple[tuple[Sentence, ...], tuple[Mention, ...]]:
    """Return sentences and mentions; an item between stars is the first row whose name shares most words with it.

    Args:
        text: what was said, an item's name as `*the block*`.
        products: rows to choose from.
        part: where one sentence ends and the next begins.
    """
    made: list[Sentence] = []
    named: list[Mention] = []
    at = 0
    for index, piece in enumerate(re.split(part, text.strip())):
        plain, spans = _unstarred(piece)
        words = [
            Word(start_ms=at + n * EACH_MS, end_ms=at + n * EACH_MS + 300, text=w) for n, w in enumerate(plain.split())
        ]
        sentence = language.sentence(index, words, PAUSE_MS)
        made.append(sentence)
        for start, end in spans:
            begin_ms, end_ms = sentence.time_of(start, end)
            named.append(mention(_row(plain[start:end], products).code, begin_ms, end_ms, heard=plain[start:end]))
        at = words[-1].end_ms + PAUSE_MS
    return tuple(made), tuple(named)


def mention(code: str | None, start_ms: int, end_ms: int, **more: object) -> Mention:
    """Return a confirmed showing unless told otherwise."""
    base = {"id": f"n{start_ms}", "heard": "it", "role": "shown", "state": "confirmed", "confidence": 1.0}
    return Mention.model_validate({**base, "code": code, "start_ms": start_ms, "end_ms": end_ms, **more})


def _unstarred(piece: str) -> tuple[str, list[tuple[int, int]]]:
    spans = []
    while "*" in piece:
        start = piece.index("*")
        end = piece.index("*", start + 1)
        spans.append((start, end - 1))
        piece = piece[:start] + piece[start + 1 : end] + piece[end + 1 :]
    return piece, spans


def _row(heard: str, products: tuple[Product, ...]) -> Product:
    spoken = {word.rstrip("s") for word in heard.lower().split()}
    return max(products, key=lambda row: len(spoken & {word.rstrip("s") for word in row.name.lower().split()}))
