"""What the reader hands out: one quantity, with the place it was found at."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from studio.quantity.tokens import Tokens

Value = Fraction | str
"""A clock time is text: "19:30|07:30" where the half of the day was not said."""


@dataclass(slots=True)
class Found:
    """One quantity in a text.

    `values` holds one number; two or three for a size; two for a spoken range ("six or seven"). A written interval
    ("0.1-5 mm", "44 mg to 50 mg") is one measured value, its middle, with `low` and `high` beside it.
    """

    start: int
    """Index of the first character in the text."""
    end: int
    values: tuple[Value, ...]
    unit: str
    """Name of the unit, ISO 4217 code, "cent", "pence", the noun of a counted thing, or empty."""
    kind: str
    """A dimension of `shared/units.toml`, or thickness, rate, currency, number, count, division, name_number, clock,
    ratio, size; several of them with `_range`."""
    first: int
    """Index of the first token."""
    last: int
    """Index after the last token."""
    low: Fraction | None = None
    high: Fraction | None = None
    approximate: bool = False
    bound: str = ""
    """`<` or `>` for "under" and "at least"."""
    relative: str = ""
    """`-` or `+` for "smaller" and "bigger"."""
    quantity: int | None = None
    """How many pieces of this size."""
    of: str | None = None
    """Which measure it is: width, height, length, depth, thickness, diameter."""
    per: str | None = None
    """What one costs or weighs it: "each", "yard"."""
    replaces: tuple[Value, ...] = ()
    """The values said first and withdrawn."""
    replaced_at: tuple[int, int] | None = None
    """First and last character of what was withdrawn."""
    cue: str = ""
    """The words that withdrew it."""
    recalled: bool = False
    """It was put right later in the talk: its values are the later ones, its place and words are its own."""
    unit_implied: bool = False
    ambiguous: tuple[str, ...] = ()
    """Units it may as well be in."""
    computed: bool = False
    conflict: bool = False
    """It does not agree with what was computed from the words before."""
    question: bool = False
    gsm: Fraction | None = None
    """The weight of a paper in g/m² where its grade was said."""
    repaired: bool = False
    """It was written wrongly, and one reading fits."""
    form: str = field(default="", repr=False)
    glued_unit: bool = field(default=False, repr=False)
    """A unit was said with this number itself."""

    @property
    def exact(self) -> tuple[Fraction, ...]:
        """The values as numbers, a written interval as its two ends; empty for a clock time."""
        if self.low is not None and self.high is not None:
            return self.low, self.high
        return tuple(value for value in self.values if isinstance(value, Fraction))

    @property
    def value(self) -> Fraction:
        """The first value."""
        if self.low is not None:
            return self.low
        value = self.values[0]
        if isinstance(value, str):
            raise ValueError("A clock time is no number.")
        return value

    @property
    def base(self) -> str:
        """Its kind, a range or none."""
        return self.kind.removesuffix("_range")

    def reach(self, t: Tokens, last: int) -> None:
        """Let it end before another token."""
        self.last, self.end = last, t.end[last - 1]

    def begin(self, t: Tokens, first: int) -> None:
        """Let it begin at another token."""
        self.first, self.start = first, t.start[first]


def found_at(
    t: Tokens,
    first: int,
    last: int,
    values: Sequence[Value],
    unit: str = "",
    kind: str = "number",
    **more: Any,  # noqa: ANN401
) -> Found:
    """Return a quantity that reaches from one token to before another."""
    return Found(t.start[first], t.end[last - 1], tuple(values), unit, kind, first, last, **more)
