"""Exact lengths, counts, weights and money: how they are said, what they are, how they are printed.

Reading order: `number_words`, `tokens` and `words`, then `numbers` (with `cardinals` and `parts`), `units`, `amounts`
(with `money`), `shapes` and `special`; `counts`, `context` and `mending` settle what was found; `reader` calls them,
once for a text; `display` prints and `explain` tells what was read.
"""

from studio.quantity.display import both, show, show_length
from studio.quantity.explain import explain
from studio.quantity.found import Found
from studio.quantity.money import money_places, show_money
from studio.quantity.reader import Amounts, amounts_of, read
from studio.quantity.units import gsm, to

__all__ = [
    "Amounts",
    "Found",
    "amounts_of",
    "both",
    "explain",
    "gsm",
    "money_places",
    "read",
    "show",
    "show_length",
    "show_money",
    "to",
]
