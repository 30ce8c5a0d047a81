"""How many pieces a sheet gives with straight cuts from edge to edge: the simple grid, and the best mixed layout.

The search is exact: it tries every cut position that a row of pieces can end at. Lengths are exact fractions. Where
it would take too long, above 200 pieces or with narrow strips, the best layout told is the simple one.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import ceil, lcm

_SEARCHED = 200
"""Above so many pieces a sheet the best layout is taken as the grid: no one cuts more by hand from a mixed one."""
_RECTANGLES = 8000
"""So it is above so many rectangles to search, as with narrow strips: the search takes half a second at this size."""


@dataclass(frozen=True)
class Piece:
    """Where a piece lies on the sheet; the origin is the upper left corner."""

    x: Fraction
    y: Fraction
    width: Fraction
    height: Fraction


@dataclass(frozen=True)
class CutLine:
    """A cut from edge to edge of what is left, in the order of cutting."""

    x1: Fraction
    y1: Fraction
    x2: Fraction
    y2: Fraction


@dataclass(frozen=True)
class Layout:
    """Pieces on a sheet, the cuts in order, and the share of the sheet that is left over."""

    width: Fraction
    height: Fraction
    pieces: tuple[Piece, ...]
    cuts: tuple[CutLine, ...]

    @property
    def count(self) -> int:
        """How many pieces."""
        return len(self.pieces)

    @property
    def waste(self) -> Fraction:
        """Share of the sheet that is left over, 0 to 1."""
        used = sum((piece.width * piece.height for piece in self.pieces), Fraction(0))
        return 1 - used / (self.width * self.height)


Size = tuple[Fraction, Fraction]
_Step = tuple[int, int]
_Cut = tuple[str, int] | None
"""What to do with a rectangle: ("|", x) or ("-", y) cuts it, ("piece", 0) keeps it, None throws it away."""


def grid_layout(sheet: Size, piece: Size, kerf: Fraction = Fraction(0), *, upright: bool = False) -> Layout:
    """Lay out one grid, all pieces the same way round.

    Args:
        sheet: width and height.
        piece: width and height in the same unit.
        kerf: width that a cut takes away; 0 for a trimmer or a knife.
        upright: the pattern must not be turned.

    Raises:
        ValueError: a size is not positive.
    """
    steps, whole, (w, h), k = _in_steps(sheet, piece, kerf)
    turns = [(w, h)] if upright or w == h else [(w, h), (h, w)]
    a, b = max(turns, key=lambda turn: (whole[0] // turn[0]) * (whole[1] // turn[1]))
    return _laid(sheet, whole, steps, k, lambda width, height: _grid_cut(width, height, a, b))


def best(sheet: Size, piece: Size, kerf: Fraction = Fraction(0), *, upright: bool = False) -> Layout:
    """Lay out as many pieces as cuts from edge to edge can give, some of them turned.

    Args:
        sheet: width and height.
        piece: width and height in the same unit.
        kerf: width that a cut takes away.
        upright: the pattern must not be turned.

    Raises:
        ValueError: a size is not positive.
    """
    plain = grid_layout(sheet, piece, kerf, upright=upright)
    steps, whole, (w, h), k = _in_steps(sheet, piece, kerf)
    most = (whole[0] * whole[1]) // (w * h)
    if upright or w == h or plain.count >= most or most > _SEARCHED:
        return plain
    if len(_ends(whole[0], w, h)) * len(_ends(whole[1], w, h)) > _RECTANGLES:
        return plain
    mixed = _laid(sheet, whole, steps, k, _search(w, h))
    return mixed if mixed.count > plain.count else plain


def sheets_for(pieces: int, per_sheet: int) -> int:
    """Return how many sheets give this many pieces.

    Raises:
        ValueError: the piece does not fit on the sheet.
    """
    if per_sheet < 1:
        raise ValueError("The piece does not fit on the sheet.")
    return ceil(Fraction(pieces, per_sheet))


def _in_steps(sheet: Size, piece: Size, kerf: Fraction) -> tuple[int, _Step, _Step, int]:
    """Return steps a unit, sheet, piece and kerf in whole steps; sheet and piece grow by the kerf."""
    lengths = [Fraction(one) for one in (*sheet, *piece, kerf)]
    if min(lengths[:4]) <= 0 or lengths[4] < 0:
        raise ValueError("A sheet and a piece have positive sizes.")
    steps = lcm(*(one.denominator for one in lengths))
    width, height, w, h, k = (int(one * steps) for one in lengths)
    return steps, (width + k, height + k), (w + k, h + k), k


def _grid_cut(width: int, height: int, a: int, b: int) -> _Cut:
    if width < a or height < b:
        return None
    if height > b:
        return "-", b
    return ("|", a) if width > a else ("piece", 0)


def _ends(length: int, w: int, h: int) -> tuple[int, ...]:
    """Return every length up to this one that a row of pieces can have."""
    sums = {0}
    for step in (w, h):
        for start in sorted(sums):
            sums.update(range(start, length + 1, step))
    return tuple(sorted(sums))


def _search(w: int, h: int) -> Callable[[int, int], _Cut]:
    """Return the exact choice of the next cut, by the largest count over all first cuts."""

    @cache
    def ends(length: int) -> tuple[int, ...]:
        return _ends(length, w, h)

    @cache
    def solved(width: int, height: int) -> tuple[int, _Cut]:
        """Return the largest count, and the cut that begins it, of a rectangle whose sides are both in `ends`."""
        most = (width * height) // (w * h)
        if (width, height) in ((w, h), (h, w)):
            return 1, ("piece", 0)
        found: tuple[int, _Cut] = (0, None)
        cuts = [("|", at) for at in ends(width)[1:-1]] + [("-", at) for at in ends(height)[1:-1]]
        for kind, at in cuts if most else []:
            one, two = ((at, height), (width - at, height)) if kind == "|" else ((width, at), (width, height - at))
            count = reduced(*one) + reduced(*two)
            if count > found[0]:
                found = (count, (kind, at))
            if count == most:
                break
        return found

    def reduced(width: int, height: int) -> int:
        return solved(ends(width)[-1], ends(height)[-1])[0]

    def cut(width: int, height: int) -> _Cut:
        used = ends(width)[-1], ends(height)[-1]
        if not solved(*used)[0]:
            return None
        if used[0] < width:
            return "|", used[0]
        return ("-", used[1]) if used[1] < height else solved(width, height)[1]

    return cut


def _laid(sheet: Size, whole: _Step, steps: int, kerf: int, cut: Callable[[int, int], _Cut]) -> Layout:
    """Follow the cuts from the whole sheet down, and keep where each cut and each piece lies."""
    pieces: list[Piece] = []
    lines: list[CutLine] = []
    left = [(0, 0, *whole)]
    while left:
        x, y, width, height = left.pop()
        choice = cut(width, height)
        if choice is None:
            continue
        kind, at = choice
        if kind == "piece":
            pieces.append(Piece(*(Fraction(one, steps) for one in (x, y, width - kerf, height - kerf))))
            continue
        across = kind == "-"
        ends = (x, y + at, x + width, y + at) if across else (x + at, y, x + at, y + height)
        lines.append(_line(ends, sheet, steps, kerf, across=across))
        left.append((x, y + at, width, height - at) if across else (x + at, y, width - at, height))
        left.append((x, y, width, at) if across else (x, y, at, height))
    return Layout(Fraction(sheet[0]), Fraction(sheet[1]), tuple(pieces), tuple(lines))


def _line(ends: tuple[int, int, int, int], sheet: Size, steps: int, kerf: int, *, across: bool) -> CutLine:
    """Return a cut where the blade is set: at the end of the piece, inside the sheet."""
    x1, y1, x2, y2 = (Fraction(one, steps) for one in ends)
    taken = Fraction(kerf, steps)
    if across:
        return CutLine(x1, y1 - taken, min(x2, Fraction(sheet[0])), y2 - taken)
    return CutLine(x1 - taken, y1, x2 - taken, min(y2, Fraction(sheet[1])))
