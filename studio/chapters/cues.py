"""What a spoken sentence announces: a next thing, a step, an offer, the end; by the phrases of `shared/cues.toml`."""

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from studio import rule_files

EARLY_WORDS = 16
"""A phrase later in a sentence announces nothing."""
GOES_ON = "more of the same"
"""Counts only in a sentence that announces nothing."""
END = "the end"
"""What a goodbye announces."""
OFFERS = frozenset({"the offer", "terms of an offer"})
_WORD = re.compile(r"[\w'’£$€%&-]+")
_ARTICLES = frozenset({"the", "my", "your", "our", "some", "a", "an"})
STOP = re.compile(r"[.,;:!?–—]")


@dataclass(frozen=True)
class CueWords:
    """A group of phrases that announce the same."""

    announces: str
    weight: float
    at_head: bool
    pattern: re.Pattern[str]
    names: str
    """What a title may take from the sentence."""
    only_in_the_last: float
    """Part of the recording at its end in which the phrases count; 1 for all of it."""


@dataclass(frozen=True)
class Opening:
    """A sentence without the words that only open it."""

    text: str
    """The whole sentence: lower case, typewriter apostrophes."""
    openers: tuple[str, ...]
    heads: tuple[int, ...]
    """Indexes at which a phrase may begin: at each opening word, and behind them all."""

    @property
    def rest(self) -> str:
        """The text behind the opening words."""
        return self.text[self.heads[-1] :]


@dataclass(frozen=True)
class Announcement:
    """A phrase found in a sentence."""

    announces: str
    weight: float
    names: str
    start: int
    end: int
    """Indexes in `Opening.text` of the phrase."""


@dataclass(frozen=True)
class _Row:
    announces: str
    at: str
    weight: float
    patterns: tuple[str, ...]
    names: str = "what follows"
    only_in_the_last: float = 1.0


@cache
def cue_groups() -> tuple[CueWords, ...]:
    """Return the groups of phrases in the order of the file."""
    return tuple(_cue(row) for row in rule_files.typed(tuple[_Row, ...], "cues.toml", "cue"))


def _cue(row: _Row) -> CueWords:
    making = f"(?:{'|'.join(sorted(rule_files.word_set('titles.toml', 'verbs')))})"
    joined = "|".join(f"(?:{pattern})" for pattern in row.patterns).replace("{making}", making)
    return CueWords(
        announces=row.announces,
        weight=row.weight,
        at_head=row.at == "head",
        pattern=rule_files.expression(joined, exact=True),
        names=row.names,
        only_in_the_last=row.only_in_the_last,
    )


def cue_words(table: str, name: str) -> frozenset[str]:
    """Return a word list of the file."""
    return rule_files.word_set("cues.toml", table, name)


def _any_of(table: str) -> re.Pattern[str]:
    return rule_files.pattern("cues.toml", table, "patterns", exact=True)


def holds(table: str, text: str) -> bool:
    """Return whether the text holds a phrase of a table such as `greeting`."""
    return _any_of(table).search(lowered(text)) is not None


@lru_cache(maxsize=16384)
def lowered(text: str) -> str:
    """Return the text in lower case with typewriter apostrophes; every character keeps its place."""
    return "".join(low if len(low := sign.lower()) == 1 else sign for sign in text.replace("’", "'"))


@lru_cache(maxsize=8192)
def opening_of(text: str) -> Opening:
    """Take the opening words and hesitations off the head of a sentence."""
    lower = _vocatives().sub(lambda match: "," * len(match[0]), lowered(text)).replace("all right", "alright,,")
    found: list[str] = []
    heads: list[int] = []
    places = list(_WORD.finditer(lower[:200]))
    for match, after in zip(places, [*places[1:], None], strict=False):
        heads.append(match.start())
        if _opens(match[0], lower[match.end() :], after[0] if after else ""):
            found.append(match[0])
        elif match[0] not in cue_words("hesitation", "words"):
            return Opening(lower, tuple(found), tuple(heads))
    return Opening(lower, tuple(found), (*heads, len(lower)))


