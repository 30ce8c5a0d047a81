"""How many pieces of a size, and the sides of one piece that were said apart."""

import re
from collections.abc import Sequence

from studio.quantity.found import Found
from studio.talk import RunningText

_REACH = 60
"""Characters between two things said of one piece."""
_PIECES = frozenset(
    "strip piece square panel rectangle circle triangle tag card board length block layer band border sheet patch "
    "tile label oval heart disc plank slat batten dowel base side frame".split()
)
_NEEDED = frozenset(
    ", and you i we need want cut make get have got do you'll i'll we'll you're i'm take with that's then so "
    "just".split()
)
_OF_THEM = re.compile(r"\s*(of (them|those|these)|strips?|pieces?|squares?)\b")
_FULL_WIDTH = re.compile(r"[\w ,']{0,36}\bwidth of (?:the |your |that )?(?:fabric|cloth|paper|sheet|roll)")
_SIDES = frozenset(["width", "height", "length", "depth"])


def sides_joined(rows: Sequence[Found], whole: RunningText) -> list[Found]:
    """Join a width and a length said of one thing, and give sizes the number of pieces counted beside them."""
    kept: list[Found] = []
    told: set[str | None] = set()
    for row in rows:
        before = kept[-1] if kept else None
        if before is not None and _counts_back(before, row, whole):
            before.quantity = int(row.value)
            if row.kind == "number":
                continue
        if before is not None and _counts(before, row, whole):
            row.quantity = int(before.value)
        if before is not None and _is_other_side(before, row, whole, told):
            _join(before, row)
            told.add(row.of)
            continue
        told = {row.of}
        kept.append(row)
    _full_widths(kept, whole)
    return kept


def _join(side: Found, other: Found) -> None:
    side.values, side.kind = (*side.exact, other.value), "size"
    side.end, side.quantity, side.of = other.end, side.quantity or other.quantity, None


def _same_sentence(before: Found, after: Found, whole: RunningText) -> bool:
    return whole.place(before.start) == whole.place(after.start) and after.start - before.end <= _REACH


def _is_size(found: Found) -> bool:
    return found.kind in ("size", "length") and not found.quantity and found.low is None


def _counts(count: Found, size: Found, whole: RunningText) -> bool:
    """Return whether a count of pieces belongs to the size after it: "3 strips of the red at 2 and a quarter"."""
    if (
        count.kind != "count"
        or count.unit not in _PIECES
        or not _is_size(size)
        or not _same_sentence(count, size, whole)
    ):
        return False
    between = whole.text[count.end : size.start].lower().split()
    return between[-1:] in (["at"], ["measuring"], ["are"], ["by"], ["of"], ["each"]) and len(between) < 9


def _counts_back(size: Found, count: Found, whole: RunningText) -> bool:
    """Return whether a number counts the pieces said before it: "one inch wide, and you need 5 of them"."""
    if not _is_size(size) or count.kind not in ("number", "count") or not _same_sentence(size, count, whole):
        return False
    if (
        count.value.denominator > 1
        or not 0 < count.value < 1000
        or (count.kind == "count" and count.unit not in _PIECES)
    ):
        return False
    between = whole.text[size.end : count.start].lower().replace(",", " , ").split()
    told = count.kind == "count" or _OF_THEM.match(whole.text, count.end)
    return bool(told) and between[:1] == [","] and _NEEDED.issuperset(between)


def _is_other_side(width: Found, length: Found, whole: RunningText, told: set[str | None]) -> bool:
    """Return whether a length is another side of the thing before: "six inches wide and nine tall, and one thick"."""
    if width.kind not in ("length", "size") or length.kind != "length" or width.unit != length.unit:
        return False
    side = length.of in (_SIDES | {"thickness"} if len(told) > 1 else _SIDES)
    apart = side and length.of not in told and told <= _SIDES
    return apart and len(told) == len(width.exact) < _MOST_SIDES and _same_sentence(width, length, whole)


_MOST_SIDES = 3


def _full_widths(rows: Sequence[Found], whole: RunningText) -> None:
    """Complete "two inches by the width of the fabric" with the width that the talk has told before."""
    full: Found | None = None
    for row in rows:
        if row.kind == "length" and row.of == "width" and not row.unit_implied:
            full = row
        if (
            row.kind == "length"
            and full is not None
            and full.unit == row.unit
            and _FULL_WIDTH.match(whole.text, row.end)
        ):
            row.values, row.kind = (row.value, full.value), "size"
