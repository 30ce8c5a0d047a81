"""Where a new subject begins: by what the talk announces, its pauses and a length prior, in one dynamic programme."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from studio.chapters import cues, phrases, titles
from studio.chapters.cues import Announcement, Opening
from studio.model import Catalogue, Chapter, Mention, Recording, Sentence
from studio.settings import ChapterChoices

VERSION = 3
USUAL_LENGTH_S, USUAL_RECORDING_S = 46.0, 510.0
"""Chapters grow with the square root of the recording: 46 s in one of 8.5 minutes, 2 minutes in one of an hour."""
CANDIDATES = 300
"""At most so many sentences are tried as the first of a chapter, the likeliest."""
OFFER_SENTENCES = 6
"""So many sentences before a goodbye are looked at for an offer."""
SOON, EARLY_NOUNS = 6, 6
"""A new word counts among the first nouns of a sentence, where one of the next sentences says it again."""
LONGEST_PAUSE_S = 2.0
"""A longer silence is work at the table and says no more than this."""


@dataclass(frozen=True)
class Weights:
    """How much each part counts; a part with weight 0 is off."""

    cue: float = 1.0
    opener: float = 1.0
    topic: float = 1.0
    pause: float = 0.15
    new_words: float = 0.4
    prior: float = 2.0
    boundary: float = 0.8
    """What a boundary costs before its own score is counted."""


WEIGHTS = Weights()


@dataclass(frozen=True)
class Boundary:
    """A sentence as a candidate for a boundary; one that only opens ("Right.") is joined to the next."""

    first: int
    """Index of its first sentence."""
    start_ms: int
    pause_ms: int
    heard: Opening
    found: tuple[Announcement, ...]
    topic: str | None
    new_words: int = 0
    """How many of its first words are new in the talk and soon said again; 2 at most."""


def chapters(
    sentences: tuple[Sentence, ...],
    mentions: tuple[Mention, ...],
    catalogue: Catalogue,
    recording: Recording,
    choices: ChapterChoices,
) -> tuple[Chapter, ...]:
    """Return the chapters: the first at 0, ascending, each at least `choices.shortest_s` long, titles unique.

    There are `choices.count` of them where that is set; else their number follows from the recording, and is at least
    `choices.fewest`. A recording that is too short for that gets as many as fit, at least one; without speech, none.
    """
    return titled(sentences, starts(sentences, recording, choices), mentions, catalogue, choices)


def starts(sentences: tuple[Sentence, ...], recording: Recording, choices: ChapterChoices) -> tuple[int, ...]:
    """Return the index of the first sentence of each chapter, 0 first; none without speech."""
    return tuple(boundaries(sentences, recording.duration_ms, choices)) if sentences else ()


def titled(
    sentences: tuple[Sentence, ...],
    starts: tuple[int, ...],
    mentions: tuple[Mention, ...],
    catalogue: Catalogue,
    choices: ChapterChoices,
) -> tuple[Chapter, ...]:
    """Return the chapters that begin at these sentences, with their titles."""
    if not starts:
        return ()
    parts = [sentences[a:b] for a, b in pairwise([*starts, len(sentences)])]
    named = titles.titles(parts, mentions, catalogue, choices.title_length)
    times = [0, *(sentences[start].start_ms for start in starts[1:])]
    return tuple(Chapter(start_ms=time, title=title) for time, title in zip(times, named, strict=True))


def boundaries(
    sentences: Sequence[Sentence], duration_ms: int, choices: ChapterChoices, weights: Weights = WEIGHTS
) -> list[int]:
    """Return the index of the first sentence of each chapter, 0 first."""
    end_ms = max(duration_ms, sentences[-1].end_ms)
    found = units(sentences, end_ms)
    scores = sign_off(found, [worth(unit, weights) for unit in found], end_ms, choices.shortest_s * 1000)
    likely = sorted(range(1, len(found)), key=lambda place: -scores[place])[: CANDIDATES - 1]
    kept = [0, *sorted(likely)]
    starts = [0, *(found[place].start_ms for place in kept[1:]), end_ms]
    chosen = best_path(starts, [scores[place] for place in kept], choices, weights)
    return [found[kept[place]].first for place in chosen]


def units(sentences: Sequence[Sentence], end_ms: int) -> list[Boundary]:
    """Return what each sentence announces."""
    new = new_words(sentences)
    found: list[Boundary] = []
    waiting: Sentence | None = None
    for sentence in sentences:
        first = waiting or sentence
        heard = cues.opening_of(sentence.text if waiting is None else f"{waiting.text} {sentence.text}")
        waiting = first if not heard.rest.strip(" .,!?…") and sentence is not sentences[-1] else None
        if waiting is None:
            said = cues.announcements(heard, sentence.start_ms / max(1, end_ms))
            topic = cues.bare_topic(heard)
            found.append(
                Boundary(first.index, first.start_ms, first.pause_before_ms, heard, said, topic, new[first.index])
            )
    return found


def new_words(sentences: Sequence[Sentence]) -> dict[int, int]:
    """Return for each sentence, by its index, how many of its first nouns are new and soon said again; 2 at most."""
    said = [[word.rstrip("s") for word in phrases.nouns([sentence])] for sentence in sentences]
    seen: set[str] = set()
    counts = {}
    for place, sentence in enumerate(sentences):
        soon = {word for later in said[place + 1 : place + 1 + SOON] for word in later}
        counts[sentence.index] = min(2, len(set(said[place][:EARLY_NOUNS]) & soon - seen))
        seen |= set(said[place])
    return counts


def worth(unit: Boundary, weights: Weights = WEIGHTS) -> float:
    """Return how much speaks for a boundary before the unit, less what a boundary costs."""
    good = [one.weight for one in unit.found if one.weight > 0]
    bad = sum(one.weight for one in unit.found if one.weight < 0 and not (good and one.announces == cues.GOES_ON))
    announced = sum(good[:1]) + 0.3 * sum(good[1:]) + bad
    named = cues.topic_weight(unit.heard, unit.topic) if unit.topic else 0.0
    silence = min(unit.pause_ms / 1000, LONGEST_PAUSE_S)
    parts = (
        weights.cue * announced,
        weights.opener * cues.opener_weight(unit.heard),
        weights.topic * named,
        weights.pause * silence,
        weights.new_words * unit.new_words,
    )
    return sum(parts) - weights.boundary


def sign_off(found: Sequence[Boundary], scores: Sequence[float], end_ms: int, shortest_ms: int) -> list[float]:
    """Return the scores, with that of a goodbye too near the end given to the last sentence that makes it long enough.

    A goodbye of some seconds so stays apart from the offer before it, where the offer can spare the sentence. Behind
    anything else, and where the goodbye was begun earlier, nothing changes.
    """
    moved = list(scores)
    long_enough = [place for place, unit in enumerate(found) if end_ms - unit.start_ms >= shortest_ms]
    at = long_enough[-1] if long_enough else 0
    before = {one.announces for unit in found[max(0, at - OFFER_SENTENCES) : at + 1] for one in unit.found}
    if cues.END not in before and before & cues.OFFERS:
        near = (p for p in range(at + 1, len(found)) if found[p].start_ms - found[at].start_ms <= shortest_ms)
        late = [scores[place] for place in near if any(one.announces == cues.END for one in found[place].found)]
        moved[at] = max([moved[at], *late])
    return moved


def best_path(starts: Sequence[int], scores: Sequence[float], choices: ChapterChoices, weights: Weights) -> list[int]:
    """Return the places of the boundaries that together are worth most, 0 first.

    Args:
        starts: start of each candidate in milliseconds, and the end of the recording; the first is 0.
        scores: what a boundary before each candidate is worth.
        choices: the shortest chapter, the fewest, and the count where the person set it.
        weights: how much the length prior counts.
    """
    fit = max(1, starts[-1] // (choices.shortest_s * 1000))
    if choices.count is not None:
        return _path_of(starts, scores, choices, weights, min(choices.count, fit))
    free = _free_path(starts, scores, choices, weights)
    fewest = min(choices.fewest, fit)
    return free if len(free) >= fewest else _path_of(starts, scores, choices, weights, fewest)


def _prior(length_ms: float, usual_s: float, weights: Weights) -> float:
    """Return the logarithm of a gamma prior on a chapter's length, 0 at its mode."""
    ratio = max(length_ms, 1) / 1000 / usual_s
    return -weights.prior * (ratio - 1 - math.log(ratio))


