"""Names of people in the talk, told by how they are used; they stay out of what is published."""

import re
from collections.abc import Callable, Iterable, Iterator
from functools import cache

from studio import rule_files
from studio.model import Sentence
from studio.writing import worth

_CAPITAL = re.compile(r"(?<![\w'’-])[A-Z][a-z]+(?:['’][a-z]+)?(?![\w-])")


def people_named(sentences: tuple[Sentence, ...], known: Callable[[], set[str]]) -> Iterator[tuple[int, int, int]]:
    """Yield sentence index, first and last character of every name of a person.

    A word is a name where it is used as one somewhere in the talk, or is a common given name.

    Args:
        sentences: the talk.
        known: returns words that are no people, such as those of the catalogue; asked only where there is a candidate.
    """
    candidates = list(_capitals(sentences))
    _, given, _, _ = _people_rules()
    people = {name for _, _, name, used in candidates if used or name in given}
    people -= known() if people else set()
    for index, start, name, _ in candidates:
        if name in people:
            yield index, start, start + len(name)


@cache
def _people_rules() -> tuple[frozenset[str], frozenset[str], re.Pattern[str], re.Pattern[str]]:
    acts = "|".join(rule_files.text(worth.FILE, "people", "acts").split())
    return (
        worth.listed("people", "not_people"),
        worth.listed("people", "given"),
        rule_files.expression(rf"\s+(?:{acts})\b"),
        rule_files.pattern(worth.FILE, "people", "relations"),
    )


def _capitals(sentences: Iterable[Sentence]) -> Iterator[tuple[int, int, str, bool]]:
    """Yield sentence, place, word in lower case of each capitalised word, and whether it is used as a person's name."""
    not_people, _, acts, relations = _people_rules()
    for sentence in sentences:
        text = sentence.text
        for found in _CAPITAL.finditer(text):
            name = found[0].replace("’", "'").partition("'")[0].lower()
            if name in not_people or name in worth.plain_verbs():
                continue
            before, after = text[: found.start()], text[found.end() :]
            inside = bool(before.strip()) and not before.rstrip().endswith((".", "?", "!"))
            acting = (
                inside
                and acts.match(after)
                and before.rstrip().lower().endswith((",", "and", "but", "so", "because", "when", "if"))
            )
            yield (
                sentence.index,
                found.start(),
                name,
                bool(acting or relations.search(before) or _called(before, after)),
            )


def _called(before: str, after: str) -> bool:
    """Return whether a word between a comma and the end is somebody called by name: "Hush, Gerald."."""
    clause_before = before.rstrip().rstrip(",").rsplit(",", 1)[-1].split()
    alone = before.rstrip().endswith(",") and after.strip()[:1] in {"?", "!", "."} and len(after.strip()) <= 1
    return (
        alone
        and bool(clause_before)
        and not any(word[:1].isupper() for word in clause_before[1:])
        and len(before.split()) <= 4
    )
