"""Whole names as the catalogue has them, found in one pass by Aho-Corasick however common their words are."""

from collections.abc import Sequence

from studio.mentions.index import SMALL_WORDS, Index
from studio.mentions.words import Token


class ExactNames:
    """All names of two words or more, as rows of folded words."""

    def __init__(self, index: Index) -> None:
        """Build the automaton; some 5 µs a name."""
        from ahocorasick_rs import AhoCorasick, Implementation

        self._rows = [row.at for row in index.rows if len(row.words) > 1]
        names = [f" {' '.join(index.rows[at].words)} " for at in self._rows]
        self._automaton = AhoCorasick(names, implementation=Implementation.ContiguousNFA, store_patterns=False)

    def rows(self, said: Sequence[Token]) -> list[int]:
        """Return the rows whose whole name is said in a sentence, small words and sizes apart."""
        text = " ".join(token.key for token in said if token.key not in SMALL_WORDS and not token.key[0].isdigit())
        return sorted(
            {self._rows[n] for n, *_ in self._automaton.find_matches_as_indexes(f" {text} ", overlapping=True)}
        )
