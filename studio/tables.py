"""The supply list and the cutting list as CSV that a spreadsheet opens without running anything in it."""

import csv
import io
import re
from collections.abc import Iterable

from studio import text, timecode
from studio.edition import Edition
from studio.model import Measure
from studio.quantity import show
from studio.writing import printed, sheet_plans

_FORMULA = ("=", "+", "-", "@", "|", "%")
_TYPED = re.compile(r"[+-]?\d+(?:[.,/]\d+)?%?")


def files(edition: Edition) -> dict[str, str | bytes]:
    """Return `supplies.csv` and `cutting.csv` (RFC 4180, UTF-8, lines end in CR LF)."""
    return {"supplies.csv": supply_list(edition), "cutting.csv": cutting_list(edition)}


def cell(value: object) -> str:
    """Return a value as a cell that no spreadsheet takes for a formula; numbers that were typed stay numbers.

    A cell that begins with one of `= + - @`, a tab or a line break gets an apostrophe before it, unless it is a number
    such as `-0.5` (common practice; the OWASP page on CSV injection lists these characters, from memory).
    """
    line = text.one_line(str(value))
    return f"'{line}" if line.startswith(_FORMULA) and not _TYPED.fullmatch(line) else line


def _csv(header: tuple[str, ...], rows: Iterable[Iterable[object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([cell(value) for value in row] for row in rows)
    return out.getvalue()


_SUPPLY_HEADER = (
    "item", "code", "kind", "colour", "quantity", "price", "currency", "page", "status", "note", "shown_at", "link",
)  # fmt: skip


def supply_list(edition: Edition) -> str:
    """Return one line a sure item: what it is, what it costs, where it is in the catalogue and the recording."""
    rows = printed.supply_rows(edition.settled, edition.catalogue, edition.settings)
    return _csv(
        _SUPPLY_HEADER,
        (
            (
                row.name, row.code, row.kind, row.colour, row.quantity, row.amount, row.currency, row.page,
                row.availability, row.note, row.shown, row.url,
            )
            for row in rows
        ),
    )  # fmt: skip


def cutting_list(edition: Edition) -> str:
    """Return the pieces that are sure, then every other size that was told and is sure.

    A size stands in one cell with its unit, so that no spreadsheet takes "1/4" for the first of April.
    """
    header = ("what", "size", "pieces", "score_at", "said_at", "other_units", "sheet", "per_sheet", "sheets_to_buy")
    sure = edition.settled
    plans = sheet_plans.plans(edition.document, edition.catalogue, edition.settings)
    measured = {measure.id: measure for measure in sure.measures}
    cuts = (
        (
            cut.material,
            show((cut.width, cut.height), cut.unit, "size"),
            cut.quantity,
            "; ".join(show((score,), cut.unit, "length") for score in cut.scores),
            _said(measured.get(next(iter(cut.measure_ids), ""))),
            "",
            *((plan.sheet, plan.best.count, plan.sheets) if plan else ("", "", "")),
        )
        for cut, plan in zip(sure.cuts, plans, strict=True)
    )
    in_cuts = {name for cut in sure.cuts for name in cut.measure_ids}
    others = (
        (
            measure.of or measure.heard,
            show(measure.values, measure.unit, measure.dimension),
            measure.quantity or "",
            "",
            _said(measure),
            _other(measure),
            *("", "", ""),
        )
        for measure in sure.measures
        if measure.id not in in_cuts and measure.dimension.startswith(("length", "size"))
    )
    return _csv(header, [*cuts, *others])


def _said(measure: Measure | None) -> str:
    return timecode.clock(measure.start_ms) if measure else ""


def _other(measure: Measure) -> str:
    own = show(measure.values, measure.unit, measure.dimension)
    return next((value for value in (measure.metric, measure.imperial) if value and value != own), "")
