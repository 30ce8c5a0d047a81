"""Each piece of the cutting list as a small SVG drawing to scale: its sides, and where it is scored."""

from fractions import Fraction
from xml.sax.saxutils import escape

from studio import text
from studio.model import Cut
from studio.quantity import show

LONGEST = 170
"""Pixels of the longer side."""
MARGIN = 34


def piece_drawings(cuts: tuple[Cut, ...]) -> str:
    """Return a list of drawings in HTML, or nothing; lines take the colour of the text, words say what they show."""
    if not cuts:
        return ""
    figures = "".join(f"<li>{piece_drawing(cut)}<p>{escape(_caption(cut))}</p></li>\n" for cut in cuts)
    return f'<ul class="pieces">\n{figures}</ul>\n'


def piece_drawing(cut: Cut) -> str:
    """Return one piece as SVG; it says in words what it shows (WCAG 2.2, 1.1.1)."""
    scale = LONGEST / float(max(cut.width, cut.height))
    width, height = float(cut.width) * scale, float(cut.height) * scale
    scores = [score for score in cut.scores if 0 < score < cut.width]
    lines = "".join(
        f'<line x1="{at}" y1="0" x2="{at}" y2="{height:.1f}" stroke="currentColor" stroke-dasharray="5 4"/>'
        for at in (f"{float(score) * scale:.1f}" for score in scores)
    )
    label = escape(_words(cut), {'"': "&quot;"})
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{label}" width="{width + 2 * MARGIN:.0f}" '
        f'height="{height + MARGIN:.0f}" viewBox="-{MARGIN} -4 {width + 2 * MARGIN:.0f} {height + MARGIN:.0f}">'
        f'<rect width="{width:.1f}" height="{height:.1f}" fill="none" stroke="currentColor" stroke-width="1.5"/>{lines}'
        f"{_text(width / 2, height + 18, _length(cut.width, cut.unit), 'middle')}"
        f"{_text(width + 4, height / 2 + 4, _length(cut.height, cut.unit).removesuffix(f' {cut.unit}'), 'start')}</svg>"
    )


def _text(x: float, y: float, said: str, anchor: str) -> str:
    place = f'x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"'
    return f'<text {place} font-size="13" fill="currentColor">{escape(said)}</text>'


def _length(value: Fraction, unit: str) -> str:
    return show((value,), unit, "length")


def _caption(cut: Cut) -> str:
    pieces = f"{cut.quantity} pieces" if cut.quantity != 1 else "1 piece"
    return ", ".join(filter(None, [text.one_line(cut.material), pieces]))


def _words(cut: Cut) -> str:
    scored = ", ".join(_length(score, cut.unit) for score in cut.scores)
    size = show((cut.width, cut.height), cut.unit, "size")
    return f"{_caption(cut)}, {size}" + (f", scored {scored} from the left edge" if scored else "")
