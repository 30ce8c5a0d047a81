"""The word lists around quantities, from `shared/quantities.toml`, and how they are looked for beside a place."""

from functools import cache

from studio import resources
from studio.quantity.tokens import Tokens, cut

Phrases = frozenset[tuple[str, ...]]
_LONGEST = 6


@cache
def words(section: str, key: str) -> frozenset[str]:
    """Return a list of single words."""
    return frozenset(resources.table("quantities.toml")[section][key].split())


@cache
def phrases(section: str, key: str) -> Phrases:
    """Return a list of phrases, each as its tokens."""
    rows = resources.table("quantities.toml")[section][key].replace("\n", "|").split("|")
    return frozenset(tuple(token for token in cut(row).low if token) for row in rows if row.strip())


def phrase_before(tokens: Tokens, at: int, known: Phrases) -> int:
    """Return where a known phrase begins that ends right before `at`; `at` itself where there is none."""
    for length in range(min(_LONGEST, at), 0, -1):
        if tuple(tokens.low[at - length : at]) in known:
            return at - length
    return at


def phrase_after(tokens: Tokens, at: int, known: Phrases) -> int:
    """Return where a known phrase ends that begins at `at`; `at` itself where there is none."""
    for length in range(_LONGEST, 0, -1):
        if tuple(tokens.low[at : at + length]) in known:
            return at + length
    return at
