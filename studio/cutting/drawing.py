"""A layout on a sheet as an SVG drawing: pieces in black lines, cuts numbered in their order, sizes in words."""

from fractions import Fraction
from xml.sax.saxutils import escape

from studio.cutting.guillotine import CutLine, Layout
from studio.quantity import show_length

_LONGEST = 600
"""Pixels of the longer side."""


def drawing(layout: Layout, unit: str, title: str = "Cutting layout") -> str:
    """Return the drawing; it carries its content as text too (WCAG 2.2, 1.1.1 and 1.4.1: nothing by colour alone).

    Args:
        layout: pieces and cuts.
        unit: unit of its lengths ("in", "mm", "cm").
        title: what the sheet is.
    """
    scale = _LONGEST / float(max(layout.width, layout.height))
    width, height = float(layout.width) * scale, float(layout.height) * scale

    def px(value: Fraction) -> str:
        return f"{float(value) * scale:.2f}".rstrip("0").rstrip(".")

    rows = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="-20 -20 {width + 40:.0f} {height + 40:.0f}" role="img">',
        f"<title>{escape(title)}</title>",
        f"<desc>{escape(description(layout, unit))}</desc>",
        f'<rect width="{px(layout.width)}" height="{px(layout.height)}" fill="#fff" stroke="#000"/>',
    ]
    for piece in layout.pieces:
        place = f'x="{px(piece.x)}" y="{px(piece.y)}" width="{px(piece.width)}" height="{px(piece.height)}"'
        rows.append(f'<rect {place} fill="#eee" stroke="#000" stroke-width="2"/>')
    for number, cut in enumerate(layout.cuts, 1):
        ends = f'x1="{px(cut.x1)}" y1="{px(cut.y1)}" x2="{px(cut.x2)}" y2="{px(cut.y2)}"'
        rows.append(f'<line {ends} stroke="#000" stroke-dasharray="6 4"/>')
        rows.append(_label(float(cut.x1) * scale, float(cut.y1) * scale, number, across=cut.y1 == cut.y2))
    return "\n".join([*rows, "</svg>\n"])


def _label(x: float, y: float, number: int, *, across: bool) -> str:
    """Return the number of a cut beside the end where it begins: above a cut across, right of a cut down."""
    place = f'x="{x + 6:.1f}" y="{y - 7 if across else y + 25:.1f}"'
    return f'<text {place} font-size="24" stroke="#fff" stroke-width="4" paint-order="stroke">{number}</text>'


def description(layout: Layout, unit: str) -> str:
    """Return the layout in words: how many pieces, and each cut in order with the part that it goes through."""
    cuts = [f"{number}. {cut}" for number, cut in enumerate(steps(layout, unit), 1)]
    pieces = "1 piece" if layout.count == 1 else f"{layout.count} pieces"
    head = f"{pieces}, {round(float(layout.waste) * 100)} % left over."
    return " ".join([head, "; ".join(cuts) + "." if cuts else ""]).strip()


def steps(layout: Layout, unit: str) -> list[str]:
    """Return each cut in words, in the order of cutting."""
    return [_cut(cut, layout, unit) for cut in layout.cuts]


def _cut(cut: CutLine, layout: Layout, unit: str) -> str:
    across = cut.y1 == cut.y2
    at, ends = (cut.y1, (cut.x1, cut.x2)) if across else (cut.x1, (cut.y1, cut.y2))
    near, side = ("top", "left") if across else ("left", "top")
    where = f"cut {'across' if across else 'down'} at {show_length(at, unit)} from the {near}"
    if ends == (Fraction(0), layout.width if across else layout.height):
        return where
    return f"{where}, from {_number(ends[0], unit)} to {show_length(ends[1], unit)} from the {side}"


def _number(value: Fraction, unit: str) -> str:
    return show_length(value, unit).removesuffix(f" {unit}")
