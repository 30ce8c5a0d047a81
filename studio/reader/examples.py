"""Marked talks made into examples to learn from: words with their labels, stretches with the rows they may mean.

Sentences are not used: a stretch is seen with the words around it, since captions have no sentences.
"""

import json
import lzma
from base64 import b64encode
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from hashlib import sha256
from pathlib import Path
from random import Random
from typing import Any

from studio.reader.folding import fold
from studio.reader.forms import FORMS, Form, Timed, timed
from studio.reader.marks import KINDS, Mark
from studio.reader.pieces import EDGES, FLAGS, MEANINGS, MOST, TAGS
from studio.reader.rows import EVIDENCE, Rows, Scene, met
from studio.reader.talks import Talk

SEED = 7
"""What is drawn by chance follows from it."""
Proposed = dict[str, list[tuple[int, int]]]
"""For "talk form", stretches (first word, one after the last) that a reader which did not learn from it proposed."""
FEW = (6, 70)
"""Rows of a small catalogue."""
FORGOTTEN = 0.1
"""Share of the rows met before that are left out or exchanged, as a reader at work misses or mistakes some."""


@dataclass(frozen=True)
class Stretch:
    """Words that name or point at a row, or tell something of it, or do not, with the rows that they may mean."""

    first: int
    last: int
    rows: list[int]
    """Candidates: indices in the catalogue."""
    evidence: str
    """Hundredths as bytes, candidate after candidate, in base 64."""
    target: list[float]
    """One probability a candidate, and the last for none of these."""
    meaning: int
    """Index in `MEANINGS`; -1 for words that mean no row."""


@dataclass(frozen=True)
class Example:
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
    """For each word the indices of its `FLAGS`."""
    stretches: list[Stretch]


def labelled(talk: Talk, form: Form) -> tuple[Example, Timed]:
    """Return a talk word by word with its labels, and no stretches yet."""
    made = timed(talk, form)
    said = [word.text for block in made.transcript.segments for word in block.words]
    n = len(said)
    words = Example(talk.name, form, said, [0] * n, [0] * n, [0] * n, [0] * n, [[] for _ in range(n)], [])
    _label_lines(words, talk, made)
    for first, last, mark in spans(talk, made):
        if mark.kind == "row" and not any(words.tag[first:last]):
            words.tag[first:last] = [1, *[2] * (last - first - 1)]
        for at in range(first, last):
            words.flags[at].extend(_flags(mark))
    return words, made


def _flags(mark: Mark) -> Iterator[int]:
    named = {"withdrawn": bool(mark.wrong), "final": bool(mark.right), mark.kind: mark.kind in FLAGS}
    return (FLAGS.index(name) for name, holds in named.items() if holds)


def _label_lines(words: Example, talk: Talk, made: Timed) -> None:
    starts = {start.utterance: -1 if start.optional else 1 for start in talk.starts}
    for at, (line, _) in enumerate(made.origin):
        words.kind[at] = KINDS.index(talk.utterances[line].kind)
        if not at or made.origin[at - 1][0] != line:
            words.start[at] = starts.get(line, 0)
        words.stop[at] = int(at + 1 == len(made.origin) or made.origin[at + 1][0] != line)


def spans(talk: Talk, made: Timed) -> list[tuple[int, int, Mark]]:
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


def example(talk: Talk, form: Form, rows: Rows, chance: Random, proposed: Iterable[tuple[int, int]] = ()) -> Example:
    """Return a talk with its labels and stretches: those that are marked, and some that only look like names.

    Args:
        talk: the marked talk.
        form: how it is written.
        rows: its catalogue made ready.
        chance: which lookalikes are taken, and what is forgotten.
        proposed: stretches that a reader proposed, first word and the one after the last: those that touch no mark of
            a row are lookalikes, those that nearly are one stand for it too.
    """
    words, made = labelled(talk, form)
    place = {product.code: at for at, product in enumerate(talk.catalogue.products)}
    told = [(first, last, mark) for first, last, mark in spans(talk, made) if mark.kind in {"row", "says"}]
    proposed = [(first, last) for first, last in proposed]
    wrong = [span for span in _lookalikes(words, rows) if not any(words.tag[slice(*span)])]
    chance.shuffle(wrong)
    wrong = [*(span for span in proposed if not any(words.tag[slice(*span)])), *wrong]
    scene = Scene(words.words, rows)
    nobody = [(first, last, None) for first, last in dict.fromkeys(wrong[: len(told)])]
    sure = sorted((last, place[mark.codes[0]]) for _, last, mark in told if mark.kind == "row" and len(mark.codes) == 1)
    told += [(*span, mark) for span in proposed for mark in _nearly(span, told)]
    for first, last, mark in sorted((*told, *nobody), key=lambda one: (one[0], one[1])):
        codes = [place[code] for code in mark.codes] if mark else []
        before = _remembered([code for end, code in sure if end <= first], chance, len(place))
        words.stretches.append(_stretch(scene, before, (first, last), codes, mark))
    return words


