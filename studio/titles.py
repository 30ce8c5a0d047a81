"""What to call a chapter: the item or the technique that it is about, in the words of the catalogue or the talk."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cache
from itertools import pairwise

from studio import cues, resources
from studio.model import Catalogue, Mention, Product, Sentence

_WORD = re.compile(r"[\w'’&-]+")
_NAMING = 3
"""Sentences in which a chapter usually names what it is about."""
_SMALL = frozenset({"a", "an", "and", "the", "of", "for", "in", "on", "to", "with", "or", "by", "at", "from"})


def titles(
    parts: Sequence[Sequence[Sentence]], mentions: Sequence[Mention], catalogue: Catalogue, longest: int
) -> list[str]:
    """Return one title for each part: unique, at most `longest` characters, never a price."""
    everywhere = Counter(word for part in parts for word in set(_nouns(part)))
    given: list[str] = []
    for place, part in enumerate(parts):
        wanted = list(_candidates(part, place, len(parts), mentions, catalogue, everywhere))
        fitting = [_capital(_cut(title, longest)) for title in wanted if title]
        given.append(next((title for title in fitting if title.lower() not in map(str.lower, given)), ""))
        given[-1] = given[-1] or _numbered(fitting[0] if fitting else "Part", given, longest)
    return given


def _candidates(
    part: Sequence[Sentence],
    place: int,
    count: int,
    mentions: Sequence[Mention],
    catalogue: Catalogue,
    everywhere: Counter[str],
) -> Iterator[str]:
    """Give titles for a part, the best first."""
    talk = " ".join(sentence.text for sentence in part)
    if place == 0 and cues.holds("greeting", " ".join(part[0].text.split()[:12])):
        yield "Welcome"
    if place == count - 1 and place > 0 and _is_sign_off(part):
        yield "Goodbye and thanks" if cues.holds("thanks", talk) else "Goodbye"
    topic, item = _topic(part), _item(part, mentions, catalogue)
    if _is_offer(part):
        yield f"The offer: {item}" if item else "The offer"
    if topic and item:
        yield item if set(_stems(topic)) <= set(_stems(item)) else f"{topic}: {item}"
    yield from (text for text in (item, topic) if text)
    yield from _frequent(part, everywhere)


def _is_sign_off(part: Sequence[Sentence]) -> bool:
    heard = (cues.opening(sentence.text) for sentence in part)
    ends = any(one.announces == "the end" for opened in heard for one in cues.announcements(opened, 1.0))
    return ends or cues.holds("goodbye", part[-1].text)


def _is_offer(part: Sequence[Sentence]) -> bool:
    heard = (cues.opening(sentence.text) for sentence in part[:2])
    return any(one.announces == "the offer" for opened in heard for one in cues.announcements(opened, 0.5))


def _topic(part: Sequence[Sentence]) -> str:
    """Return the subject that the first sentences name, after the phrase that announces it."""
    for sentence in part[:_NAMING]:
        heard = cues.opening(sentence.text)
        bare = cues.bare_topic(heard)
        if bare and (heard.openers or sentence is part[0]):
            return _phrase(bare)
        for one in cues.announcements(heard, 0.5):
            phrase = _phrase(heard.rest[one.end :])
            if one.weight > 0 and phrase:
                return phrase
    return ""


@cache
def _list(name: str) -> frozenset[str]:
    return cues.words("title", name)


def _phrase(text: str) -> str:
    """Return the noun phrase at the head of a text, without its article; empty where there is none."""
    kept: list[str] = []
    end = 0
    for match in _WORD.finditer(text[:120]):
        between, word = text[end : match.start()], match[0]
        if re.search(r"[.,;:!?–—]", between) and kept:
            break
        end = match.end()
        if word in _list("skipped") and not kept:
            continue
        if word in _list("stops") or word[0].isdigit():
            break
        kept.append(word)
        if len(kept) == 5:
            break
    while kept and kept[-1] in _SMALL:
        kept.pop()
    return " ".join(kept)


def _item(part: Sequence[Sentence], mentions: Sequence[Mention], catalogue: Catalogue) -> str:
    """Return the name of the first item shown in the part, in the words of the catalogue."""
    rows = catalogue.by_code()
    start, end = part[0].start_ms, part[-1].end_ms
    shown = [m for m in mentions if m.code in rows and m.role == "shown" and start <= m.start_ms < end]
    return _short_name(rows[shown[0].code or ""]) if shown else ""


def _short_name(product: Product) -> str:
    return product.name


def _stems(text: str) -> list[str]:
    return [word.lower().rstrip("s") for word in _WORD.findall(text) if word.lower() not in _SMALL]


def _nouns(part: Sequence[Sentence]) -> Iterator[str]:
    for sentence in part:
        for word in _WORD.findall(cues.plain(sentence.text)):
            if len(word) > 2 and word not in _common() and not word[0].isdigit():
                yield word


@cache
def _common() -> frozenset[str]:
    table = resources.table("cues.toml")
    names = ("common", "stops", "skipped")
    return frozenset(word for name in names for word in table["title"][name].split()) | cues.words(
        "bare_topic", "not_nouns"
    )


def _frequent(part: Sequence[Sentence], everywhere: Counter[str]) -> Iterator[str]:
    """Give the words that this part says more than the others, two at a time."""
    counts = Counter(_nouns(part))
    ranked = sorted(counts, key=lambda word: (-counts[word] / everywhere[word], list(counts).index(word)))
    for first, second in pairwise(ranked):
        yield f"{first} and {second}"
    yield from ranked


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _cut(text: str, longest: int) -> str:
    if len(text) <= longest:
        return text
    head = text[: longest + 1].rsplit(" ", 1)[0] if " " in text[: longest + 1] else text[:longest]
    return head.rstrip(" ,;:&-–")


def _numbered(title: str, given: Sequence[str], longest: int) -> str:
    taken = {one.lower() for one in given}
    names = (f"{_cut(title, longest - 4)} {number}" for number in range(2, len(given) + 3))
    return next(name for name in names if name.lower() not in taken)
