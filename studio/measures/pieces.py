"""How many pieces of a size, and the sides of one piece that were said apart."""

from collections.abc import Sequence

from studio.measures.things import Things
from studio.quantity.found import Found
from studio.quantity.words import words

_REACH = 60
"""Characters between two things said of one piece."""
_SIDES = frozenset(["width", "height", "length", "depth"])
_MOST_SIDES = 3


def sides_joined(rows: Sequence[Found], things: Things) -> list[Found]:
    """Join a width and a length said of one thing, and give sizes the number of pieces counted beside them."""
    kept: list[Found] = []
    told: set[str | None] = set()
    for row in rows:
        before = kept[-1] if kept else None
        near = before if before and not things.apart(before, row) and row.start - before.end <= _REACH else None
        if near is not None and _counts_back(near, row, things):
            near.quantity = int(row.value)
            if row.kind == "number":
                continue
        if near is not None and _counts(near, row, things):
            row.quantity = int(near.value)
        if near is not None and _is_other_side(near, row, told):
            near.values, near.kind, near.end = (*near.exact, row.value), "size", row.end
            near.quantity, near.of = near.quantity or row.quantity, None
            told.add(row.of)
            continue
        told = {row.of}
        kept.append(row)
    _full_widths(kept, things)
    return kept


def _is_size(found: Found) -> bool:
    return found.kind in ("size", "length") and not found.quantity and found.low is None


def _counts(count: Found, size: Found, things: Things) -> bool:
    """Return whether a count of pieces belongs to the size after it: "3 strips of the red at 2 and a quarter"."""
    between = things.tokens.low[count.last : size.first]
    told = count.kind == "count" and count.unit in words("measures", "pieces") and _is_size(size)
    return (
        told and between[-1:] in ([one] for one in ("at", "measuring", "are", "by", "of", "each")) and len(between) < 9
    )


def _counts_back(size: Found, count: Found, things: Things) -> bool:
    """Return whether a number counts the pieces said before it: "one inch wide, and you need 5 of them"."""
    t = things.tokens
    if not _is_size(size) or count.kind not in ("number", "count") or count.value not in range(1, 1000):
        return False
    of_them = t.low[count.last] == "of" and t.low[count.last + 1] in ("them", "those", "these")
    between = t.low[size.last : count.first]
    told = count.unit in words("measures", "pieces") if count.kind == "count" else of_them
    return told and between[:1] == [","] and words("measures", "needed").issuperset(between)


def _is_other_side(width: Found, length: Found, told: set[str | None]) -> bool:
    """Return whether a length is another side of the thing before: "six inches wide and nine tall, and one thick"."""
    if width.kind not in ("length", "size") or length.kind != "length" or width.unit != length.unit:
        return False
    side = length.of in _SIDES or (length.of == "thickness" and len(told) > 1)
    return side and length.of not in told and told <= _SIDES and len(told) == len(width.exact) < _MOST_SIDES


def _full_widths(rows: Sequence[Found], things: Things) -> None:
    """Complete "two inches by the width of the fabric" with the width that the talk has told before."""
    full: Found | None = None
    for row in rows:
        if row.kind == "length" and row.of == "width" and not row.unit_implied:
            full = row
        after = things.tokens.low[row.last : row.last + 12]
        across = "width" in after and after[after.index("width") + 1 :][:1] == ["of"]
        if row.kind == "length" and full is not None and full.unit == row.unit and across:
            row.values, row.kind = (row.value, full.value), "size"
