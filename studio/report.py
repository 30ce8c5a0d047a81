"""The report: whether the post may go out, what must be looked at first, and where everything came from."""

from dataclasses import dataclass

from studio import gate, rule_files, templating, text, timecode
from studio.chapters import rules
from studio.edition import Edition
from studio.model import Document
from studio.settled import waiting
from studio.writing import printed
from studio.writing.facts import CutRow, Reminder, SupplyRow
from studio.writing.written import Draft, Line


@dataclass(frozen=True)
class Tally:
    """How many rows of one weight there are."""

    weight: str
    word: str
    count: int


@dataclass(frozen=True)
class Disclosed:
    """Where the rule of the disclosure stands, and where the line is to be put."""

    placed: str
    source: str


@dataclass(frozen=True)
class OfferAsked:
    """An offer that waits."""

    clock: str
    heard: str
    doubt: str


@dataclass(frozen=True)
class CorrectedRow:
    """What was corrected aloud."""

    clock: str
    wrong: str
    right: str


@dataclass(frozen=True)
class SpelledRow:
    """What was spelt as the catalogue does."""

    clock: str
    heard: str
    shown: str


@dataclass(frozen=True)
class LeftOutRow:
    """What was said and is not in the post."""

    clock: str
    text: str
    reason: str


@dataclass(frozen=True)
class ChangedLine:
    """A sentence of the post with the rules that changed it."""

    clock: str
    text: str
    rules: tuple[str, ...]


@dataclass(frozen=True)
class WrittenShare:
    """How much of the speech is in the post."""

    said: int
    kept: int
    share: int
    changed: tuple[ChangedLine, ...]


@dataclass(frozen=True)
class RefusedRow:
    """What an upload host may refuse in the list of chapters."""

    clock: str
    message: str


@dataclass(frozen=True)
class ComplaintRow:
    """What is wrong in the catalogue file."""

    row: int
    column: str
    problem: str
    remedy: str


@dataclass(frozen=True)
class ReportFacts:
    """What the report tells beside the facts of the post; its supplies and cuts are all, also those that wait."""

    source: str
    length: str
    recorded: str
    heard_by: str
    gate: tuple[gate.GateRow, ...]
    waiting: str
    supplies: tuple[SupplyRow, ...]
    cuts: tuple[CutRow, ...]
    offers_asked: tuple[OfferAsked, ...]
    tally: tuple[Tally, ...]
    may_go_out: bool
    reminders: tuple[Reminder, ...]
    disclosed: Disclosed
    jurisdiction: str
    corrected: tuple[CorrectedRow, ...]
    spelled: tuple[SpelledRow, ...]
    left_out: tuple[LeftOutRow, ...]
    written: WrittenShare
    refused: tuple[RefusedRow, ...]
    chapter_source: str
    complaints: tuple[ComplaintRow, ...]
    products: int


def files(edition: Edition) -> dict[str, str | bytes]:
    """Return `report.html`."""
    own = edition.settings.publishing.templates
    made = templating.render("report.html.j2", edition.facts, report_facts(edition), folder=own)
    return {"report.html": text.plain(made)}


def report_facts(edition: Edition) -> ReportFacts:
    """Return what the report tells."""
    document, catalogue, settings = edition.document, edition.catalogue, edition.settings
    rows = gate.gate_rows(document, catalogue, settings)
    place = settings.publishing.jurisdiction
    return ReportFacts(
        source=text.one_line(document.recording.source),
        length=timecode.clock(document.recording.duration_ms),
        recorded=printed.day(document.recording.recorded_on) or "on a day not known",
        heard_by=text.one_line(document.transcript.recogniser),
        gate=rows,
        waiting=waiting(document),
        supplies=printed.supply_rows(document, catalogue, settings),
        cuts=printed.cut_rows(document),
        offers_asked=_offers_asked(document),
        tally=tuple(
            Tally(weight, word, sum(row.weight == weight for row in rows)) for weight, word in gate.WEIGHTS.items()
        ),
        may_go_out=not any(row.holds_back for row in rows),
        reminders=printed.reminders(settings, _occasions(document)),
        disclosed=Disclosed(*(rule_files.text("disclosure.toml", place, part) for part in ("placed", "source"))),
        jurisdiction=place,
        corrected=tuple(
            CorrectedRow(timecode.clock(one.start_ms), text.one_line(one.wrong), text.one_line(one.right))
            for one in document.corrections
        ),
        spelled=tuple(
            SpelledRow(timecode.clock(one.start_ms), text.one_line(one.heard), text.one_line(one.shown))
            for one in document.spellings
        ),
        left_out=tuple(
            LeftOutRow(timecode.clock(one.start_ms), text.one_line(one.text), one.reason)
            for one in edition.draft.left_out
        ),
        written=_share_written(document, edition.draft),
        refused=tuple(
            RefusedRow(timecode.clock(one.start_ms), text.one_line(one.message))
            for one in rules.host_refusals(document.chapters, document.recording.duration_ms, settings.chapters)
        ),
        chapter_source=rules.SOURCE,
        complaints=tuple(
            ComplaintRow(one.row, one.column, text.one_line(one.problem), text.one_line(one.remedy))
            for one in catalogue.complaints
        ),
        products=len(catalogue.products),
    )


def _offers_asked(document: Document) -> tuple[OfferAsked, ...]:
    return tuple(
        OfferAsked(timecode.clock(one.start_ms), text.one_line(one.heard), text.one_line(one.doubt))
        for one in document.offers
        if one.state == "ask"
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


def _share_written(document: Document, written: Draft) -> WrittenShare:
    """Return how much of the speech is in the post, and each sentence that was changed."""
    said = sum(len(sentence.words) for sentence in document.sentences)
    kept = sum(len(line.text.split()) for line in written.lines)
    changed = tuple(
        ChangedLine(timecode.clock(line.start_ms), line.text, _rules_of(line))
        for line in written.lines
        if any(part.edits for part in line.parts)
    )
    return WrittenShare(said, kept, round(100 * kept / said) if said else 0, changed)


def _rules_of(line: Line) -> tuple[str, ...]:
    return tuple(sorted({rule for part in line.parts for edit in part.edits for rule in edit.rule.split("; ")}))
