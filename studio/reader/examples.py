"""Marked talks made into examples to learn from: words with their labels, stretches with the rows they may mean.

Sentences are not used: a stretch is seen with the words around it, since captions have no sentences.
"""

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from random import Random
from typing import Any

from studio.reader.forms import FORMS, Form, Timed, timed
from studio.reader.marks import ROLES
from studio.reader.rows import EVIDENCE, Rows, ago, fold
from studio.reader.talks import KINDS, Talk

FLAGS = ("withdrawn", "final", "warn", "private", "earn", "claim", "offer")
TAGS = ("O", *(f"{edge}-{role}" for role in ROLES for edge in "BI"))
BEFORE, NEAR_BEFORE, NEAR_AFTER, AFTER = 36, 10, 8, 14
"""Words of context of a stretch; the near ones count more for the candidates."""
MOST = 16
"""Candidates of a stretch; "none of these" comes beside them."""
SEED = 7


@dataclass(frozen=True)
class Words:
    """A talk in one form, word by word, with what each word is."""

    talk: str
    form: str
    words: list[str]
    tag: list[int]
    kind: list[int]
    start: list[int]
    """1 at the first word of a new subject, -1 where it may be, 0 elsewhere."""
    stop: list[int]
    flags: list[list[int]]


@dataclass(frozen=True)
class Stretch:
    """Words that name or point at a row, or do not, with the rows that they may mean."""

    talk: str
    before: str
    said: str
    after: str
    rows: list[str]
    evidence: list[list[float]]
    target: list[float]
    """One probability a row, and the last for none of these."""
    role: int


def words_of(talk: Talk, form: Form) -> tuple[Words, Timed]:
    """Return a talk word by word with its labels."""
    made = timed(talk, form)
    said = [word.text for block in made.transcript.segments for word in block.words]
    n = len(said)
    words = Words(talk.name, form, said, [0] * n, [0] * n, [0] * n, [0] * n, [[0] * len(FLAGS) for _ in range(n)])
    _label_lines(words, talk, made)
    for first, last, mark in spans(talk, made):
        if mark.kind == "row" and not any(words.tag[first:last]):
            role = ROLES.index(mark.role)
            for at in range(first, last):
                words.tag[at] = 1 + 2 * role + (at > first)
        for flag in _flags(mark):
            for at in range(first, last):
                words.flags[at][flag] = 1
    return words, made


def _flags(mark: Any) -> Iterator[int]:  # noqa: ANN401
    named = {"withdrawn": mark.wrong, "final": mark.right, mark.kind: mark.kind in FLAGS}
    return (FLAGS.index(name) for name, holds in named.items() if holds)


def _label_lines(words: Words, talk: Talk, made: Timed) -> None:
    starts = {start.utterance: -1 if start.optional else 1 for start in talk.starts}
    for at, (line, _) in enumerate(made.origin):
        words.kind[at] = KINDS.index(talk.utterances[line].kind)
        if not at or made.origin[at - 1][0] != line:
            words.start[at] = starts.get(line, 0)
        words.stop[at] = int(at + 1 == len(made.origin) or made.origin[at + 1][0] != line)


def spans(talk: Talk, made: Timed) -> list[tuple[int, int, Any]]:
    """Return every mark with the first word of the form that it covers and the one after its last; longest first."""
    place: dict[int, dict[int, int]] = defaultdict(dict)
    for at, (line, first) in enumerate(made.origin):
        place[line][first] = at
    found = []
    for line, one in enumerate(talk.utterances):
        firsts = place[line]
        for marked in one.marks if firsts else ():
            inside = [firsts[f] for f in firsts if marked.first <= f < marked.last]
            inside = inside or [firsts[max((f for f in firsts if f <= marked.first), default=min(firsts))]]
            found.append((inside[0], inside[-1] + 1, marked.mark))
    return sorted(found, key=lambda one: (one[0] - one[1], one[0]))


