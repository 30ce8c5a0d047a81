"""The person's own words for products, from the settings: they go before everything that is worked out."""

from collections.abc import Mapping, Sequence

from studio.mentions.claims import Claim
from studio.mentions.hits import Hit
from studio.mentions.index import Index, Row
from studio.mentions.words import Token, tokens

_CERTAIN = 9.0


class Nicknames:
    """What is said -> the row that is meant."""

    def __init__(self, names: Mapping[str, str], index: Index) -> None:
        """Take the table of the settings; an entry is a catalogue code, or the catalogue's spelling of a name."""
        rows = {row.product.code.casefold(): row for row in index.rows}
        rows |= {row.product.name.casefold(): row for row in index.rows} if names else {}
        self._rows: dict[tuple[str, ...], Row] = {}
        for said, meant in names.items():
            if row := rows.get(meant.casefold()):
                self._rows[tuple(token.key for token in tokens(said))] = row
        self._longest = max(map(len, self._rows), default=0)

    def claims(self, said: Sequence[Token]) -> list[Claim]:
        """Return a claim for each nickname in a sentence."""
        keys = [token.key for token in said]
        found = []
        for at in range(len(keys)):
            for length in range(self._longest, 0, -1):
                row = self._rows.get(tuple(keys[at : at + length]))
                if row and at + length <= len(keys):
                    hits = tuple(Hit(key, at, at + length, 1.0) for key in row.words or ("",))
                    found.append(Claim(row, hits, _CERTAIN, given=True))
                    break
        return found
