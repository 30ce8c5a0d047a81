"""What was understood, as rows for a person to read."""

from fractions import Fraction

from studio.quantity.display import both, show
from studio.quantity.found import Found
from studio.quantity.money import show_money
from studio.quantity.reader import read

_NOTES = (
    ("approximate", "about"), ("unit_implied", "the unit was not said"), ("computed", "worked out"),
    ("conflict", "does not agree with what was said before"), ("question", "asked, not stated"),
    ("repaired", "written wrongly; only this reading fits"),
)  # fmt: skip


def explain(text: str) -> list[dict[str, str]]:
    """Return one row for each quantity in a text: heard, value, unit, kind, metric, imperial, notes."""
    return [_row(text, found) for found in read(text)]


def _row(text: str, found: Found) -> dict[str, str]:
    values, ranged = found.exact, found.low is not None
    kind = f"{found.kind}_range" if ranged else found.kind
    metric, imperial = both(values, found.unit, kind) if values else ("", "")
    return {
        "heard": text[found.start : found.end],
        "value": _value(found, kind),
        "unit": found.unit,
        "kind": kind.replace("_", " "),
        "metric": metric,
        "imperial": imperial,
        "notes": "; ".join(_notes(found)),
    }


def _value(found: Found, kind: str) -> str:
    if not found.exact:
        return str(found.values[0]).replace("|", " or ")
    if found.kind == "currency" and found.unit.isupper():
        return " to ".join(show_money(value, found.unit) for value in found.exact)
    return (
        show(found.exact, found.unit if found.unit in ("in", "ft", "yd", "lb", "oz") else "", kind)
        .removesuffix(found.unit)
        .strip()
    )


def _notes(found: Found) -> list[str]:
    notes = [note for name, note in _NOTES if getattr(found, name)]
    if found.replaces:
        notes.append(f"instead of {', '.join(_plain(value) for value in found.replaces)}")
    if found.ambiguous:
        notes.append(f"may be {' or '.join(found.ambiguous)}: ask")
    if found.bound:
        notes.append("less than" if found.bound == "<" else "more than")
    if found.quantity:
        notes.append(f"{found.quantity} of them")
    if found.per:
        notes.append(found.per if found.per == "each" else f"per {found.per}")
    return notes


def _plain(value: Fraction | str) -> str:
    return value if isinstance(value, str) else show((value,), "in").removesuffix(" in")
