"""Cautions: what was said, shown or marked in the catalogue that calls for the customary line, with every moment."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from studio import rule_files
from studio.model import Catalogue, Caution, Mention, Product, Sentence
from studio.rule_files import expression

VERSION = 2
_LASTS = 3
"""Sentences over which a warning without a hazard belongs to the hazard before it."""


@dataclass
class _Hazard:
    """One row of the table, and what called for it."""

    name: str
    line: str
    source: str
    things: re.Pattern[str] | None
    says: re.Pattern[str]
    marks: re.Pattern[str]
    triggers: list[int] = field(default_factory=list)
    codes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class _Row:
    name: str
    line: str
    source: str
    things: str
    says: str
    marks: str
    says_only: bool = False


def cautions(
    sentences: tuple[Sentence, ...], mentions: tuple[Mention, ...], catalogue: Catalogue
) -> tuple[Caution, ...]:
    """Return the hazards in the order in which they first came up, each once, with every moment that calls for it.

    Args:
        sentences: the talk; a sentence that warns or names a dangerous thing is a moment.
        mentions: items that were shown bring the hazards of their names and of their rows' hazard column.
        catalogue: where the hazard column is.
    """
    hazards = _hazards()
    _hear(sentences, hazards)
    products = catalogue.by_code()
    for mention in mentions:
        if mention.role == "shown" and mention.code in products:
            _look(mention, products[mention.code or ""], hazards)
    called = [hazard for hazard in hazards if hazard.triggers]
    return tuple(_caution(hazard) for hazard in sorted(called, key=lambda one: min(one.triggers)))


def _hazards() -> list[_Hazard]:
    return [_hazard(row) for row in rule_files.typed(tuple[_Row, ...], "cautions.toml", "hazard")]


def _hazard(row: _Row) -> _Hazard:
    things = None if row.says_only else expression(row.things)
    return _Hazard(row.name, row.line, row.source, things, expression(row.says), expression(row.marks))


def _caution(hazard: _Hazard) -> Caution:
    return Caution(
        hazard=hazard.name,
        line=hazard.line,
        source=hazard.source,
        triggers_ms=tuple(sorted(set(hazard.triggers))),
        codes=tuple(dict.fromkeys(hazard.codes)),
    )


def _hear(sentences: Sequence[Sentence], hazards: Sequence[_Hazard]) -> None:
    """Find the moments in speech; a warning that names no hazard goes to the last ones, or to the general line."""
    last: list[_Hazard] = []
    last_place = 0
    for place, sentence in enumerate(sentences):
        numbers, warning, danger = _heard(sentence.text)
        warned = [hazards[number] for number in numbers]
        if not warned and warning and last and place - last_place <= _LASTS:
            warned = last
        elif not warned and danger:
            warned = list(hazards[-1:])
        elif warned:
            last, last_place = warned, place
        for hazard in warned:
            hazard.triggers.append(sentence.start_ms)


@lru_cache(maxsize=8192)
def _heard(text: str) -> tuple[tuple[int, ...], bool, bool]:
    """Return which hazards a sentence names, by their place in the table, and whether it warns or tells of danger."""
    plain = _plain(text)
    named = tuple(number for number, hazard in enumerate(_hazards()) if _names(hazard, plain))
    warning, danger = (rule_files.finds(plain, "cautions.toml", words) for words in ("warning", "danger"))
    return named, warning, danger


def _plain(text: str) -> str:
    return rule_files.pattern("cautions.toml", "never").sub(" ", text.replace("’", "'"))


def _names(hazard: _Hazard, text: str) -> bool:
    return bool(hazard.says.search(text) or (hazard.things and hazard.things.search(text)))


def _look(mention: Mention, product: Product, hazards: Sequence[_Hazard]) -> None:
    """Take the hazards of an item that was shown; a mark that no hazard knows calls for the general line."""
    name = _plain(f"{product.name} {product.kind}")
    marked = [hazard for hazard in hazards[:-1] if product.hazard and hazard.marks.search(product.hazard)]
    marked = marked or (list(hazards[-1:]) if product.hazard else [])
    named = [hazard for hazard in hazards if hazard.things and hazard.things.search(name)]
    for hazard in {hazard.name: hazard for hazard in (*marked, *named)}.values():
        hazard.triggers.append(mention.start_ms)
        hazard.codes.append(product.code)