def _vocatives() -> re.Pattern[str]:
    called = rule_files.text("cues.toml", "hesitation", "vocatives")
    return rule_files.expression(rf"\b{called}\b", exact=True)


def _opens(word: str, behind: str, after: str) -> bool:
    """Return whether a word opens the sentence; "right" does in "Right, let's", not in "Right sides together"."""
    if word not in cue_words("opener", "words"):
        return False
    if word not in cue_words("opener_also_adjective", "words"):
        return True
    return not behind.startswith(" ") or after in cue_words("opener_also_adjective", "followed_by")


def announcements(heard: Opening, place: float) -> tuple[Announcement, ...]:
    """Return every group that the sentence belongs to, the strongest first.

    Args:
        heard: the sentence.
        place: where it stands in the recording, 0 to 1.
    """
    found = [
        Announcement(cue.announces, cue.weight, cue.names, *span)
        for cue, span in _said(heard) if place >= 1 - cue.only_in_the_last
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda one: -one.weight))


@lru_cache(maxsize=8192)
def _said(heard: Opening) -> tuple[tuple[CueWords, tuple[int, int]], ...]:
    """Return the groups whose phrases a sentence holds, and where."""
    end = _end_of_first_words(heard)
    spans = ((cue, _span(cue, heard, end)) for cue in cue_groups())
    return tuple((cue, span) for cue, span in spans if span is not None)


def _span(cue: CueWords, heard: Opening, end: int) -> tuple[int, int] | None:
    """Return where the phrase stands, or None where it is not said."""
    if not cue.at_head:
        start = heard.heads[-1]
        found = cue.pattern.search(heard.text[start:end])
        return (start + found.start(), start + found.end()) if found else None
    tries = (cue.pattern.match(heard.text, head, end) for head in reversed(heard.heads[-4:]))
    return next((match.span() for match in tries if match), None)


def _end_of_first_words(heard: Opening) -> int:
    start = heard.heads[-1]
    ends = [match.end() for match in _WORD.finditer(heard.text, start, start + 300)]
    return ends[EARLY_WORDS - 1] if len(ends) > EARLY_WORDS else start + 300


def opener_weight(heard: Opening) -> float:
    """Return what the opening words are worth by themselves; the weak ones nothing."""
    return rule_files.figure("cues.toml", "opener", "weight") if _opens_firmly(heard) else 0.0


def _opens_firmly(heard: Opening) -> bool:
    return bool(set(heard.openers) - cue_words("opener", "weak"))


def topic_weight(heard: Opening, topic: str) -> float:
    """Return what a bare topic is worth, by the opening words before it; without any, only as a sentence of its own."""
    if heard.openers:
        return _topic_weight("weight" if _opens_firmly(heard) else "weight_after_weak")
    if " " in topic:
        return 0.0
    return _topic_weight("weight_alone" if heard.rest.strip(" .!?…") == topic else "weight_before_comma")


def _topic_weight(name: str) -> float:
    return rule_files.figure("cues.toml", "bare_topic", name)


def bare_topic(heard: Opening) -> str | None:
    """Return the noun that a sentence names after its opening words and then stops ("Right, ribbons."), else None."""
    match = STOP.search(heard.rest)
    phrase = heard.rest[: match.start() if match else None].strip()
    nouns = _WORD.findall(phrase)
    bare = [word for word in nouns if word not in _ARTICLES and word != "for"]
    acts = nouns[:1] != ["for"] and bool(_ARTICLES & set(nouns[1:]))
    if not 1 <= len(bare) <= 3 or len(nouns) > 4 or acts or cue_words("bare_topic", "not_nouns") & set(bare):
        return None
    return phrase if not any(word[0].isdigit() for word in bare) else None
