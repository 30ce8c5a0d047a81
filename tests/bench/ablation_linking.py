"""What each part of the linker is worth, on talk as a recogniser writes it: one line a part, each with all before it.

Run: python -m tests.bench.ablation_linking DEMOS [HEARD]
DEMOS holds folders with `catalogue.csv`, `gold.json` (`items_shown`, `mentioned_not_shown`, each with `code`) and
`transcript.json`; HEARD the same folder names with `transcript_heard.json` (segments with words), where the talk was
read aloud and heard by the recogniser. Without HEARD the transcripts as written are taken, in small letters.
"""

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any
from unittest.mock import patch

from studio import catalogue, language, mentions
from studio.mentions import hits, linking, naming, resolve, words
from studio.mentions.hits import Vocabulary
from studio.model import Catalogue, Sentence, Word
from studio.settings import CatalogueChoices

STEPS = ("exact names", "+ edit ratio, joined, split", "+ marked spans", "+ distinctive words", "+ context", "+ sound")
Talk = tuple[str, Catalogue, tuple[Sentence, ...], set[str], set[str]]


def talks(demos: Path, heard: Path | None) -> Iterator[Talk]:
    """Give for each demo its name, catalogue, sentences, and the codes that were shown and talked of."""
    for folder in sorted(path for path in demos.iterdir() if (path / "gold.json").exists()):
        source = heard / folder.name / "transcript_heard.json" if heard else folder / "transcript.json"
        if not source.exists():
            continue
        gold = json.loads((folder / "gold.json").read_text(encoding="utf-8"))
        rows = catalogue.load(folder / "catalogue.csv", CatalogueChoices())
        segments = json.loads(source.read_text(encoding="utf-8"))["segments"]
        sentences = language.sentences(_transcript(segments, small=heard is None))
        shown = {item["code"] for item in gold["items_shown"]}
        yield folder.name, rows, sentences, shown, {item["code"] for item in gold["mentioned_not_shown"]}


def _transcript(segments: list[dict[str, Any]], *, small: bool) -> Any:
    from studio.model import Segment, Transcript

    found = []
    for segment in segments:
        start, end = int(segment["start"] * 1000), int(segment["end"] * 1000)
        said = [word["text"].strip() for word in segment.get("words", [])] or segment["text"].split()
        step = (end - start) / max(1, len(said))
        texts = [word.lower() if small else word for word in said]
        parts = tuple(
            Word(text=text, start_ms=int(start + step * n), end_ms=int(start + step * (n + 1)))
            for n, text in enumerate(texts)
        )
        found.append(Segment(text=" ".join(texts), start_ms=start, end_ms=end, words=parts))
    return Transcript(language="en", recogniser="recogniser", segments=tuple(found))


def _allow(step: int, whole: Callable[..., str]) -> Callable[..., str]:
    """Return the strength of a claim as far as the parts up to a step go."""

    def strength(heard: Any, claim: Any, never_small: frozenset[str], *, alone: bool) -> str:
        if claim.whole and len(claim.keys) > 1:
            return "name"
        marked = naming.determined(heard, claim.first) or naming.points(heard, claim.first, claim.last)
        if step < 2 or (step < 3 and not marked):
            return ""
        return whole(heard, claim, never_small, alone=alone)

    return strength


def without(step: int) -> ExitStack:
    """Return a context in which only the parts up to a step work."""
    stack = ExitStack()
    if step < 3:
        stack.enter_context(patch.object(linking.naming, "strength", _allow(step, naming.strength)))
    if step < 1:
        stack.enter_context(patch.object(Vocabulary, "nearest", lambda *_: None))
    if step < 4:
        stack.enter_context(patch.object(resolve, "_context", lambda *_: 0.0))
    if step < 5:
        stack.enter_context(patch.object(words, "homophones", dict))
        stack.enter_context(patch.object(hits, "sound_key", str))
    return stack


def main(arguments: list[str]) -> None:
    """Print the table."""
    demos, heard = Path(arguments[0]), Path(arguments[1]) if len(arguments) > 1 else None
    everything = list(talks(demos, heard))
    print(f"{len(everything)} talks: " + ", ".join(name for name, *_ in everything))
    print(f"{'':30} rows found   rows wrong   supply F1   sure wrong")
    for step, title in enumerate(STEPS):
        found = gold = wrong = hit = extra = missed = sure = 0
        with without(step):
            for _, rows, sentences, shown, talked in everything:
                named = mentions.mentions(sentences, rows, {})
                codes = {one.code for one in named if one.code}
                supplies = {one.code for one in named if one.role == "shown"}
                found, gold = found + len(codes & (shown | talked)), gold + len(shown | talked)
                wrong += len(codes - shown - talked)
                hit, extra, missed = (
                    hit + len(supplies & shown),
                    extra + len(supplies - shown),
                    missed + len(shown - supplies),
                )
                sure += len({one.code for one in named if one.role == "shown" and one.state == "confirmed"} - shown)
        f1 = 2 * hit / max(1, 2 * hit + extra + missed)
        print(f"{title:30} {found:4}/{gold:<7} {wrong:6} {f1:14.3f} {sure:10}")


if __name__ == "__main__":
    main(sys.argv[1:])
