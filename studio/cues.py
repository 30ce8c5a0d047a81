"""What a spoken sentence announces: a next thing, a step, an offer, the end; by the phrases of `shared/cues.toml`."""

import re
from dataclasses import dataclass
from functools import cache
from typing import Any

from studio import resources

EARLY_WORDS = 16
"""A phrase later in a sentence announces nothing."""
_WORD = re.compile(r"[\w'’£$€%&-]+")
_STOP = re.compile(r"[.,;:!?–—]")


@dataclass(frozen=True)
class Cue:
    """A group of phrases that announce the same."""

    announces: str
    weight: float
    at_head: bool
    pattern: re.Pattern[str]
    only_in_the_last: float
    """Part of the recording at its end in which the phrases count; 1 for all of it."""


@dataclass(frozen=True)
class Opening:
    """A sentence without the words that only open it."""

    rest: str
    """Lower case, typewriter apostrophes."""
    openers: tuple[str, ...]
    offset: int
    """Index of the first character of `rest` in the sentence."""


@dataclass(frozen=True)
class Announcement:
    """A phrase found in a sentence."""

    announces: str
    weight: float
    end: int
    """Index in `Opening.rest` of the first character behind the phrase."""


@cache
def cues() -> tuple[Cue, ...]:
    """Return the groups of phrases in the order of the file."""
    return tuple(_cue(row) for row in resources.table("cues.toml")["cue"])


def _cue(row: dict[str, Any]) -> Cue:
    joined = re.compile("|".join(f"(?:{pattern})" for pattern in row["patterns"]))
    return Cue(row["announces"], row["weight"], row["at"] == "head", joined, row.get("only_in_the_last", 1.0))


@cache
def words(table: str, name: str) -> frozenset[str]:
    """Return a word list of the file."""
    return frozenset(resources.table("cues.toml")[table][name].split())


@cache
def _any_of(table: str) -> re.Pattern[str]:
    return re.compile("|".join(f"(?:{pattern})" for pattern in resources.table("cues.toml")[table]["patterns"]))


def holds(table: str, text: str) -> bool:
    """Return whether the text holds a phrase of a table such as `greeting`."""
    return _any_of(table).search(plain(text)) is not None


def plain(text: str) -> str:
    """Return the text in lower case with typewriter apostrophes; every character keeps its place."""
    return "".join(low if len(low := sign.lower()) == 1 else sign for sign in text.replace("’", "'"))


def opening(text: str) -> Opening:
    """Take the opening words and hesitations off the head of a sentence."""
    lower = plain(text)
    weights, hesitations = resources.table("cues.toml")["opener"], words("hesitation", "words")
    found: list[str] = []
    at = 0
    for match in _WORD.finditer(lower[:200]):
        word = match[0]
        if word not in weights and word not in hesitations:
            at = match.start()
            break
        found += [word] if word in weights else []
        at = match.end()
    return Opening(lower[at:], tuple(found), at)


def opener_weight(found: tuple[str, ...]) -> float:
    """Return how strongly opening words open a subject: the sum of their weights, between -0.5 and 1.2."""
    weights: dict[str, float] = resources.table("cues.toml")["opener"]
    return max(-0.5, min(1.2, sum(weights[word] for word in found)))


def announcements(heard: Opening, place: float) -> tuple[Announcement, ...]:
    """Return every group that the sentence belongs to, the strongest first.

    Args:
        heard: the sentence.
        place: where it stands in the recording, 0 to 1.
    """
    head = _first_words(heard.rest)
    found = []
    for cue in cues():
        match = (cue.pattern.match if cue.at_head else cue.pattern.search)(head)
        if match and place >= 1 - cue.only_in_the_last:
            found.append(Announcement(cue.announces, cue.weight, match.end()))
    return tuple(sorted(found, key=lambda one: -one.weight))


def _first_words(text: str) -> str:
    ends = [match.end() for match in _WORD.finditer(text[:300])]
    return text[: ends[EARLY_WORDS - 1] + 1] if len(ends) > EARLY_WORDS else text[:300]


def bare_topic(heard: Opening) -> str | None:
    """Return the noun that a sentence names after its opening words and then stops ("Right, ribbons."), else None."""
    match = _STOP.search(heard.rest)
    phrase = heard.rest[: match.start() if match else None].strip()
    nouns = _WORD.findall(phrase)
    bare = [word for word in nouns if word not in {"the", "my", "your", "our", "some", "a", "an", "for"}]
    if not 1 <= len(bare) <= 3 or len(nouns) > 4 or words("bare_topic", "not_nouns") & set(bare):
        return None
    return phrase if not any(word[0].isdigit() for word in bare) else None