def context(words: Sequence[str], first: int, last: int) -> tuple[str, str, str]:
    """Return the words before, of and after a stretch."""
    join = " ".join
    return join(words[max(0, first - BEFORE) : first]), join(words[first:last]), join(words[last : last + AFTER])


def near(words: Sequence[str], first: int, last: int) -> tuple[str, str]:
    """Return the words close to a stretch, and those around it, for the candidates."""
    join = " ".join
    close = [*words[max(0, first - NEAR_BEFORE) : first], *words[last : last + NEAR_AFTER]]
    return join(close), join([*words[max(0, first - BEFORE) : first], *words[last : last + AFTER]])


def stretches(talk: Talk, form: Form, chance: Random) -> list[Stretch]:
    """Return the stretches of a talk that are marked, and as many that only look like names."""
    words, made = words_of(talk, form)
    rows = Rows(talk.catalogue)
    place = {product.code: at for at, product in enumerate(talk.catalogue.products)}
    marked = sorted((one for one in spans(talk, made) if one[2].kind == "row"), key=lambda one: (one[0], one[1]))
    wrong = _lookalikes(words, rows, talk)
    chance.shuffle(wrong)
    told = [(first, last, mark) for first, last, mark in marked]
    told += [(first, last, None) for first, last in wrong[: len(marked)]]
    found, met = [], list[int]()
    for first, last, mark in sorted(told, key=lambda one: (one[0], one[1])):
        codes = [place[code] for code in mark.codes] if mark else []
        found.append(_stretch(words, rows, met, (first, last), codes, mark.role if mark else ""))
        if len(codes) == 1:
            met.append(codes[0])
    return found


def _stretch(
    words: Words, rows: Rows, met: Sequence[int], span: tuple[int, int], codes: Sequence[int], role: str
) -> Stretch:
    before, said, after = context(words.words, *span)
    candidates = rows.candidates(said, *near(words.words, *span), ago(met), MOST)
    meant = [float(one.at in codes) for one in candidates]
    lost = 1.0 if not codes else (len(codes) - sum(meant)) / len(codes)
    target = [one / len(codes) for one in meant] if codes else meant
    return Stretch(
        words.talk, before, said, after, [rows.texts[one.at] for one in candidates],
        [list(one.evidence) for one in candidates], [*target, lost], ROLES.index(role) if role else -1,
    )  # fmt: skip


def _lookalikes(words: Words, rows: Rows, talk: Talk) -> list[tuple[int, int]]:
    """Return unmarked runs of words that stand in names of rows."""
    named = {word for row in talk.catalogue.products for word in fold(row.name) if word.isalpha() and len(word) > 2}
    inside = [bool(set(fold(word)) & named) and not words.tag[at] for at, word in enumerate(words.words)]
    found, at = [], 0
    while at < len(inside):
        end = at
        while end < len(inside) and inside[end] and end - at < 4:
            end += 1
        if end > at:
            found.append((at, end))
        at = max(end, at + 1)
    return found


def examples(talks: Iterable[Talk]) -> dict[str, Any]:
    """Return all examples of some talks: their words in all forms, their stretches in two by turns."""
    chance = Random(SEED)  # noqa: S311
    made: dict[str, Any] = {
        "evidence": EVIDENCE,
        "flags": FLAGS,
        "tags": TAGS,
        "kinds": KINDS,
        "words": [],
        "stretches": [],
    }
    for turn, talk in enumerate(talks):
        made["words"] += [asdict(words_of(talk, form)[0]) for form in FORMS]
        for form in (FORMS[turn % 3], FORMS[(turn + 1) % 3]):
            made["stretches"] += [asdict(one) for one in stretches(talk, form, chance)]
    return made


def write(talks: Iterable[Talk], path: Path) -> None:
    """Write the examples of some talks as JSON, to be learnt from on another machine."""
    path.write_text(json.dumps(examples(talks), ensure_ascii=False), encoding="utf-8")
