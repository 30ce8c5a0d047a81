"""Private details that were said: telephone numbers also as spoken digits, e-mail, addresses, names of children."""

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from studio import rule_files
from studio.model import Catalogue, Finding, Sentence
from studio.text import letters_of

_DIGITS = {
    "zero": "0", "oh": "0", "o": "0", "nought": "0", "naught": "0", "one": "1", "two": "2", "three": "3", "four": "4",
    "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9",
}  # fmt: skip
_TIMES = {"double": 2, "triple": 3, "treble": 3}
_TOKEN = re.compile(r"\+?\d+|[a-z]+|[^\sa-z\d]", re.IGNORECASE)
_JOINS = frozenset("-,.() +")
_ANYWHERE, _BY_PHONE = 10, 6
"""Digits in a row that are a telephone number anywhere (ITU-T E.164 allows 15), and beside words like "ring me"."""
_WHAT = {
    "email": "an e-mail address", "street": "a street address", "postcode": "a postcode", "home": "a home address",
    "child": "a child's name", "school": "a school", "customer": "a person's name",
}  # fmt: skip


def _pattern(name: str) -> re.Pattern[str]:
    return rule_files.pattern("statements.toml", "private", name, exact=name not in ("home", "phone_words"))


def private_details(
    sentences: Sequence[Sentence], catalogue: Catalogue, keep_names: Iterable[str] = ()
) -> tuple[Finding, ...]:
    """Return a finding for each private detail; catalogue codes are taken out first, for they look like numbers.

    Args:
        sentences: the talk.
        catalogue: its codes, page numbers and trade numbers are no telephone numbers.
        keep_names: people who agreed to be named.
    """
    codes = {product.code.lower() for product in catalogue.products} | {p.gtin for p in catalogue.products if p.gtin}
    kept = {name.lower() for name in keep_names}
    return tuple(finding for sentence in sentences for finding in _in_sentence(sentence, codes, kept))


def _in_sentence(sentence: Sentence, codes: set[str], kept: set[str]) -> Iterator[Finding]:
    text = sentence.text.replace("’", "'")
    for start, end in phone_numbers(text, codes):
        yield _finding(sentence, start, end, "a telephone number")
    for what, start, end, said in _sounding(text):
        if text[start:end].lower() not in codes and not {said.lower(), said.split(" ")[0].lower()} & kept:
            yield _finding(sentence, start, end, what)


@lru_cache(maxsize=8192)
def _sounding(text: str) -> tuple[tuple[str, int, int, str], ...]:
    """Return what sounds like a private detail in a sentence: what it is, its place, and the name in it."""
    return tuple(
        (what, match.start(), match.end(), next((value for value in match.groupdict().values() if value), ""))
        for name, what in _WHAT.items() for match in _pattern(name).finditer(text)
    )  # fmt: skip


def _finding(sentence: Sentence, start: int, end: int, what: str) -> Finding:
    return Finding(
        kind="private_detail",
        severity="ask",
        message=f"This sounds like {what}. Leave it out, or confirm that it may be published.",
        heard=sentence.text[start:end],
        start_ms=sentence.time_of(start, end)[0],
    )


def phone_numbers(text: str, codes: set[str]) -> list[tuple[int, int]]:
    """Return the places of telephone numbers, in figures or spoken digit by digit ("oh seven seven double four").

    Args:
        text: one sentence.
        codes: catalogue codes in lower case, none of which is a telephone number.
    """
    return [(start, end) for start, end in _long_numbers(text) if not _is_code(text[start:end], codes)]


@lru_cache(maxsize=8192)
def _long_numbers(text: str) -> tuple[tuple[int, int], ...]:
    needed = _BY_PHONE if _pattern("phone_words").search(text) else _ANYWHERE
    found, run, digits = [], [], ""
    times = 1
    for token in [*_TOKEN.finditer(text), None]:
        word = token.group().lower() if token else "end"
        if word in _TIMES:
            times = _TIMES[word]
        elif _digits(word) and token:
            run.append(token)
            digits, times = digits + _digits(word) * times, 1
        elif not (run and word in _JOINS):
            if run and needed <= len(digits) <= 15:
                found.append((run[0].start(), run[-1].end()))
            run, digits, times = [], "", 1
    return tuple(found)


def _digits(word: str) -> str:
    return _DIGITS.get(word, "") or (word.lstrip("+") if word.lstrip("+").isdigit() else "")


def _is_code(text: str, codes: set[str]) -> bool:
    said = letters_of(text).lower()
    return bool(said) and any(said in letters_of(code) for code in codes)
