"""How long a long test is: whole where everything is set up for it (`CI` is set), in short form elsewhere."""

import os
from typing import TypeVar

T = TypeVar("T")
WHOLE = bool(os.environ.get("CI"))


def whole_or(whole: T, short: T) -> T:
    """Return the measure of the whole test, or that of its short form."""
    return whole if WHOLE else short
