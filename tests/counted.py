"""Counts the work that a call does, so that no test has to ask a clock, and says what growth is no worse than even."""

import re
import sys
from collections.abc import Callable
from contextlib import suppress

from studio.errors import BonefolderError

FAR = 100_000
"""Characters of one thing over and over: longer than anybody speaks without a stop."""


def calls(work: Callable[[], object]) -> int:
    """Return how many functions are called in doing some work, Python's own included; a refusal is work done.

    The inside of a regular expression does not show here; `tests/bench/growth.py` prints what that costs.
    """
    count = 0

    def note(_frame: object, event: str, _arg: object) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        with suppress(BonefolderError):
            work()
    finally:
        sys.setprofile(before)
    return count


def growth(work: Callable[[int], object], size: int) -> float:
    """Return how many times as many functions are called for four times the size: 4 where work grows evenly."""
    work(size // 5)  # what is loaded once is not counted; what was read is kept under another size
    return calls(lambda: work(size)) / max(1, calls(lambda: work(size // 4)))


EVENLY = 4.3
"""Growth up to here is even, for four times the size; the square of it would be 16."""


def sees_no_end(pattern: re.Pattern[str], piece: str, length: int = FAR) -> bool:
    """Return whether a pattern finds in a long stretch of one thing just what it finds in a hundredth of it."""
    short, long = (pattern.search(piece * (size // len(piece))) for size in (length // 100, length))
    return bool(short) == bool(long)