def _remembered(before: Sequence[int], chance: Random, rows: int) -> list[int]:
    """Return the rows met before as a reader may have them, which forgets or mistakes some."""
    kept = [at for at in before if chance.random() > FORGOTTEN]
    return [chance.randrange(rows) if chance.random() < FORGOTTEN else at for at in kept]


def _stretch(
    scene: Scene, before: Sequence[int], span: tuple[int, int], codes: Sequence[int], mark: Mark | None
) -> Stretch:
    candidates = scene.candidates(*span, met(before), MOST)
    meant = [float(one.at in codes) for one in candidates]
    lost = 1.0 if not codes else (len(codes) - sum(meant)) / len(codes)
    role = "" if mark is None else "said" if mark.kind == "says" else mark.role
    return Stretch(
        *span, [one.at for one in candidates], packed([one.evidence for one in candidates]),
        [*(one / max(1, len(codes)) for one in meant), lost], MEANINGS.index(role) if role in MEANINGS else -1,
    )  # fmt: skip


def thinned(talk: Talk, chance: Random) -> Talk:
    """Return a talk beside a catalogue of few rows, those that it speaks of among them."""
    told = {code for line in talk.utterances for one in line.marks for code in one.mark.codes}
    rows = talk.catalogue.products
    rest = [row.code for row in rows if row.code not in told]
    more = max(0, chance.randint(*FEW) - len(told))
    kept = told | set(chance.sample(rest, min(more, len(rest))))
    return replace(talk, catalogue=talk.catalogue.but(products=tuple(row for row in rows if row.code in kept)))


def packed(evidence: Sequence[Sequence[float]]) -> str:
    """Return numbers from 0 to 2.55 as base 64 of their hundredths."""
    return b64encode(bytes(min(255, round(100 * x)) for row in evidence for x in row)).decode()


def _nearly(span: tuple[int, int], told: Iterable[tuple[int, int, Mark]]) -> Iterator[Mark]:
    """Return the mark of a row that shares more than half of its words with a stretch, and is not the same."""
    first, last = span
    for begin, end, mark in told:
        shared = min(last, end) - max(first, begin)
        if mark.kind == "row" and 2 * shared > max(last, end) - min(first, begin) and (begin, end) != span:
            yield mark
            return


def _lookalikes(words: Example, rows: Rows) -> list[tuple[int, int]]:
    """Return unmarked runs of words that stand in names of rows."""
    named = {word for row in rows.products for word in fold(row.name) if word.isalpha() and len(word) > 2}
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


def examples(talks: Iterable[Talk], proposed: Proposed | None = None) -> dict[str, Any]:
    """Return all examples of some talks in all forms, with the texts of their catalogues' rows.

    `talks` stand beside the whole catalogue; `thin` are the same beside a small one, for the evidence to be weighed.

    Args:
        talks: the marked talks.
        proposed: for "talk form", the stretches that a reader which did not learn from the talk proposed.
    """
    chance, few = Random(SEED), Random(SEED)  # noqa: S311
    rows: dict[str, Rows] = {}
    made: list[dict[str, Any]] = []
    thin: list[dict[str, Any]] = []
    for talk in talks:
        ready = rows.get(talk.head["hand"]) or rows.setdefault(talk.head["hand"], Rows(talk.catalogue))
        for form in FORMS:
            spans = (proposed or {}).get(f"{talk.name} {form}", [])
            made.append(asdict(example(talk, form, ready, chance, spans)))
            small = thinned(talk, few)
            thin.append(asdict(example(small, form, Rows(small.catalogue), few, spans)))
    heads = {"tags": TAGS, "kinds": KINDS, "edges": EDGES, "flags": FLAGS, "meanings": MEANINGS, "evidence": EVIDENCE}
    texts = {hand: one.texts for hand, one in rows.items()}
    return {**heads, "rows": texts, "talks": made, "thin": thin}


def write(made: dict[str, Any], path: Path) -> None:
    """Write examples as packed JSON, to be learnt from on another machine."""
    path.write_bytes(lzma.compress(json.dumps(made, ensure_ascii=False).encode(), preset=3))


def read(path: Path) -> dict[str, Any]:
    """Read examples as `write` wrote them."""
    return dict(json.loads(lzma.decompress(path.read_bytes())))


def digest(made: dict[str, Any]) -> str:
    """Return what tells these examples from all others: a SHA-256."""
    return sha256(json.dumps(made, sort_keys=True).encode()).hexdigest()
