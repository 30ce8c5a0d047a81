"""Each piece of the cutting list as a drawing."""

import re
import xml.etree.ElementTree as ET
from fractions import Fraction

from studio.model import Cut
from studio.writing import piece_drawing

PIECE = Cut(
    material='Card "A" <x>',
    width=Fraction(11, 2),
    height=Fraction(17, 2),
    unit="in",
    quantity=2,
    scores=(Fraction(17, 4),),
)


def test_a_piece_is_drawn_to_scale_with_its_score_line() -> None:
    """Sides and the score line keep their proportion: 5 1/2 by 8 1/2 in, scored 4 1/4 in from the left."""
    svg = ET.fromstring(piece_drawing.piece_drawing(PIECE))
    rect, line = (svg.find(f"{{http://www.w3.org/2000/svg}}{name}") for name in ("rect", "line"))
    assert rect is not None
    assert line is not None
    width, height, at = float(rect.get("width", 0)), float(rect.get("height", 0)), float(line.get("x1", 0))
    assert abs(width / height - 5.5 / 8.5) < 0.01
    assert abs(at / width - 4.25 / 5.5) < 0.01


def test_the_drawing_says_in_words_what_it_shows() -> None:
    """Its name holds material, count, size and score; hostile text stays text (WCAG 2.2, 1.1.1)."""
    made = piece_drawing.piece_drawings((PIECE,))
    assert "2 pieces, 5 1/2 x 8 1/2 in, scored 4 1/4 in from the left edge" in made
    assert "<x>" not in made
    assert not re.search(r'aria-label="[^"]*<', made)


def test_no_pieces_give_no_drawing() -> None:
    """An empty cutting list gives nothing."""
    assert piece_drawing.piece_drawings(()) == ""
