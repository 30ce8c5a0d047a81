"""What to call a chapter: the items or the technique that it is about, in the words of the catalogue or the talk."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence, Set
from itertools import pairwise

from studio.chapters import cues, phrases
from studio.model import Catalogue, Mention, Sentence

_NAMING = 3
"""Sentences in which a chapter usually names what it is about."""
_SIZE = re.compile(
    r"(?:[(,]|\b(?:pack|set|box|bag) of\b|\bno\.? ?\d"
    r"|\b\d[\d./]*\s*(?:x\b|mm|cm|m|in|inch|g|kg|oz|ml|cl|l|lb|yd|pk|pcs?|pack|ga|gauge|grit)\b"
    r"|\b\d+/\d+\b|\bhalf (?:metre|meter|yard)\b).*",
    re.IGNORECASE,
)
Titles = Iterator[str]


def titles(
    parts: Sequence[Sequence[Sentence]], mentions: Sequence[Mention], catalogue: Catalogue, longest: int
) -> list[str]:
    """Return one title for each part: unique, at most `longest` characters, never a price."""
    said = [Counter(phrases.nouns(part)) for part in parts]
    everywhere = Counter(word for words in said for word in words)
    whole = [sentence for part in parts for sentence in part]
    names, things = phrases.proper_names(whole), phrases.heads(whole)
    items, kinds = _items(parts, mentions, catalogue), _kinds(parts, mentions, catalogue)
    given: list[str] = []
    for place, part in enumerate(parts):
        here = Counter({word: count for word, count in said[place].items() if word in things})
        first = () if place else ("Introduction",)
        wanted = (*_set_pieces(parts, place), *_named(part, items[place]), *first, *_techniques(part), *kinds[place])
        talk = (*wanted, *_said(part, here, everywhere), *here, f"Part {place + 1}")
        fitting = (_fit(_spelt(title, names), longest) for title in talk)
        taken = {title.lower() for title in given}
        given.append(next(title for title in fitting if title and title.lower() not in taken))
    return given


def _set_pieces(parts: Sequence[Sequence[Sentence]], place: int) -> Titles:
    """Give the stock titles, where the part is what they say: the greeting, the offer, the sign-off."""
    part = parts[place]
    talk = " ".join(sentence.text for sentence in part)
    if place == 0 and cues.holds("greeting", " ".join(talk.split()[:15])):
        yield "Welcome"
    if _announces(part[:2], cues.OFFERS, 0.5):
        yield "The offer"
    if place and place == len(parts) - 1 and _announces(part, {cues.END}, 1.0):
        yield "Goodbye and thanks" if cues.holds("thanks", talk) else "Goodbye"


def _announces(part: Sequence[Sentence], what: Set[str], place: float) -> bool:
    heard = (cues.opening_of(sentence.text) for sentence in part)
    return any(one.announces in what for opened in heard for one in cues.announcements(opened, place))


def _named(part: Sequence[Sentence], items: Sequence[str]) -> Titles:
    """Give titles of what is announced and of the items first shown, the best first."""
    topic = phrases.topic(part, _NAMING)
    together = " and ".join(items[:2])
    if topic and items:
        named = set(phrases.stems(topic)) & set(phrases.stems(together))
        yield from ([together, items[0]] if named else [f"{topic}: {together}", f"{topic}: {items[0]}"])
    yield from filter(None, (topic, together if items else "", *items[:1]))


def _techniques(part: Sequence[Sentence]) -> Titles:
    """Give what is done in the first sentences."""
    yield from phrases.techniques(part[: _NAMING + 1])


def _said(part: Sequence[Sentence], said: Counter[str], everywhere: Counter[str]) -> Titles:
    """Give what the talk itself calls the part, where nothing is announced."""
    introduced = list(phrases.introduced(part[:_NAMING]))
    yield from (phrase for phrase in introduced if phrases.recurs(phrase, part))
    yield from _frequent(said, everywhere)
    yield from introduced


def _items(parts: Sequence[Sequence[Sentence]], mentions: Sequence[Mention], catalogue: Catalogue) -> list[list[str]]:
    """Return for each part the names of the items first shown in it, as far as they are sure."""
    rows = catalogue.by_code()
    shown = [m for m in mentions if m.code in rows and m.role == "shown" and m.state == "confirmed"]
    seen: set[str] = set()
    found: list[list[str]] = []
    for part in parts:
        here = [m.code or "" for m in shown if part[0].start_ms <= m.start_ms < part[-1].end_ms]
        new = [code for code in dict.fromkeys(here) if code not in seen]
        seen |= set(new)
        found.append(list(dict.fromkeys(short_name(rows[code].name) for code in new)))
    return found


def _kinds(parts: Sequence[Sequence[Sentence]], mentions: Sequence[Mention], catalogue: Catalogue) -> list[list[str]]:
    """Return for each part the kinds of the items named in it, the most often named first."""
    rows = catalogue.by_code()
    named = [m for m in mentions if m.code in rows and m.state == "confirmed"]
    found = []
    for part in parts:
        here = (m for m in named if part[0].start_ms <= m.start_ms < part[-1].end_ms)
        counts = Counter(rows[m.code or ""].kind for m in here)
        found.append([kind for kind, _ in counts.most_common() if kind])
    return found


def short_name(name: str) -> str:
    """Return a catalogue name without its size or pack ("Castor Oil 250 ml" is "Castor Oil")."""
    return _SIZE.sub("", name).strip() or name


def _frequent(said: Counter[str], everywhere: Counter[str]) -> Titles:
    """Give the words that this part says more than the others, and more than once: two of them, then one."""
    places = {word: place for place, word in enumerate(said)}
    often = [word for word in said if said[word] > 1]
    ranked = sorted(often, key=lambda word: (-said[word] / everywhere[word] * min(said[word], 3), places[word]))
    yield from (f"{first} and {second}" for first, second in pairwise(ranked[:2]))
    yield from ranked


def _spelt(title: str, names: dict[str, str]) -> str:
    return " ".join(names.get(word, word) for word in title.split(" "))


def _fit(title: str, longest: int) -> str:
    """Return the title with a capital, cut at a word where it is too long."""
    text = title[:1].upper() + title[1:]
    if len(text) > longest:
        head = text[: longest + 1]
        text = (head.rsplit(" ", 1)[0] if " " in head else head[:longest]).rstrip(" ,;:&-–")
        text = text.removesuffix(" and")
    return text
