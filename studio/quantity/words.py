"""The word lists around quantities, from `shared/quantities.toml`, and how they are looked for beside a place."""

from dataclasses import dataclass
from functools import cache

from studio import resources
from studio.quantity.tokens import Tokens, cut


@dataclass(frozen=True)
class Phrases:
    """A list of phrases; first and last words are kept apart, so that most places are passed over at one look."""

    known: frozenset[tuple[str, ...]]
    firsts: dict[str, int]
    """First word -> how many words the longest phrase has that begins with it."""
    lasts: dict[str, int]

    def __contains__(self, said: tuple[str, ...]) -> bool:
        return said in self.known


def _listed(known: frozenset[tuple[str, ...]]) -> Phrases:
    firsts: dict[str, int] = {}
    lasts: dict[str, int] = {}
    for phrase in known:
        firsts[phrase[0]] = max(len(phrase), firsts.get(phrase[0], 0))
        lasts[phrase[-1]] = max(len(phrase), lasts.get(phrase[-1], 0))
    return Phrases(known, firsts, lasts)


@cache
def words(section: str, key: str) -> frozenset[str]:
    """Return a list of single words."""
    return frozenset(resources.table("quantities.toml")[section][key].split())


@cache
def phrases(section: str, *keys: str) -> Phrases:
    """Return one or several lists of phrases, each phrase as its tokens."""
    rows = "|".join(resources.table("quantities.toml")[section][key] for key in keys).replace("\n", "|").split("|")
    return _listed(frozenset(tuple(token for token in cut(row).low if token) for row in rows if row.strip()))


def phrase_before(tokens: Tokens, at: int, phrases: Phrases) -> int:
    """Return where a known phrase begins that ends right before `at`; `at` itself where there is none."""
    low = tokens.low
    longest = phrases.lasts.get(low[at - 1], 0) if at > 0 else 0
    for length in range(min(longest, at), 0, -1):
        if tuple(low[at - length : at]) in phrases.known:
            return at - length
    return at


def phrase_after(tokens: Tokens, at: int, phrases: Phrases) -> int:
    """Return where a known phrase ends that begins at `at`; `at` itself where there is none."""
    low = tokens.low
    for length in range(phrases.firsts.get(low[at], 0), 0, -1):
        if tuple(low[at : at + length]) in phrases.known:
            return at + length
    return at
