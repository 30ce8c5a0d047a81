"""The rows of the catalogue as the checks look them up: by code, by the words of their names, by what is alike."""

from collections import Counter
from functools import cached_property

from studio import stated
from studio.model import Product
from studio.quantity.units import table


class Listed(dict[str, Product]):
    """The rows by their codes; what is known of all of them together is worked out once, where a claim asks for it."""

    @cached_property
    def words(self) -> Counter[str]:
        """How many rows have a word in their name or kind."""
        return Counter(word for row in self.values() for word in stated.name_words(row))

    def alike(self, product: Product) -> list[str]:
        """Return the codes of the same thing in other sizes or packs: the same words but for figures and units."""
        return [code for code in self._families.get(_family(product), ()) if code != product.code]

    @cached_property
    def _families(self) -> dict[frozenset[str], list[str]]:
        found: dict[frozenset[str], list[str]] = {}
        for code, row in self.items():
            found.setdefault(_family(row), []).append(code)
        return found


def _family(row: Product) -> frozenset[str]:
    units = table()
    return frozenset(w for w in stated.name_words(row) if w not in units.longest and w not in units.by_sign)