def _usual_s(starts: Sequence[int]) -> float:
    return USUAL_LENGTH_S * math.sqrt(max(starts[-1], 1000) / 1000 / USUAL_RECORDING_S)


def _steps(
    starts: Sequence[int], scores: Sequence[float], choices: ChapterChoices, weights: Weights
) -> list[list[tuple[int, float]]]:
    """Return for each candidate, and for the end, the boundaries that may stand before it and what the step is worth.

    The last chapter may be short for its kind: a sign-off.
    """
    usual = _usual_s(starts)
    steps: list[list[tuple[int, float]]] = []
    for place, start in enumerate(starts):
        last = place == len(scores)
        before = [b for b in range(min(place, len(scores))) if start - starts[b] >= choices.shortest_s * 1000]
        lengths = [start - starts[b] for b in before]
        gain = 0.0 if last else scores[place]
        steps.append(
            [
                (b, gain + _prior(max(length, usual * 1000) if last else length, usual, weights))
                for b, length in zip(before, lengths, strict=True)
            ]
        )
    return steps


def _free_path(starts: Sequence[int], scores: Sequence[float], choices: ChapterChoices, weights: Weights) -> list[int]:
    best: list[tuple[float, int]] = [(0.0, -1)]
    for before in _steps(starts, scores, choices, weights)[1:]:
        best.append(max(((best[b][0] + gain, b) for b, gain in before), default=(-math.inf, -1)))
    if best[-1][0] == -math.inf:
        return [0]
    path = [best[-1][1]]
    while path[-1] > 0:
        path.append(best[path[-1]][1])
    return path[::-1]


def _path_of(
    starts: Sequence[int], scores: Sequence[float], choices: ChapterChoices, weights: Weights, count: int
) -> list[int]:
    """Return the best path of exactly so many chapters, or of as many as the candidates allow."""
    steps = _steps(starts, scores, choices, weights)
    rows: list[list[tuple[float, int]]] = [[(0.0, -1)] + [(-math.inf, -1)] * len(scores)]
    for _ in range(count):
        above = rows[-1]
        rows.append([max(((above[b][0] + gain, b) for b, gain in before), default=(-math.inf, -1)) for before in steps])
    reached = next((row for row in range(count, 0, -1) if rows[row][-1][0] > -math.inf), 0)
    path: list[int] = []
    place = len(scores)
    for row in range(reached, 0, -1):
        place = rows[row][place][1]
        path.append(place)
    return path[::-1] or [0]
