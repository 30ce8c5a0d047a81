"""What must be decided, looked at or known before the post goes out, the riskiest first."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from studio import questions, text, timecode
from studio.model import Catalogue, Document, Finding
from studio.offers import distinct
from studio.settings import Settings
from studio.writing import printed

WEIGHTS = {"error": "Wrong", "ask": "To decide", "warning": "To check", "note": "To know"}
_ABOUT = {"item": "ambiguous_item", "measure": "unclear_measure", "offer": "offer_unclear"}
_WORDS = {
    "ambiguous_item": "Which item?",
    "contradiction": "Catalogue says otherwise",
    "unclear_measure": "Unclear size or amount",
    "impossible_size": "Size cannot be",
    "offer_expired": "Offer is over",
    "offer_unclear": "Offer is not clear",
    "safety_claim": "Claim about safety",
    "private_detail": "Private detail",
    "earnings_claim": "Talk of earnings",
    "not_on_sale": "Not on sale",
    "retired": "No longer sold",
    "unlisted_item": "Not in the catalogue",
    "unheard_speech": "Speech not understood",
    "sound_lost": "Sound is missing",
    "self_correction": "Corrected aloud",
    "weak_still": "Weak picture",
    "terms": "Terms are missing",
    "code": "Code is over",
}
_HOLDS_BACK = frozenset({"error", "ask"})


@dataclass(frozen=True)
class GateRow:
    """One thing that must be decided, or looked at, or known."""

    weight: str
    word: str
    kind: str
    what: str
    start_ms: int
    clock: str
    message: str
    heard: str
    expected: str
    item: str
    choices: tuple[str, ...]

    @property
    def holds_back(self) -> bool:
        """Whether the post may not go out because of it."""
        return self.weight in _HOLDS_BACK


def gate_rows(document: Document, catalogue: Catalogue, settings: Settings) -> tuple[GateRow, ...]:
    """Return what must be decided or looked at, the riskiest first, each with its time."""
    names = {row.code: row.name for row in document.supplies if row.code}
    rows = [_asked(question, names) for question in questions.questions(document, catalogue)]
    rows += [_noted(finding) for finding in document.findings if finding.severity == "note"]
    rows += [*_offer_gaps(document, settings, {row.kind for row in rows}), *_weak_stills(document)]
    weights = list(WEIGHTS)
    return tuple(sorted(rows, key=lambda row: weights.index(row.weight)))


def _asked(question: questions.Question, names: dict[str, str]) -> GateRow:
    finding = question.thing if isinstance(question.thing, Finding) else None
    choices = [f"{product.name} ({product.code})" for product in question.choices]
    return _gate_row(
        question.severity,
        finding.kind if finding else _ABOUT.get(question.about, "ambiguous_item"),
        question.anchor.start_ms,
        question.text,
        heard=question.anchor.heard,
        expected=finding.expected if finding else "",
        item=names.get(finding.code or "", "") if finding else "",
        choices=choices if len(choices) > 1 else [],
    )


def _noted(finding: Finding) -> GateRow:
    return _gate_row(
        "note", finding.kind, finding.start_ms, finding.message, heard=finding.heard, expected=finding.expected
    )


def _gate_row(
    weight: str,
    kind: str,
    start_ms: int,
    message: str,
    *,
    heard: str = "",
    expected: str = "",
    item: str = "",
    choices: Sequence[str] = (),
) -> GateRow:
    return GateRow(
        weight=weight,
        word=WEIGHTS[weight],
        kind=kind,
        what=_WORDS.get(kind, kind.replace("_", " ")),
        start_ms=start_ms,
        clock=timecode.clock(start_ms),
        message=text.one_line(message),
        heard=text.one_line(heard),
        expected=text.one_line(expected),
        item=text.one_line(item),
        choices=tuple(map(text.one_line, choices)),
    )


def _offer_gaps(document: Document, settings: Settings, told: set[str]) -> Iterator[GateRow]:
    """Yield offers that are over or have no closing date, and the shop's code where it is over."""
    on = printed.publishing_day(document, settings)
    for offer in distinct(document.offers):
        over = offer.ends_on is not None and offer.ends_on < on
        if over and "offer_expired" not in told:
            message = f"This offer ended on {printed.day(offer.ends_on)}; it is not in the post."
            yield _gate_row("error", "offer_expired", offer.start_ms, message, heard=offer.heard)
        if offer.ends_on is None and offer.state == "confirmed":
            message = "No closing date was heard. Put the offer's dates and terms into the settings, or leave it out."
            yield _gate_row("ask", "terms", offer.start_ms, message, heard=offer.heard)
    until = settings.shop.promo_code_until
    if settings.shop.promo_code and until is not None and until < on:
        message = f"The code {settings.shop.promo_code} ended on {printed.day(until)}; it is not in the post."
        yield _gate_row("error", "code", 0, message)


def _weak_stills(document: Document) -> Iterator[GateRow]:
    told = {finding.start_ms for finding in document.findings if finding.kind == "weak_still"}
    for still in document.stills:
        if still.state == "ask" and still.at_ms not in told:
            yield _gate_row(
                "warning", "weak_still", still.at_ms, f"No sharp picture was found for {still.subject}. Choose another."
            )
