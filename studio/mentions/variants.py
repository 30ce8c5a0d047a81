"""Variants named without their noun, after the kind of thing was: "The cord is leather. This is tobacco."."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from studio.mentions import naming, words
from studio.mentions.claims import Claim, Place
from studio.mentions.heard import Amount, Heard
from studio.mentions.index import Index, Row

_BACK = 2
"""Sentences before, in which the kind may have been named."""
_MANY = 40
"""Rows of one kind up to which a variant alone may stand for one."""
_TURN = 5
"""Words between a correction and the name that it brings."""
_SAME, _CLEAR = 0.05, 0.8
"""Evidence within which rows fit alike, and likeness from which a word counts as heard well."""


def families(index: Index, heard: Sequence[Heard], at: int, before: int) -> Iterator[list[Row]]:
    """Give the rows of each kind of thing named before a token, the latest kind first."""
    seen = set[str]()
    for back in range(_BACK + 1):
        if at < back:
            return
        said = heard[at - back].tokens[: before if not back else None]
        for token in reversed(said):
            if token.key in seen or token.key not in index.postings:
                continue
            seen.add(token.key)
            if family := _family(index, token.key):
                yield family


def _family(index: Index, key: str) -> list[Row]:
    """Return the rows that a word is the noun of, or that all are of one noun and have the word besides."""
    rows = [index.rows[at] for at in index.postings[key]]
    headed = [row for row in rows if key in row.heads]
    if not headed and len({row.heads for row in rows}) == 1 and key not in words.attributes():
        headed = rows
    return headed if 1 < len(headed) <= _MANY else []


def of_kind(index: Index, heard: Sequence[Heard], at: int, place: Place) -> Claim | None:
    """Return the row that a place's words tell apart within a kind named just before, or None."""
    first, last = place.span
    stands = naming.ends_a_noun(heard[at], last) or _goes_on(heard[at], place)
    if not stands and not is_corrected(heard[at], place):
        return None
    for family in families(index, heard, at, first):
        claims = [claim for claim in place.claims if any(claim.row is row for row in family)]
        claims = [claim for claim in claims if claim.evidence >= claims[0].evidence - _SAME and claim.quality >= _CLEAR]
        if len(claims) == 1 and not _is_shared(claims[0], family):
            return claims[0]
    return None


def is_corrected(heard: Heard, place: Place) -> bool:
    """Return whether a correction stands just before a place: "the long, sorry, I mean the short"."""
    said = [token.low for token in heard.tokens[max(0, place.span[0] - _TURN) : place.span[0]]]
    return bool(set(said) & words.as_said("opening_correction"))


def _goes_on(heard: Heard, place: Place) -> bool:
    """Return whether the word after is another form of a name word: "the rust stripe" of "Headband Striped Rust"."""
    after = heard.tokens[place.span[1]].key
    forms = (word for claim in place.claims for word in claim.row.words)
    return (
        len(after) > 3
        and any(word.startswith(after) for word in forms)
        and naming.ends_a_noun(heard, place.span[1] + 1)
    )


def _is_shared(claim: Claim, family: Sequence[Row]) -> bool:
    """Return whether another row of the kind, no longer in its name, has all the words said."""
    return any(
        row is not claim.row and claim.keys <= set(row.words) and len(row.words) <= len(claim.row.words)
        for row in family
    )


def by_number(family: Sequence[Row], amount: Amount) -> Row | None:
    """Return the only row of a kind that has a bare number in its name, or None."""
    if amount.count is None or amount.price is not None:
        return None
    fitting = [row for row in family if Fraction(amount.count) in row.name_numbers]
    return fitting[0] if len(fitting) == 1 else None


def numbers(
    index: Index, heard: Sequence[Heard], at: int, taken: Sequence[tuple[int, int]]
) -> Iterator[tuple[Amount, Row]]:
    """Give bare numbers that stand for rows of a kind: a list of several, or one that the sentence states."""
    one, found = heard[at], list[tuple[Amount, Row]]()
    for amount in one.amounts:
        free = all(amount.last <= first or last <= amount.first for first, last in taken)
        if not free or not _ends(one, amount.last):
            continue
        if one.tokens[amount.first].low in {"number", "no"}:
            found += [(amount, row) for row in _numbered(index, amount)]
            continue
        families_near = families(index, heard, at, amount.first)
        row = next((row for family in families_near if (row := by_number(family, amount))), None)
        if row is not None:
            found.append((amount, row))
    said = {token.key for token in one.tokens} - words.attributes()
    several = len({row.at for _, row in found}) > 1 and all(said & set(row.words) for _, row in found)
    for amount, row in found:
        if several or _is_stated(one, amount.first) or one.tokens[amount.first].low in {"number", "no"}:
            yield amount, row


def _numbered(index: Index, amount: Amount) -> list[Row]:
    """Return the only row whose name has "No." and this number, if one has."""
    rows = [row for row in index.rows if any((number, "") in amount.sizes for number in row.serial_numbers)]
    return rows if len(rows) == 1 else []


def _ends(heard: Heard, last: int) -> bool:
    return naming.ends_a_noun(heard, last) or heard.tokens[last].low in {"i", "we"}


def _is_stated(heard: Heard, first: int) -> bool:
    """Return whether a number is what the sentence says of a thing: "this thin stuff is twenty-six"."""
    before = [token.low for token in heard.tokens[:first]]
    return (
        bool(before)
        and before[-1] in {"is", "are"}
        and bool(set(before) & words.as_said("pointing"))
        and len(before) <= 6
    )
