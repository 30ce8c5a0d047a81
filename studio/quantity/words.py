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


@cache
def words(section: str, key: str) -> frozenset[str]:
    """Return a list of single words."""
    return frozenset(resources.table("quantities.toml")[section][key].split())


@cache
def phrases(section: str, *keys: str) -> Phrases:
    """Return one or several lists of phrases, each phrase as its tokens."""
    return listed("|".join(resources.table("quantities.toml")[section][key] for key in keys))


def listed(rows: str) -> Phrases:
    """Return phrases that stand in a text with `|` or a line's end between them."""
    split = rows.replace("\n", "|").split("|")
    known = frozenset(tuple(token for token in cut(row).low if token) for row in split if row.strip())
    found = Phrases(known, {}, {})
    for phrase in known:
        found.firsts[phrase[0]] = max(len(phrase), found.firsts.get(phrase[0], 0))
        found.lasts[phrase[-1]] = max(len(phrase), found.lasts.get(phrase[-1], 0))
    return found


def phrase_before(t: Tokens, at: int, phrases: Phrases) -> int:
    """Return where a known phrase begins that ends right before `at`; `at` itself where there is none."""
    longest = phrases.lasts.get(t.low[at - 1], 0) if at > 0 else 0
    for length in range(min(longest, at), 0, -1):
        if tuple(t.low[at - length : at]) in phrases.known:
            return at - length
    return at


def phrase_after(t: Tokens, at: int, phrases: Phrases) -> int:
    """Return where a known phrase ends that begins at `at`; `at` itself where there is none."""
    for length in range(phrases.firsts.get(t.low[at], 0), 0, -1):
        if tuple(t.low[at : at + length]) in phrases.known:
            return at + length
    return at
