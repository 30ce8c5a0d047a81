"""The report: whether the post may go out, what must be decided or looked at first, and where everything came from."""

from collections.abc import Iterator
from typing import Any

from studio import questions, resources, templating, text, timecode
from studio.chapters import rules
from studio.model import Catalogue, Document, Finding
from studio.offers import distinct
from studio.settings import Settings
from studio.settled import waiting
from studio.writing import outline, printed
from studio.writing.draft import draft
from studio.writing.written import Draft

_WEIGHTS = {"error": "Wrong", "ask": "To decide", "warning": "To check", "note": "To know"}
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


def files(document: Document, catalogue: Catalogue, settings: Settings) -> dict[str, str | bytes]:
    """Return `report.html`."""
    known = outline.facts(document, catalogue, settings)
    written = draft(document, catalogue, settings.publishing.keep_names)
    data = {**known, **report(document, catalogue, settings, written)}
    return {"report.html": text.plain(templating.render("report.html.j2", data, settings.publishing.templates))}


def report(document: Document, catalogue: Catalogue, settings: Settings, written: Draft) -> dict[str, Any]:
    """Return what the report tells, as plain data."""
    rows = gate(document, catalogue, settings)
    return {
        "source": text.one_line(document.recording.source),
        "length": timecode.clock(document.recording.duration_ms),
        "recorded": printed.day(document.recording.recorded_on) or "on a day not known",
        "heard_by": text.one_line(document.transcript.recogniser),
        "gate": rows,
        "waiting": waiting(document),
        "supplies": printed.supply_rows(document, catalogue, settings),
        "cuts": printed.cuts(document),
        "offers_asked": _offers_asked(document),
        "tally": [
            {"weight": weight, "word": word, "count": sum(row["weight"] == weight for row in rows)}
            for weight, word in _WEIGHTS.items()
        ],
        "may_go_out": not any(row["weight"] in _HOLDS_BACK for row in rows),
        "reminders": printed.reminders(settings, _occasions(document)),
        "disclosed": resources.table("disclosure.toml")[settings.publishing.jurisdiction],
        "jurisdiction": settings.publishing.jurisdiction,
        "corrected": [
            {
                "clock": timecode.clock(one.start_ms),
                "wrong": text.one_line(one.wrong),
                "right": text.one_line(one.right),
            }
            for one in document.corrections
        ],
        "spelled": [
            {
                "clock": timecode.clock(one.start_ms),
                "heard": text.one_line(one.heard),
                "shown": text.one_line(one.shown),
            }
            for one in document.spellings
        ],
        "left_out": [
            {"clock": timecode.clock(one.start_ms), "text": text.one_line(one.text), "reason": one.reason}
            for one in written.left_out
        ],
        "written": _written(document, written),
        "refused": [
            {"clock": timecode.clock(one.start_ms), "message": text.one_line(one.message)}
            for one in rules.check(document.chapters, document.recording.duration_ms, settings.chapters)
        ],
        "chapter_source": rules.SOURCE,
        "complaints": [
            {
                "row": one.row,
                "column": one.column,
                "problem": text.one_line(one.problem),
                "remedy": text.one_line(one.remedy),
            }
            for one in catalogue.complaints
        ],
        "products": len(catalogue.products),
    }


def _offers_asked(document: Document) -> list[dict[str, str]]:
    return [
        {"clock": timecode.clock(one.start_ms), "heard": text.one_line(one.heard), "doubt": text.one_line(one.doubt)}
        for one in document.offers
        if one.state == "ask"
    ]


def gate(document: Document, catalogue: Catalogue, settings: Settings) -> list[dict[str, Any]]:
    """Return what must be decided or looked at, the riskiest first, each with its time."""
    names = {row.code: row.name for row in document.supplies if row.code}
    rows = [_asked(question, names) for question in questions.questions(document, catalogue)]
    rows += [_told(finding) for finding in document.findings if finding.severity == "note"]
    rows += [*_offer_gaps(document, settings, {row["kind"] for row in rows}), *_weak_stills(document)]
    weights = list(_WEIGHTS)
    return sorted(rows, key=lambda row: weights.index(row["weight"]))


def _asked(question: questions.Question, names: dict[str, str]) -> dict[str, Any]:
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


def _told(finding: Finding) -> dict[str, Any]:
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
    choices: list[str] | None = None,
) -> dict[str, Any]:
    return {
        "weight": weight,
        "word": _WEIGHTS[weight],
        "kind": kind,
        "what": _WORDS.get(kind, kind.replace("_", " ")),
        "start_ms": start_ms,
        "clock": timecode.clock(start_ms),
        "message": text.one_line(message),
        "heard": text.one_line(heard),
        "expected": text.one_line(expected),
        "item": text.one_line(item),
        "choices": [text.one_line(choice) for choice in choices or []],
    }


def _offer_gaps(document: Document, settings: Settings, told: set[str]) -> Iterator[dict[str, Any]]:
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


def _weak_stills(document: Document) -> Iterator[dict[str, Any]]:
    told = {finding.start_ms for finding in document.findings if finding.kind == "weak_still"}
    for still in document.stills:
        if still.state == "ask" and still.at_ms not in told:
            yield _gate_row(
                "warning", "weak_still", still.at_ms, f"No sharp picture was found for {still.subject}. Choose another."
            )


def _occasions(document: Document) -> set[str]:
    kinds = {finding.kind for finding in document.findings}
    return {
        name
        for name, holds in (
            ("offer", bool(document.offers)),
            ("price", any(row.price is not None for row in document.supplies)),
            ("earnings", "earnings_claim" in kinds),
            ("private", "private_detail" in kinds),
        )
        if holds
    }


def _written(document: Document, written: Draft) -> dict[str, Any]:
    """Return how much of the speech is in the post, and each sentence beside what was said."""
    said = sum(len(sentence.words) for sentence in document.sentences)
    kept = sum(len(line.text.split()) for line in written.lines)
    return {
        "said": said,
        "kept": kept,
        "share": round(100 * kept / said) if said else 0,
        "changed": [
            {
                "clock": timecode.clock(line.start_ms),
                "text": line.text,
                "rules": sorted({rule for part in line.parts for edit in part.edits for rule in edit.rule.split("; ")}),
            }
            for line in written.lines
            if any(part.edits for part in line.parts)
        ],
    }
