"""Where a new subject begins, found by what the talk announces, its pauses and a length prior; and what to call it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from studio import cues, titles
from studio.cues import Announcement, Opening
from studio.model import Catalogue, Chapter, Mention, Recording, Sentence
from studio.settings import ChapterChoices

VERSION = 1
GOES_ON = "more of the same"
USUAL_LENGTH_S, USUAL_RECORDING_S = 46.0, 510.0
"""Chapters grow with the square root of the recording: 46 s in one of 8.5 minutes, 2 minutes in one of an hour."""


@dataclass(frozen=True)
class Weights:
    """How much each part counts; a part with weight 0 is off."""

    cue: float = 1.0
    opener: float = 1.0
    topic: float = 1.0
    pause: float = 0.25
    item: float = 0.0
    prior: float = 0.5
    boundary: float = 1.0
    """What a boundary costs before its own score is counted."""


@dataclass(frozen=True)
class Unit:
    """A sentence as a candidate for a boundary; one that only opens ("Right.") is joined to the next."""

    first: int
    """Index of its first sentence."""
    start_ms: int
    pause_ms: int
    heard: Opening
    found: tuple[Announcement, ...]
    topic: str | None
    new_item: bool


WEIGHTS = Weights()


def chapters(
    sentences: tuple[Sentence, ...],
    mentions: tuple[Mention, ...],
    catalogue: Catalogue,
    recording: Recording,
    choices: ChapterChoices,
) -> tuple[Chapter, ...]:
    """Return the chapters: the first at 0, ascending, each at least `choices.shortest_s` long, titles unique.

    A recording that is too short for `choices.fewest` chapters of that length gets as many as fit, at least one.
    """
    if not sentences:
        return ()
    starts = boundaries(sentences, mentions, recording.duration_ms, choices)
    edges = [*starts, len(sentences)]
    parts = [sentences[a:b] for a, b in pairwise(edges)]
    named = titles.titles(parts, mentions, catalogue, choices.title_length)
    times = [0, *(sentences[start].start_ms for start in starts[1:])]
    return tuple(Chapter(start_ms=time, title=title) for time, title in zip(times, named, strict=True))


def boundaries(
    sentences: Sequence[Sentence],
    mentions: Sequence[Mention],
    duration_ms: int,
    choices: ChapterChoices,
    weights: Weights = WEIGHTS,
) -> list[int]:
    """Return the index of the first sentence of each chapter, 0 first."""
    end_ms = max(duration_ms, sentences[-1].end_ms)
    units = _units(sentences, mentions, end_ms)
    worth = [_worth(unit, weights) for unit in units]
    starts = [0, *(unit.start_ms for unit in units[1:]), end_ms]
    chosen = _best_path(starts, worth, choices, weights)
    return [units[place].first for place in chosen]


def _units(sentences: Sequence[Sentence], mentions: Sequence[Mention], end_ms: int) -> list[Unit]:
    firsts: dict[str, int] = {}
    for mention in mentions:
        if mention.code and mention.role == "shown":
            firsts[mention.code] = min(mention.start_ms, firsts.get(mention.code, mention.start_ms))
    new = sorted(firsts.values())
    units: list[Unit] = []
    waiting: Sentence | None = None
    for sentence in sentences:
        first = waiting or sentence
        text = sentence.text if waiting is None else f"{waiting.text} {sentence.text}"
        heard = cues.opening(text)
        if not heard.rest.strip(" .,!?") and sentence is not sentences[-1]:
            waiting = first
            continue
        waiting = None
        found = cues.announcements(heard, sentence.start_ms / end_ms)
        shown = any(sentence.start_ms <= time < sentence.end_ms for time in new)
        units.append(
            Unit(first.index, first.start_ms, first.pause_before_ms, heard, found, cues.bare_topic(heard), shown)
        )
    return units


def _worth(unit: Unit, weights: Weights) -> float:
    """Return how much speaks for a boundary before the unit."""
    good = sorted((one.weight for one in unit.found if one.weight > 0), reverse=True)
    bad = sum(one.weight for one in unit.found if one.weight < 0 and not (good and one.announces == GOES_ON))
    worth = weights.cue * (sum(good[:1]) + 0.3 * sum(good[1:]) + bad)
    opened = cues.opener_weight(unit.heard.openers)
    worth += weights.opener * opened
    if unit.topic and unit.heard.openers:
        worth += weights.topic * (1.2 if opened > 0 else 0.9)
    worth += weights.pause * min(unit.pause_ms / 1000, 2)
    return worth + weights.item * unit.new_item - weights.boundary


def _best_path(starts: list[int], worth: list[float], choices: ChapterChoices, weights: Weights) -> list[int]:
    """Return the places of the boundaries that together are worth most (dynamic programme, exact).

    Args:
        starts: start of each unit in milliseconds, and the end of the recording.
        worth: what a boundary before each unit is worth.
        choices: the shortest chapter.
        weights: how much the length prior counts.
    """
    usual = USUAL_LENGTH_S * math.sqrt(starts[-1] / 1000 / USUAL_RECORDING_S)
    shortest = choices.shortest_s * 1000

    def prior(length_ms: float) -> float:
        return -weights.prior * math.log(length_ms / 1000 / usual) ** 2

    best: list[tuple[float, int]] = [(0.0, -1)]
    for place in range(1, len(worth)):
        options = [
            (best[before][0] + worth[place] + prior(starts[place] - starts[before]), before)
            for before in range(place)
            if starts[place] - starts[before] >= shortest
        ]
        best.append(max(options, default=(-math.inf, -1)))
    ends = [
        (best[place][0] + prior(max(starts[-1] - starts[place], usual * 1000)), place)
        for place in range(len(worth))
        if place == 0 or starts[-1] - starts[place] >= shortest
    ]
    path = [max(ends)[1]]
    while best[path[-1]][1] >= 0:
        path.append(best[path[-1]][1])
    return path[::-1]
