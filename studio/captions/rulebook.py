"""The caption rules as data, and the check that tells each breach of them with its source."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from studio import rule_files
from studio.caption_files import Cue
from studio.captions import breaks
from studio.model import Recording
from studio.settings import CaptionChoices


@dataclass(frozen=True)
class Rule:
    """One rule: what it limits, by how much, and who says so."""

    name: str
    severity: Literal["error", "warning"]
    figure: int
    unit: str
    source: str


@dataclass(frozen=True)
class Breach:
    """A caption that does not keep a rule."""

    start_ms: int
    rule: str
    severity: Literal["error", "warning"]
    message: str
    source: str


Rules = dict[str, Rule]


def caption_rules(choices: CaptionChoices | None = None, recording: Recording | None = None) -> Rules:
    """Return the rules by name, for the picture's shape and with the person's own figures laid over."""
    found = {rule.name: rule for rule in rule_files.typed(tuple[Rule, ...], "captions.toml", "rule")}
    if recording and recording.width and recording.height and recording.height > recording.width:
        for name in ("line_length", "line_length_preferred", "lines"):
            found[name] = _with_figure(
                found[name], _upright(name), rule_files.text("captions.toml", "portrait", f"{name}_source")
            )
    own = "the settings of this shop"
    if choices and choices.line_length:
        for name in ("line_length", "line_length_preferred"):
            found[name] = _with_figure(found[name], choices.line_length, own)
    if choices and choices.lines:
        found["lines"] = _with_figure(found["lines"], choices.lines, own)
    return found


def _upright(name: str) -> int:
    return int(rule_files.figure("captions.toml", "portrait", name))


def _with_figure(rule: Rule, figure: int, source: str) -> Rule:
    return Rule(rule.name, rule.severity, figure, rule.unit, source)


def breaches(cues: Sequence[Cue], by: Rules) -> tuple[Breach, ...]:
    """Return every breach in the order of the captions."""
    found = [breach for cue in cues for breach in _alone(cue, by)]
    found += [breach for before, after in pairwise(cues) for breach in _between(before, after, by)]
    return tuple(sorted(found, key=lambda breach: breach.start_ms))


def _breach(cue: Cue, rule: Rule, message: str) -> Breach:
    return Breach(cue.start_ms, rule.name, rule.severity, message, rule.source)


def _alone(cue: Cue, by: Rules) -> Iterator[Breach]:
    lasts = cue.end_ms - cue.start_ms
    if lasts < by["duration"].figure:
        yield _breach(cue, by["duration"], "It ends before it begins.")
    else:
        yield from _pace(cue, lasts, by)
    if len(cue.lines) > by["lines"].figure:
        yield _breach(cue, by["lines"], f"{len(cue.lines)} lines, at most {by['lines'].figure}.")
    yield from (breach for line in cue.lines for breach in _long(cue, line, by))
    for above, below in pairwise(cue.lines):
        yield from _torn(cue, above.split(), below.split(), by)


def _long(cue: Cue, line: str, by: Rules) -> Iterator[Breach]:
    for name in ("line_length", "line_length_preferred"):
        if len(line) > by[name].figure:
            yield _breach(cue, by[name], f"A line of {len(line)} characters, at most {by[name].figure}: “{line}”")
            return


def _pace(cue: Cue, lasts: int, by: Rules) -> Iterator[Breach]:
    words = len(cue.text.split())
    least = by["shortest_per_word"].figure
    if lasts < words * least:
        yield _breach(cue, by["shortest_per_word"], f"{words} words in {lasts} ms, at least {words * least} ms.")
    elif words * 60_000 / max(lasts, 1) > by["speed"].figure:
        pace = math.ceil(words * 60_000 / lasts)
        yield _breach(cue, by["speed"], f"{pace} words a minute, at most {by['speed'].figure}.")
    if lasts > by["longest"].figure:
        yield _breach(cue, by["longest"], f"Shown for {lasts} ms, at most {by['longest'].figure} ms.")


def _between(before: Cue, after: Cue, by: Rules) -> Iterator[Breach]:
    gap = after.start_ms - before.end_ms
    if after.start_ms < before.start_ms:
        yield _breach(after, by["order"], "It begins before the caption above it.")
    elif gap < 0:
        yield _breach(after, by["overlap"], f"It begins {-gap} ms before the one above it ends.")
    elif 0 < gap < by["gap"].figure:
        yield _breach(after, by["gap"], f"A gap of {gap} ms: none, or at least {by['gap'].figure} ms.")
    if gap < by["gap"].figure:
        yield from _torn(before, before.text.split(), after.text.split(), by)


def _torn(cue: Cue, above: list[str], below: list[str], by: Rules) -> Iterator[Breach]:
    if not above or not below:
        return
    lean = breaks.between([*above, *below], len(above))
    told = f"“{' '.join(above[-2:])} | {' '.join(below[:2])}”"
    if lean == "bound":
        yield _breach(cue, by["number_and_unit"], f"A break inside a number, its unit or a code: {told}")
    elif lean == "leaning":
        yield _breach(cue, by["break"], f"A break between words that belong together: {told}")
