"""Lengths off a reel and thread for a spine: the sums that a table of supplies is checked with."""

from fractions import Fraction

import pytest

from studio import quantity


@pytest.mark.parametrize(
    ("reel", "reel_unit", "piece", "piece_unit", "pieces"),
    [
        (10, "yd", 12, "in", 30),  # a maker's own count on a secondary page: 10 yd spool, 12 in ties
        (25, "m", 35, "cm", 71),  # computed
        (1, "yd", 1, "in", 36),  # 16 CFR 500.19: 1 yd = 0.9144 m, 1 in = 25.4 mm, exactly
        (1, "m", 1, "in", 39),  # computed: 39.37
    ],
)
def test_whole_pieces_off_a_reel(reel: int, reel_unit: str, piece: int, piece_unit: str, pieces: int) -> None:
    """A reel gives the whole number of its exact length by the exact length of a piece."""
    length = quantity.to(Fraction(reel), reel_unit, "mm")
    assert length // quantity.to(Fraction(piece), piece_unit, "mm") == pieces


def test_six_spools_give_six_times_the_ties() -> None:
    """Six spools of 10 yd give 180 ties of 12 in (a maker's own count on a secondary page)."""
    ties = quantity.to(Fraction(10), "yd", "in") // 12
    assert 6 * ties == 180


def test_thread_for_a_pamphlet_stitch() -> None:
    """A spine of 5 1/2 in takes 2 1/2 to 3 times its length: 13 3/4 to 16 1/2 in (common practice, no source)."""
    spine = Fraction(11, 2)
    assert [quantity.show_length(spine * times, "in") for times in (Fraction(5, 2), 3)] == ["13 3/4 in", "16 1/2 in"]
