"""How well chapters are found, against TextTiling and even spacing in the same run, and what each part is worth.

    python tests/bench/bench_chapters.py [FOLDER ...]

Without a folder, the invented talks of tests/fixtures/talks are taken, with and without punctuation. A FOLDER holds
recordings, one a folder: `transcript.json` or `transcript_asr.json` (segments with start, end and text in seconds),
`catalogue.csv`, and `gold.json` with `chapters` (start, title_words, optional). Pk and WindowDiff are nltk's, with
k half the mean true chapter; boundary similarity is that of segeval; F1 counts starts within 10 s, the first left out.
"""

import json
import math
import re
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent.parent), str(Path(__file__).parent.parent.parent)]

import talks  # noqa: E402

from studio import catalogue, chapters, language, mentions  # noqa: E402
from studio.chapters import cues, phrases  # noqa: E402
from studio.model import Catalogue, Mention, Recording, Segment, Sentence, Transcript, Word  # noqa: E402
from studio.settings import CatalogueChoices, ChapterChoices  # noqa: E402

TOLERANCE_MS = 10_000
DEFINITE = re.compile(r"(?:the|my|our|your) (\w+)(?:'s\b|,| (\w+))?")
STOPWORDS = sorted(phrases._common())


@dataclass(frozen=True)
class Case:
    """A recording with its true chapters."""

    name: str
    sentences: tuple[Sentence, ...]
    duration_ms: int
    starts_ms: tuple[int, ...]
    """Of the true chapters, the first included."""
    optional_ms: tuple[int, ...] = ()
    title_words: tuple[tuple[str, ...], ...] = ()
    catalogue: Catalogue = field(default_factory=Catalogue)
    mentions: tuple[Mention, ...] = ()


Method = Callable[[Case], list[int]]
"""Gives the index of the first sentence of each chapter, 0 first."""


# --- what is compared ------------------------------------------------------------------------------------------------


