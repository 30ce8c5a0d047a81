"""Works out from a folio's own files how faithful and how readable its post is; nothing of the program decides here."""

import json
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HESITATIONS = re.compile(r"\b(?:um+|uh+|uhm|er+|erm|em|hmm+)\b(?!\.)", re.IGNORECASE)
FILLERS = re.compile(
    r"\b(?:um+|uh+|er+|erm|hmm+|you know|i mean|sort of|kind of|basically|actually|literally|obviously|honestly|anyway|"
    r"okay|to be honest|as i say|as i said|if you like)\b|(?:^|(?<=[.!?] ))(?:so|well|right|now then|alright),|, like,|"
    r", right\?",
    re.IGNORECASE,
)
DOUBLED = re.compile(r"\b([a-z]+(?:'[a-z]+)?)[, ]+\1\b", re.IGNORECASE)
NEGATIONS = frozenset(
    "not no never none nothing without cannot don't doesn't didn't won't wouldn't can't couldn't shouldn't isn't "
    "aren't wasn't weren't haven't hasn't hadn't".split()
)
HEDGES = frozenset(
    "about around roughly nearly almost maybe perhaps might may could should must until till unless or".split()
)
FREE = {
    "tag question", "opening word", "aside", "hesitation", "corrected aloud", "said twice",
    "the catalogue says otherwise", "chatter at the end", "withdrawn aloud", "private",
    "in the name already",
}  # fmt: skip
PRICE_RULE = "the price is printed from the catalogue"


@dataclass(frozen=True)
class Figures:
    """What was worked out; every list holds the sentences that fail."""

    sentences: int
    share: float
    """Words of the post's body over words spoken."""
    untraced: list[str]
    long: list[str]
    hesitations: list[str]
    fillers_per_100: float
    doubled: list[str]
    verbless: list[str]
    twins: list[tuple[str, str]]
    lost_words: list[str]
    """Hedges and negations that are in what was said and not in what is written, outside of a listed deletion."""
    numbers: list[str]
    """Numbers in the body that were not said there."""


def words(text: str) -> list[str]:
    """Return lower-case words."""
    return re.findall(r"[^\W_]+(?:'[^\W_]+)*", text.lower().replace("’", "'"))


def rebuilt(sentence: dict[str, Any]) -> str:
    """Make the edits of a trace again on the words that it quotes, then tidy spaces and stops."""
    from studio.writing.redaction import tidied

    text = ""
    for part in sentence["from"]:
        said, at, pieces = part["said"], part["start"], []
        for edit in part["edits"]:
            pieces += [said[at - part["start"] : edit["start"] - part["start"]], edit["shown"]]
            at = edit["end"]
        piece = "".join([*pieces, said[at - part["start"] :]])
        text = tidied(text).rstrip(".?!") + part["joined_by"] + piece.strip() if text else piece
    return tidied(text)


def without_free_edits(part: dict[str, Any]) -> str:
    """Return what was said without the stretches that a rule with words of its own took out."""
    said, at, pieces = part["said"], part["start"], []
    for edit in part["edits"]:
        free = set(edit["rule"].split("; ")) & (FREE | {PRICE_RULE})
        pieces.append(said[at - part["start"] : edit["start"] - part["start"]])
        pieces.append("" if free else said[edit["start"] - part["start"] : edit["end"] - part["start"]])
        at = edit["end"]
    return "".join([*pieces, said[at - part["start"] :]])


def numbers(text: str) -> list[str]:
    """Return numbers as exact values in text, mixed fractions together."""
    from fractions import Fraction

    found = re.findall(r"\d+ \d+/\d+|\d+/\d+|\d[\d,]*(?:\.\d+)?", text)
    return [str(sum(Fraction(piece.replace(",", "")) for piece in one.split())) for one in found]


def said_numbers(text: str) -> set[str]:
    """Return every value that the quantity reader finds in what was said, and each number word alone."""
    from studio import quantity

    values = {str(value) for found in quantity.read(text) for value in found.exact}
    return values | set(numbers(text))


def figures(folder: Path) -> Figures:
    """Work everything out from `folio.json` and `post.trace.json`."""
    from studio.writing.worth import has_finite_verb

    folio = json.loads((folder / "folio.json").read_text(encoding="utf-8"))
    trace = json.loads((folder / "post.trace.json").read_text(encoding="utf-8"))
    spoken = [sentence["text"] for sentence in folio["sentences"]]
    names = " ".join(row["name"] for row in folio["supplies"])
    lines = trace["sentences"]
    texts = [line["text"] for line in lines]
    prose = [line["text"] for line in lines if line["kind"] not in {"item", "step", "warning", "tip"}]
    body = " ".join(texts)
    count = max(1, len(words(body)))
    wrong = [line["text"] for line in lines if not _is_true(line, spoken)]
    return Figures(
        sentences=len(lines),
        share=len(words(body)) / max(1, len(words(" ".join(spoken)))),
        untraced=wrong,
        long=[text for text in texts if len(words(text)) > 30],
        hesitations=[text for text in texts if HESITATIONS.search(text)],
        fillers_per_100=100 * sum(len(FILLERS.findall(text)) for text in texts) / count,
        doubled=[text for text in texts if DOUBLED.search(text)],
        # An instruction may be a noun phrase ("Lid on, towel round it"); it is kept, whatever its grammar.
        verbless=[text for text in prose if not has_finite_verb(text)],
        twins=_twins(texts),
        lost_words=[line["text"] for line in lines if _lost(line)],
        numbers=[line["text"] for line in lines if _strangers(line, names, folio)],
    )


def _is_true(line: dict[str, Any], spoken: list[str]) -> bool:
    """Return whether the trace quotes what was said, and its edits give the text."""
    quotes = all(spoken[part["sentence"]][part["start"] : part["end"]] == part["said"] for part in line["from"])
    return bool(line["from"]) and quotes and rebuilt(line).rstrip(".") == line["text"].rstrip(".")


def _twins(texts: list[str]) -> list[tuple[str, str]]:
    bags = [frozenset(words(text)) for text in texts]
    return [
        (texts[one], texts[two])
        for one in range(len(texts))
        for two in range(one)
        if bags[one] and len(bags[one] & bags[two]) >= 0.7 * len(bags[one] | bags[two])
    ]


def _lost(line: dict[str, Any]) -> bool:
    said = Counter(
        word for part in line["from"] for word in words(without_free_edits(part)) if word in NEGATIONS | HEDGES
    )
    return bool(said - Counter(words(line["text"])))


def _strangers(line: dict[str, Any], names: str, folio: dict[str, Any]) -> set[str]:
    said = " ".join(part["said"] for part in line["from"])
    measured = {
        value
        for measure in folio["measures"]
        if measure["start_ms"] < line["end_ms"] + 200 and line["start_ms"] < measure["end_ms"] + 200
        for value in measure["values"]
    }
    return set(numbers(line["text"])) - said_numbers(said) - measured - set(numbers(names))
