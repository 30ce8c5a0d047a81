"""The rule files of `shared/`, read by what is wanted of them: a text, a list of words, a pattern, rows of a type."""

import re
from collections.abc import Iterable
from functools import cache
from typing import TypeVar

from studio import resources

T = TypeVar("T")


def _value(file: str, place: tuple[str, ...]) -> object:
    found: object = resources.table(file)
    for name in place:
        assert isinstance(found, dict), f"{file} holds no {' '.join(place)}"
        found = found[name]
    return found


def text(file: str, *place: str) -> str:
    """Return a text."""
    found = _value(file, place)
    assert isinstance(found, str), f"{place} in {file} is no text"
    return found


def figure(file: str, *place: str) -> float:
    """Return a number."""
    found = _value(file, place)
    assert isinstance(found, int | float), f"{place} in {file} is no number"
    return float(found)


def texts(file: str, *place: str) -> tuple[str, ...]:
    """Return a list of texts; a text alone is a list of one, a table gives what stands in it."""
    found = _value(file, place)
    listed = [found] if isinstance(found, str) else found.values() if isinstance(found, dict) else found
    assert isinstance(listed, Iterable)
    return tuple(str(one) for one in listed)


@cache
def typed(kind: type[T], file: str, *place: str) -> T:
    """Return what stands at a place as a type says, checked: a tuple of rows, a table of numbers, a dataclass."""
    from pydantic import TypeAdapter

    return TypeAdapter(kind).validate_python(_value(file, place))


@cache
def word_set(file: str, *place: str) -> frozenset[str]:
    """Return the words of a text, each once."""
    return frozenset(text(file, *place).split())


@cache
def expression(said: str, *, exact: bool = False) -> re.Pattern[str]:
    """Return a pattern made ready for use; capitals count only where it is `exact`."""
    return re.compile(said, 0 if exact else re.IGNORECASE)


@cache
def pattern(file: str, *place: str, exact: bool = False) -> re.Pattern[str]:
    """Return a pattern; of several, one that finds any of them."""
    found = texts(file, *place)
    return expression("|".join(f"(?:{one})" for one in found) if len(found) > 1 else found[0], exact=exact)


@cache
def patterns(file: str, *place: str) -> tuple[re.Pattern[str], ...]:
    """Return the patterns of a list one by one."""
    return tuple(expression(one) for one in texts(file, *place))


def finds(said: str, file: str, *place: str) -> bool:
    """Return whether a pattern is found in a text."""
    return pattern(file, *place).search(said) is not None