def even(case: Case, count: int) -> list[int]:
    """Return chapters of equal length, each begun at the nearest sentence."""
    times = [case.duration_ms * n // count for n in range(1, count)]
    starts = [sentence.start_ms for sentence in case.sentences]
    return sorted({0} | {min(range(len(starts)), key=lambda i: abs(starts[i] - time)) for time in times})


def even_true(case: Case) -> list[int]:
    """Return even spacing, told the true number of chapters."""
    return even(case, len(case.starts_ms))


def even_usual(case: Case) -> list[int]:
    """Return even spacing at the usual length of a chapter."""
    usual = chapters.USUAL_LENGTH_S * math.sqrt(case.duration_ms / 1000 / chapters.USUAL_RECORDING_S)
    return even(case, max(3, round(case.duration_ms / 1000 / usual)))


def text_tiling(case: Case) -> list[int]:
    """Return what nltk's TextTiling finds, each sentence a paragraph."""
    from nltk.tokenize import TextTilingTokenizer

    tiler = TextTilingTokenizer(stopwords=STOPWORDS)
    try:
        tiles = tiler.tokenize("\n\n".join(f"{sentence.text:<12}" for sentence in case.sentences))
    except ValueError:  # too short for its smoothing window
        return [0]
    found, at = [], 0
    for tile in tiles:
        found.append(at)
        at += len([paragraph for paragraph in tile.split("\n\n") if paragraph.strip()])
    return sorted({min(place, len(case.sentences) - 1) for place in found} | {0})


def ours(weights: chapters.Weights = chapters.WEIGHTS, count: bool = False) -> Method:
    """Return the program's own way with some weights; with `count` it is told the true number."""

    def found(case: Case) -> list[int]:
        choices = ChapterChoices(count=len(case.starts_ms) if count else None)
        return chapters.boundaries(case.sentences, case.duration_ms, choices, weights)

    return found


def with_more(more: Callable[[Case], list[float]], weight: float) -> Method:
    """Return the program's own way with one more kind of evidence, a number for each sentence."""

    def found(case: Case) -> list[int]:
        units = chapters.units(case.sentences, case.duration_ms)
        extra = more(case)
        scores = [chapters.worth(unit) + weight * extra[unit.first] for unit in units]
        starts = [0, *(unit.start_ms for unit in units[1:]), case.duration_ms]
        return [units[place].first for place in chapters.best_path(starts, scores, ChapterChoices(), chapters.WEIGHTS)]

    return found


def kinds_shown(case: Case) -> list[tuple[int, str]]:
    """Return when an item of which kind was shown."""
    rows = case.catalogue.by_code()
    shown = (m for m in case.mentions if m.role == "shown" and m.code in rows)
    return sorted((m.start_ms, rows[m.code or ""].kind) for m in shown)


def new_kind(case: Case) -> list[float]:
    """Return 1 for a sentence behind which, within 25 s, an item of a kind comes that was not shown before."""
    shown = kinds_shown(case)
    return [float(_kind_after(shown, s.start_ms, 25_000) not in {None, *_before(shown, s)}) for s in case.sentences]


def same_kind(case: Case) -> list[float]:
    """Return -1 for a sentence with the same kind of item before it and within 12 s behind it."""
    shown = kinds_shown(case)
    return [-float(_kind_after(shown, s.start_ms, 12_000) in _before(shown, s)[-1:]) for s in case.sentences]


def _kind_after(shown: Sequence[tuple[int, str]], start_ms: int, near_ms: int) -> str | None:
    return next((kind for time, kind in shown if start_ms <= time < start_ms + near_ms), None)


def _before(shown: Sequence[tuple[int, str]], sentence: Sentence) -> list[str]:
    return [kind for time, kind in shown if time < sentence.start_ms]


def new_subject(case: Case) -> list[float]:
    """Return 1 for a sentence that begins with an article and a noun that is new in the talk and soon said again."""
    said, seen, found = stems(case), set[str](), []
    for place, sentence in enumerate(case.sentences):
        first = DEFINITE.match(cues.opening_of(sentence.text).rest)
        soon = {word for later in said[place + 1 : place + 7] for word in later}
        nouns = {word.rstrip("s") for word in first.groups() if word} if first else set()
        found.append(float(bool(nouns & set(said[place]) & soon - seen)))
        seen |= set(said[place])
    return found


def new_items(case: Case) -> list[float]:
    """Return 1 for a sentence in which an item is first shown."""
    first: dict[str, int] = {}
    for mention in case.mentions:
        if mention.code and mention.role == "shown":
            first.setdefault(mention.code, mention.start_ms)
    times = set(first.values())
    return [float(any(s.start_ms <= time < s.end_ms for time in times)) for s in case.sentences]


def stems(case: Case) -> list[list[str]]:
    """Return the nouns of each sentence without their plural."""
    return [[word.rstrip("s") for word in phrases.nouns([sentence])] for sentence in case.sentences]


def depth(case: Case) -> list[float]:
    """Return how deep the similarity of six sentences to either side falls (TF-IDF, after Hearst 1997)."""
    said = stems(case)
    frequency = Counter(word for words in said for word in set(words))

    def similarity(place: int) -> float:
        sides = (said[max(0, place - 6) : place], said[place : place + 6])
        a, b = (Counter(word for words in side for word in words) for side in sides)
        weight = {word: math.log(len(said) / frequency[word]) ** 2 for word in a | b}
        norm = math.sqrt(sum(n * n * weight[w] for w, n in a.items()) * sum(n * n * weight[w] for w, n in b.items()))
        return sum(a[w] * b[w] * weight[w] for w in a if w in b) / norm if norm else 0.0

    flat = [similarity(place) for place in range(len(said))]
    around = [flat[max(0, place - 4) : place + 5] for place in range(len(flat))]
    return [0.0, *(2 * (max(around[place]) - flat[place]) for place in range(1, len(flat)))]


W = chapters.WEIGHTS
METHODS: dict[str, Method] = {
    "even spacing, true count": even_true,
    "even spacing, usual length": even_usual,
    "TextTiling (nltk)": text_tiling,
    "this program": ours(),
    "  told the true count": ours(count=True),
    "  without cue phrases": ours(replace(W, cue=0)),
    "  without opening words": ours(replace(W, opener=0)),
    "  without bare topics": ours(replace(W, topic=0)),
    "  without pauses": ours(replace(W, pause=0)),
    "  without new words": ours(replace(W, new_words=0)),
    "  without length prior": ours(replace(W, prior=0)),
    "  with first items (left out)": with_more(new_items, 0.4),
    "  with new kinds (left out)": with_more(new_kind, 0.4),
    "  with kept kinds (left out)": with_more(same_kind, 0.5),
    "  with new subjects (left out)": with_more(new_subject, 0.4),
    "  with similarity (left out)": with_more(depth, 1.0),
}


# --- how it is measured ----------------------------------------------------------------------------------------------


def measured(cases: Sequence[Case], method: Method) -> dict[str, float]:
    """Return the figures of a method over all recordings: means of Pk, WindowDiff and B, F1 over all boundaries."""
    from nltk.metrics.segmentation import pk, windowdiff
    from segeval import boundary_similarity

    pks, differences, similarities = [], [], []
    hit = wanted = found = 0
    for case in cases:
        places = method(case)
        starts = [sentence.start_ms for sentence in case.sentences]
        true = sorted({min(range(len(starts)), key=lambda i: abs(starts[i] - ms)) for ms in case.starts_ms})
        a, b = (_marks(p, len(starts)) for p in (true, places))
        k = max(2, round(len(starts) / len(true) / 2))
        pks.append(pk(a, b, k))
        differences.append(windowdiff(a, b, k))
        masses = [tuple(y - x for x, y in pairwise([*p, len(starts)])) for p in (true, places)]
        similarities.append(float(boundary_similarity(*masses)))
        said = [starts[place] for place in places[1:]]
        gold = list(case.starts_ms[1:])
        pairs = talks.matches(gold, said, TOLERANCE_MS)
        spare = set(range(len(said))) - {j for _, j in pairs}
        allowed = {j for j in spare if any(abs(said[j] - ms) <= TOLERANCE_MS for ms in case.optional_ms)}
        hit, wanted, found = hit + len(pairs), wanted + len(gold), found + len(said) - len(allowed)
    count = len(cases)
    return {
        "Pk": sum(pks) / count,
        "WinDiff": sum(differences) / count,
        "B": sum(similarities) / count,
        "P": hit / max(1, found),
        "R": hit / max(1, wanted),
        "F1": 2 * hit / max(1, wanted + found),
    }


def _marks(places: Sequence[int], length: int) -> str:
    return "".join("1" if place + 1 in places else "0" for place in range(length))


def titles_right(cases: Sequence[Case], *, items: bool) -> float:
    """Return the part of the titles that hold one of the words wanted, at the starts that were found."""
    good = matched = 0
    for case in cases:
        whole = Recording(source="", sha256="", duration_ms=case.duration_ms)
        known = (case.mentions, case.catalogue) if items else ((), Catalogue())
        made = chapters.chapters(case.sentences, *known, whole, ChapterChoices())
        pairs = talks.matches(list(case.starts_ms[1:]), [chapter.start_ms for chapter in made[1:]], TOLERANCE_MS)
        matched += len(pairs)
        good += sum(
            any(word.lower() in made[j + 1].title.lower() for word in case.title_words[i + 1]) for i, j in pairs
        )
    return good / max(1, matched)


# --- what it is measured on ------------------------------------------------------------------------------------------


def invented(*, marks: bool) -> list[Case]:
    """Return the invented talks."""
    cases = []
    for name in talks.names():
        talk = talks.read(name, marks=marks)
        said = language.sentences(talk.transcript)
        cases.append(Case(name, said, talk.duration_ms, talk.starts_ms, title_words=talk.title_words))
    return cases


def recorded(folder: Path, name: str) -> list[Case]:
    """Return the recordings of a folder, from the transcript of that name."""
    return [_recorded(path, name) for path in sorted(folder.iterdir()) if (path / "gold.json").exists()]


def _recorded(path: Path, name: str) -> Case:
    told = json.loads((path / name).read_text(encoding="utf-8"))
    gold = json.loads((path / "gold.json").read_text(encoding="utf-8"))
    segments = tuple(_segment(row) for row in told["segments"])
    said = language.sentences(Transcript(language="en", recogniser="", segments=segments))
    products = catalogue.load(path / "catalogue.csv", CatalogueChoices())
    true = [row for row in gold["chapters"] if not row.get("optional")]
    return Case(
        name=path.name,
        sentences=said,
        duration_ms=segments[-1].end_ms,
        starts_ms=tuple(round(row["start"] * 1000) for row in true),
        optional_ms=tuple(round(row["start"] * 1000) for row in gold["chapters"] if row.get("optional")),
        title_words=tuple(tuple(row["title_words"]) for row in true),
        catalogue=products,
        mentions=mentions.mentions(said, products, {}),
    )


def _segment(row: dict[str, object]) -> Segment:
    start, end = (round(float(str(row[key])) * 1000) for key in ("start", "end"))
    texts = str(row["text"]).split()
    ends = [0]
    for text in texts:
        ends.append(ends[-1] + len(text) + 1)
    times = [start + (end - start) * at // ends[-1] for at in ends]
    words = (Word(text=w, start_ms=a, end_ms=b) for w, a, b in zip(texts, times, times[1:], strict=False))
    return Segment(start_ms=start, end_ms=end, text=str(row["text"]), words=tuple(words))


def report(title: str, cases: Sequence[Case]) -> None:
    """Print a table of all methods on these recordings."""
    sys.stdout.write(f"\n{title}: {len(cases)} recordings, {sum(len(c.starts_ms) for c in cases)} chapters\n")
    head = ("Pk", "WinDiff", "B", "P", "R", "F1")
    sys.stdout.write(f"{'':32}" + "".join(f"{name:>9}" for name in head) + "\n")
    for name, method in METHODS.items():
        figures = measured(cases, method)
        sys.stdout.write(f"{name:32}" + "".join(f"{figures[one]:9.3f}" for one in head) + "\n")
    with_items, without = titles_right(cases, items=True), titles_right(cases, items=False)
    sys.stdout.write(f"titles right: {with_items:.3f} with the catalogue, {without:.3f} without\n")


def main() -> None:
    """Measure on the folders given, or on the invented talks."""
    folders = [Path(argument) for argument in sys.argv[1:]]
    for folder in folders:
        report(f"{folder.name}, as spoken", recorded(folder, "transcript.json"))
        report(f"{folder.name}, as recognised", recorded(folder, "transcript_asr.json"))
    if not folders:
        report("invented talks", invented(marks=True))
        report("invented talks without marks", invented(marks=False))


if __name__ == "__main__":
    main()
