"""Words of talk and of names, folded to be compared; the word lists and weights of `shared/names.toml`."""

import re
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache

from studio import resources

_WORD = re.compile(r"\d+(?:[.,/]\d+)*|[^\W\d_]+(?:['’][^\W\d_]+)*|&")
_PART_STOP = re.compile(r"[,.;:!?–—]")


@dataclass(frozen=True, slots=True)
class Token:
    """One word of a text; words joined by a hyphen are separate tokens."""

    key: str
    """Folded: lower case, singular, one spelling."""
    low: str
    start: int
    end: int
    capital: bool
    """Written with a capital though it does not begin the sentence."""
    stop_before: bool
    """A comma or another mark stands before it."""
    begins: bool = False
    """It begins a sentence."""


def tokens(text: str) -> tuple[Token, ...]:
    """Cut a text into its words; `start` and `end` index into it."""
    found: list[Token] = []
    end = 0
    for match in _WORD.finditer(text):
        word = match[0]
        stop = _PART_STOP.search(text, end, match.start()) is not None
        begins = not found or any(mark in ".!?" for mark in text[end : match.start()])
        end = match.end()
        capital = word[0].isupper() and not begins and word not in {"I", "I'm", "I'll", "I've", "I'd"}
        low = word.lower().replace("’", "'")
        found.append(Token(fold(word), low, match.start(), end, capital, stop, begins))
    return tuple(found)


@lru_cache(maxsize=100_000)
def fold(word: str) -> str:
    """Return the form under which a word is looked up."""
    plain = unicodedata.normalize("NFKD", word.casefold().replace("’", "'"))
    plain = "".join(sign for sign in plain if not unicodedata.combining(sign))
    plain = plain[:-2] if plain.endswith("'s") else plain.removesuffix("'")
    return _spellings().get(singular(plain), singular(plain))


def singular(word: str) -> str:
    """Return a noun without its plural ending."""
    if len(word) < 4 or not word.endswith("s") or word.endswith(("ss", "us", "is")):
        return word
    if word.endswith("ies") and len(word) > 4:
        return f"{word[:-3]}y"
    return word[:-2] if word.endswith(("xes", "ches", "shes", "sses", "zes")) else word[:-1]


@cache
def _spellings() -> dict[str, str]:
    pairs = resources.table("names.toml")["spelling"]["pairs"].replace("\n", " ").split("|")
    return {singular(american): singular(british) for american, british in (pair.split() for pair in pairs)}


@cache
def listed(name: str) -> frozenset[str]:
    """Return a word list of the file, folded."""
    return frozenset(map(fold, resources.table("names.toml")["words"][name].split()))


@cache
def as_said(name: str) -> frozenset[str]:
    """Return a word list of the file as it is, in lower case."""
    return frozenset(resources.table("names.toml")["words"][name].split())


@cache
def attributes() -> frozenset[str]:
    """Return the words that tell one row of a family from another: size, colour, finish."""
    return frozenset[str]().union(*map(listed, ("size", "colour", "finish", "small", "large")))


@cache
def trade_nouns() -> frozenset[str]:
    """Return the nouns that alone say what a product is."""
    return listed("product") - listed("weak_heads") - listed("material")


@cache
def ordinary() -> frozenset[str]:
    """Return the words that name nothing by themselves."""
    making = frozenset(map(fold, resources.table("titles.toml")["verbs"].split()))
    return making | listed("common") | listed("product") | attributes() | listed("glue") | listed("articles")


def weight(name: str) -> float:
    """Return one weight of the table."""
    found: float = resources.table("names.toml")["weights"][name]
    return found


def reach(name: str) -> int:
    """Return one reach of the table."""
    found: int = resources.table("names.toml")["reach"][name]
    return found


@cache
def homophones() -> dict[str, tuple[str, ...]]:
    """Return for each word the other words that sound like it."""
    found: dict[str, set[str]] = {}
    for group in resources.table("homophones.toml")["groups"]:
        alike = {fold(word) for word in group.split()}
        for word in alike:
            found.setdefault(word, set()).update(alike - {word})
    return {word: tuple(sorted(others)) for word, others in found.items() if others}
