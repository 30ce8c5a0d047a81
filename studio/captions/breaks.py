"""Where a line or a caption may end: which words lean on the next one, by the lists of `shared/captions.toml`."""

import re
from collections.abc import Sequence
from functools import cache
from typing import Literal

from studio import rule_files

Lean = Literal["bound", "leaning", "free", "clause", "sentence"]
"""Between two words: never break, break only in need, may break, a good place, the best place."""
_DIGITS = re.compile(r"[£$€]?\d[\d.,/:½¼¾⅓⅔⅛⅜⅝⅞-]*(?:st|nd|rd|th)?|[½¼¾⅓⅔⅛⅜⅝⅞]")
_MIXED = re.compile(r"[£$€]?\d[\d.,/½¼¾⅓⅔⅛⅜⅝⅞-]*[a-z%°]{0,4}")
_EDGES = " \"'“”‘’()[]«».,;:!?…–—"


def _words(kind: str) -> frozenset[str]:
    return rule_files.word_set("captions.toml", "lean", kind)


@cache
def _leaning() -> frozenset[str]:
    kinds = ("articles", "prepositions", "conjunctions", "pronouns", "auxiliaries")
    return frozenset().union(*(_words(kind) for kind in kinds))


def _is_short_sign(word: str) -> bool:
    return len(word) <= 4 and word.isascii() and word.isalpha() and word.isupper()


def is_number(word: str) -> bool:
    """Return whether the word is a number, in digits or spelt out ("twenty-five")."""
    bare = _bare(word)
    return bool(_DIGITS.fullmatch(bare)) or (bare != "" and all(part in _words("numbers") for part in bare.split("-")))


def _bare(word: str) -> str:
    return word.strip(_EDGES).lower().replace("’", "'")


def between(words: Sequence[str], place: int) -> Lean:
    """Return how the word before `place` holds on to the word at `place`."""
    before, after = words[place - 1], words[place]
    if before.endswith((".", "?", "!", "…")) and not _is_label(before, after):
        return "sentence"
    if _is_bound(words, place):
        return "bound"
    if before.endswith((",", ";", ":", "–", "—")):
        return "clause"
    if _bare(before) in _leaning() or _same_name(before, after):
        return "leaning"
    return "clause" if _bare(after) in _words("conjunctions") else "free"


def _is_label(before: str, after: str) -> bool:
    return before.lower() in _words("labels") and is_number(after)


def _is_bound(words: Sequence[str], place: int) -> bool:
    """Return whether a number and its unit, a fraction, a label and its number, or a code would be torn apart."""
    before, after = words[place - 1], words[place]
    if before.endswith((",", ";", ":")):
        return False
    if is_number(before):
        return is_number(after) or _bare(after) in _words("units") or _joins(words, place)
    if _is_label(before, after) or (_is_short_sign(before) and before != "I" and _DIGITS.fullmatch(_bare(after))):
        return True
    if _bare(before) == "point" and place > 1:
        return is_number(words[place - 2]) and is_number(after)
    if _bare(before) in {"and", "a", "an"} and place > 1:
        return _joined_fraction(words, place)
    return before in {"£", "$", "€"}


def _joins(words: Sequence[str], place: int) -> bool:
    """Return whether "and" or "point" at `place` carries a number on ("four and a quarter", "one point two")."""
    after = [_bare(word) for word in words[place : place + 3]]
    if after[0] == "point":
        return len(after) > 1 and is_number(after[1])
    if after[0] in {"a", "an"}:
        return len(after) > 1 and after[1] in _words("units") and _bare(words[place - 1]) in {"half", "quarter"}
    return after[0] == "and" and (
        (len(after) > 2 and after[1] in {"a", "an"} and is_number(after[2]))
        or (len(after) > 1 and is_number(after[1]) and _bare(words[place - 1]) in {"hundred", "thousand"})
    )


def _joined_fraction(words: Sequence[str], place: int) -> bool:
    before, earlier = _bare(words[place - 1]), words[place - 2]
    if before == "and":
        return is_number(earlier) and _joins(words, place - 1)
    if is_number(earlier):
        return _joins(words, place - 1)
    carried = _bare(earlier) == "and" and place > 2 and is_number(words[place - 3])
    return carried and is_number(words[place])


def _same_name(before: str, after: str) -> bool:
    return before[:1].isupper() and after[:1].isupper() and _bare(before) not in {"i", "so", "okay", "right", "now"}
