"""Whether a rewritten sentence says the same: no number, unit, name, price, date, negation or hedge may change."""

import re
from collections import Counter
from collections.abc import Iterable
from functools import cache

from studio import quantity, rule_files
from studio.writing import worth

LONGEST = 1.3
"""How much longer a rewrite may be than the sentence, in words."""
NEW_WORDS = 1
"""How many content words may be new."""
_LETTERS = re.compile(r"[A-Za-z][A-Za-z'’-]*")
_FIGURE = re.compile(r"\d+(?:[.,:/]\d+)*")
_NAME = re.compile(r"(?<![.!?] )(?<!^)\b[A-Z][\w'’-]*")
_DATE_WORDS = frozenset(
    "monday tuesday wednesday thursday friday saturday sunday january february march april may june july august "
    "september october november december today tomorrow tonight yesterday week month year day morning afternoon "
    "evening easter christmas".split()
)


def refuse(sentence: str, rewrite: str, names: Iterable[str] = ()) -> str:
    """Return why a rewrite may not stand in place of a sentence, or nothing.

    Refused are another order of numbers, another unit, name, day, negation, hedge, action or place word, more than one
    new content word, a second sentence, and a text more than 1.3 times as long. Not seen: a change of meaning that
    keeps all of these.

    Args:
        sentence: as the rules wrote it.
        rewrite: what is offered in its place.
        names: product names that must stay letter by letter.
    """
    checks = (
        ("a number, unit or price differs", _amounts(sentence) != _amounts(rewrite)),
        ("figures differ", _FIGURE.findall(sentence) != _FIGURE.findall(rewrite)),
        ("a product name differs", any(sentence.count(name) != rewrite.count(name) for name in names)),
        ("a name differs", _names(sentence) != _names(rewrite)),
        ("a day differs", _kept(sentence, _DATE_WORDS) != _kept(rewrite, _DATE_WORDS)),
        ("a negation, hedge, action or place differs", _guarded(sentence) != _guarded(rewrite)),
        ("a mark of doubt differs", _doubts(sentence) != _doubts(rewrite)),
        ("words are new", len(_content(rewrite) - _content(sentence)) > NEW_WORDS),
        ("too much is gone", len(_content(sentence) - _content(rewrite)) > max(1, len(_content(sentence)) // 3)),
        ("it is too long", len(worth.said_words(rewrite)) > LONGEST * len(worth.said_words(sentence)) + 1),
        ("it is more than one sentence", _sentences(rewrite) > _sentences(sentence)),
        ("signs of mark-up", any(sign in rewrite for sign in "<>[]{}|`\n") or "http" in rewrite.lower()),
    )
    return next((reason for reason, differs in checks if differs), "")


def _doubts(text: str) -> int:
    return text.count(rule_files.text(worth.FILE, "added", "unsettled"))


def _amounts(text: str) -> list[tuple[object, ...]]:
    """Return values, units and kinds in the order in which they are told; sides of a size keep their order too."""
    return [
        (found.values, found.unit, found.quantity, found.bound) for found in quantity.read(text) if found.kind != "rate"
    ]


def _names(text: str) -> Counter[str]:
    """Return words with a capital inside the sentence."""
    return Counter(word for word in _NAME.findall(text) if word not in {"I", "I'm", "I've", "I'll", "I'd"})


@cache
def _protected() -> tuple[dict[str, str], frozenset[str]]:
    """Return each form of a protected word with its stem, and the number words, which are compared as words too."""
    kinds = ("negations", "hedges", "actions", "places")
    plain = [word for kind in kinds for word in worth.listed("protected", kind)]
    forms = {word: word for word in plain if "-" not in word}
    for verb in rule_files.text(worth.FILE, "protected", "actions").split():
        forms |= dict.fromkeys(worth.forms_of(verb), verb)
    return forms, worth.listed("protected", "numbers")


def _guarded(text: str) -> list[str]:
    """Return the protected words in order, each as its stem; a contracted "not" counts as "not"."""
    forms, numbers = _protected()
    return [
        "not" if word.endswith("n't") or word in {"not", "cannot"} else forms.get(word, word)
        for word in worth.said_words(text)
        if word in forms or word in numbers or word.endswith("n't")
    ]


def _kept(text: str, these: frozenset[str]) -> Counter[str]:
    return Counter(word for word in worth.said_words(text) if word in these)


def _content(text: str) -> set[str]:
    """Return the stems of the words that carry meaning."""
    small = worth.listed("polish", "small_words")
    return {_stem(word) for word in worth.said_words(text) if word not in small and not word.endswith("n't")}


def _stem(word: str) -> str:
    word = word.split("'")[0]
    for ending in ("ing", "ies", "ed", "es", "s", "e", "y"):
        if word.endswith(ending) and len(word) - len(ending) > 2:
            stem = word.removesuffix(ending)
            return stem[:-1] if len(stem) > 3 and stem[-1] == stem[-2] else stem
    return word


def _sentences(text: str) -> int:
    return max(1, len(re.findall(r"[.!?](?=\s+\S)", text)) + 1)
