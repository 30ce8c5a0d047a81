"""Which words of a sentence are words of names: as written, joined or split, misspelled, or alike in sound."""

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, takewhile

from studio.mentions import words
from studio.mentions.exact import ExactNames
from studio.mentions.index import Index
from studio.mentions.words import Token

_SHORTLIST = 24
_SHORTEST = 4
_JOINED = 0.97
"""Quality of a word that is written in two, or two in one."""
_SOUND = 0.9
_ENDINGS = ("ly", "ing", "ed", "est")
"""Endings of adverbs and verbs: such a word does not stand for a name word without them."""
_SAME_SOUND = 0.6
"""Likeness in letters that a word with the same sound key must have."""


_ALIKE, _LONG = 0.6, 7
"""Likeness of letters that words of one sound have at least; letters of a word that may be heard as two."""


@dataclass(frozen=True, slots=True)
class Hit:
    """A name word at a place of a sentence."""

    key: str
    at: int
    """Index of its first token."""
    end: int
    """Index after its last token."""
    quality: float
    """1 as in the catalogue; lower where it had to be read into what was heard."""
    sound: bool = False
    """Another word that sounds alike was heard; it counts only beside another word of the name."""


class Vocabulary:
    """The words of all names, and a shortlist by letter pairs for the words that are not among them."""

    def __init__(self, index: Index) -> None:
        self._words = index.postings
        self.exact = ExactNames(index)
        self._pairs: dict[str, list[str]] = defaultdict(list)
        self._joined: dict[str, tuple[str, str]] = {}
        self._read: dict[str, tuple[str, float] | None] = {}
        self._sounds: dict[str, list[str]] = defaultdict(list)
        self._all_sounds: dict[str, list[str]] = defaultdict(list)
        self._in_order = sorted(self._words)
        self._heard_as: dict[str, list[str]] = {}
        for key in self._words:
            if len(key) >= _SHORTEST and key.isalpha():
                self._all_sounds[sound_key(key)].append(key)
        for key in self._words:
            if key not in words.ordinary() and len(key) >= _SHORTEST:
                self._sounds[sound_key(key)].append(key)
        for key in self._words:
            if len(key) >= _SHORTEST:
                for pair in _pairs(key):
                    self._pairs[pair].append(key)
        for row in index.rows:
            for first, second in zip(row.words, row.words[1:], strict=False):
                self._joined.setdefault(first + second, (first, second))

    def hits(self, said: Sequence[Token]) -> list[Hit]:
        """Return the name words of a sentence in its order; a token may give more than one."""
        return [hit for at in range(len(said)) for hit in self._at(said, at)]

    def _at(self, said: Sequence[Token], at: int) -> Iterator[Hit]:
        key = said[at].key
        if key in self._words:
            yield Hit(key, at, at + 1, 1.0)
        if at + 1 < len(said) and not said[at + 1].stop_before:
            both = words.fold(said[at].low + said[at + 1].low)
            both = both if both in self._words else key + said[at + 1].key
            if both in self._words and len(both) >= _SHORTEST:
                yield Hit(both, at, at + 2, _JOINED)
            elif key not in self._words and (whole := self._in_two(both)):
                yield Hit(whole, at, at + 2, _JOINED)
        if key in self._words:
            return
        meant = next((name for name in ("small", "large") if key in words.listed(name) and name in self._words), None)
        if meant and at + 1 < len(said) and said[at + 1].low in words.as_said("pronouns"):
            yield Hit(meant, at, at + 1, 1.0)
            return
        if key in self._joined and key not in words.ordinary():
            for part in self._joined[key]:
                yield Hit(part, at, at + 1, _JOINED)
            return
        alike = [other for other in words.homophones().get(key, ()) if other in self._words]
        alike = alike or self._by_sound(key)
        yield from (Hit(other, at, at + 1, _SOUND, sound=True) for other in alike)
        if not alike and (near := self.nearest(key)):
            yield Hit(near[0], at, at + 1, near[1])

    def _in_two(self, both: str) -> str | None:
        """Return the long name word that two words said sound like: "sir form" for a surform."""
        if len(both) < _LONG or not both.isalpha():
            return None
        near = [word for word in self._sounds.get(sound_key(both), ()) if _likeness(word, both) >= _ALIKE]
        return near[0] if len(near) == 1 and len(near[0]) >= _LONG else None

    def _by_sound(self, key: str) -> list[str]:
        """Return the name words that sound as a word does, or that it is short for; they count beside another only."""
        if len(key) < _SHORTEST or not key.isalpha() or key in words.as_said("followers"):
            return []
        if key not in self._heard_as:
            near = [word for word in self._all_sounds.get(sound_key(key), ()) if _likeness(word, key) >= _ALIKE]
            if not near and key not in words.ordinary() and len(key) > _SHORTEST:
                near = [word for word in self._starting(key) if len(word) > len(key) + 2]
            self._heard_as[key] = near if len(near) == 1 else []
        return self._heard_as[key]

    def _starting(self, key: str) -> list[str]:
        first = bisect_left(self._in_order, key)
        return list(takewhile(lambda word: word.startswith(key), islice(self._in_order, first, None)))

    def nearest(self, key: str) -> tuple[str, float] | None:
        """Return the name word that an unknown word may stand for, with their likeness 0 to 1, or None."""
        if len(key) < _SHORTEST or key in words.ordinary() or not key.isalpha():
            return None
        if key not in self._read:
            found = self._search(key)
            inflected = found and any(key.endswith(end) and not found[0].endswith(end) for end in _ENDINGS)
            self._read[key] = None if inflected else found
        return self._read[key]

    def _search(self, key: str) -> tuple[str, float] | None:
        from rapidfuzz import fuzz

        counts: Counter[str] = Counter()
        for pair in _pairs(key):
            counts.update(self._pairs.get(pair, ()))
        near = [word for word, _ in counts.most_common(_SHORTLIST) if abs(len(word) - len(key)) <= 3]
        best = max(near, key=lambda word: (fuzz.ratio(key, word), word), default=None)
        likeness = fuzz.ratio(key, best) / 100 if best else 0.0
        if best and best in words.ordinary() and key.startswith(best):
            return None
        if best and likeness >= words.weight("fuzzy_word"):
            return best, likeness
        alike = [(word, fuzz.ratio(key, word) / 100) for word in self._sounds.get(sound_key(key), ())[:_SHORTLIST]]
        return max(
            (pair for pair in alike if pair[1] >= _SAME_SOUND), key=lambda pair: (pair[1], pair[0]), default=None
        )


def _likeness(word: str, said: str) -> float:
    from rapidfuzz import fuzz

    return fuzz.ratio(word, said) / 100


def sound_key(word: str) -> str:
    """Return the metaphone of a word, without doubled sounds."""
    import jellyfish

    return str(jellyfish.metaphone(word))


def _pairs(key: str) -> set[str]:
    edged = f"^{key}$"
    return {edged[at : at + 2] for at in range(len(edged) - 1)}
