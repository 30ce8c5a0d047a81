"""What only a person can answer, as one list, the riskiest first: each question with its moment and its choices."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from studio import timecode
from studio.edits import Anchor, plain_words
from studio.model import Catalogue, Document, Finding, Measure, Mention, Offer, Product

_WEIGHT = {"error": 0, "ask": 1, "warning": 2}
_ITEM, _MEASURE, _OFFER = 10, 20, 15
_RISK = {
    "private_detail": 0, "safety_claim": 1, "earnings_claim": 2, "contradiction": 3, "sound_lost": 4,
    "impossible_size": 5, "offer_expired": 6, "not_on_sale": 7, "retired": 8,
}  # fmt: skip
"""What harms most if it is published wrong comes first."""


@dataclass(frozen=True)
class Question:
    """Something to answer.

    Attributes:
        key: names it for as long as nothing about it changes.
        about: `item`, `measure`, `offer` or `finding`.
        severity: as of a finding.
        text: the question in words.
        anchor: the moment.
        choices: rows of the catalogue to choose from.
        thing: what is asked about.
        times: how often the same words are unsure; one answer can settle them all.
    """

    key: str
    about: str
    severity: str
    text: str
    anchor: Anchor
    choices: tuple[Product, ...] = ()
    thing: Mention | Measure | Offer | Finding | None = None
    times: int = 1


def questions(document: Document, catalogue: Catalogue) -> tuple[Question, ...]:
    """Return every open question, the riskiest first, then in order of time."""
    rows = catalogue.by_code()
    asked = [*_items(document.mentions, rows), *_measures(document.measures), *_offers(document.offers)]
    covered = [(one.anchor.start_ms, one.anchor.end_ms) for one in asked]
    ranked = [((_WEIGHT["ask"], _rank(one)), one) for one in asked]
    ranked += [
        ((_WEIGHT[finding.severity], _RISK.get(finding.kind, 30)), _finding(finding, rows))
        for finding in document.findings
        if finding.severity in _WEIGHT and not _covered(finding, covered)
    ]
    ranked.sort(key=lambda one: (one[0], one[1].anchor.start_ms))
    return tuple(question for _, question in ranked)


def open_keys(found: Sequence[Question]) -> tuple[str, ...]:
    """Return the keys of what blocks publishing: what is wrong, and what is to be decided."""
    return tuple(one.key for one in found if one.severity in {"error", "ask"})


def _rank(question: Question) -> int:
    return {"item": _ITEM, "offer": _OFFER, "measure": _MEASURE}[question.about]


def _covered(finding: Finding, covered: Sequence[tuple[int, int]]) -> bool:
    """Return whether a finding only says that something is unsure that is asked about by itself."""
    if finding.kind not in {"ambiguous_item", "unclear_measure", "offer_unclear"}:
        return False
    return any(start - 500 <= finding.start_ms <= end + 500 for start, end in covered)


def _items(mentions: Sequence[Mention], rows: dict[str, Product]) -> Iterator[Question]:
    groups: dict[tuple[str, ...], list[Mention]] = {}
    for one in mentions:
        if one.state == "ask" and one.role not in {"mentioned", "rejected"}:
            groups.setdefault((plain_words(one.heard), *_codes(one)), []).append(one)
    for (said, *codes), group in groups.items():
        first = group[0]
        choices = tuple(rows[code] for code in codes if code in rows)
        anchor = Anchor(start_ms=first.start_ms, end_ms=first.end_ms, heard=first.heard)
        yield Question(f"item {said} {first.start_ms}", "item", "ask", _which(first.heard, choices), anchor, choices,
                       first, len(group))  # fmt: skip


def _codes(mention: Mention) -> tuple[str, ...]:
    return tuple(dict.fromkeys(code for code in (mention.code, *mention.runners_up) if code))


def _which(heard: str, choices: Sequence[Product]) -> str:
    names = [product.name for product in choices]
    if not names:
        return f"What is “{heard}”? The catalogue has nothing like it."
    if len(names) == 1:
        return f"Is “{heard}” the {names[0]}?"
    if len(names) > 3:
        return f"Which one is “{heard}”?"
    return f"Which one is “{heard}”: the {', the '.join(names[:-1])} or the {names[-1]}?"


def _measures(measures: Sequence[Measure]) -> Iterator[Question]:
    for one in measures:
        if one.state == "ask":
            anchor = Anchor(start_ms=one.start_ms, end_ms=one.end_ms, heard=one.heard)
            yield Question(f"measure {plain_words(one.heard)} {one.start_ms}", "measure", "ask",
                           f"How much is “{one.heard}”?", anchor, thing=one)  # fmt: skip


def _offers(offers: Sequence[Offer]) -> Iterator[Question]:
    for one in offers:
        if one.state == "ask":
            length = max(2000, 300 * len(one.heard.split()))
            anchor = Anchor(start_ms=one.start_ms, end_ms=one.start_ms + length, heard=one.heard)
            yield Question(f"offer {one.kind} {one.start_ms}", "offer", "ask",
                           f"What are the terms of “{one.heard}”?", anchor, thing=one)  # fmt: skip


def _finding(finding: Finding, rows: dict[str, Product]) -> Question:
    length = max(2000, 300 * len(finding.heard.split()))
    anchor = Anchor(start_ms=finding.start_ms, end_ms=finding.start_ms + length, heard=finding.heard)
    codes = dict.fromkeys(code for code in (*finding.choices, finding.code) if code)
    choices = tuple(rows[code] for code in codes if code in rows)
    key = f"{finding.kind} {plain_words(finding.heard)} {finding.start_ms}"
    text = finding.message or f"Look at {timecode.clock(finding.start_ms)}."
    return Question(key, "finding", finding.severity, text, anchor, choices, finding)
