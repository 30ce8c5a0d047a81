"""What the mentions are good for beside the list: names for a second hearing, and how the captions spell them."""

from collections import defaultdict
from collections.abc import Mapping, Sequence

from studio.mentions import words
from studio.mentions.words import Token, tokens
from studio.model import Catalogue, Mention, Product, Sentence, Span, Spelling

MOST_NAMES = 25
"""Names for the second hearing; the recogniser takes some 220 tokens of them."""
_SURE = 0.45
_ALIKE = 80


def names_about(mentions: tuple[Mention, ...], catalogue: Catalogue) -> tuple[str, ...]:
    """Return the names that this recording seems to be about, at most `MOST_NAMES`, the likeliest first."""
    worth: dict[str, float] = defaultdict(float)
    for mention in mentions:
        if mention.code:
            worth[mention.code] += 2 if mention.role == "shown" else 1
        for place, code in enumerate(mention.runners_up, 2):
            worth[code] += 1 / place
    products = catalogue.by_code()
    order = sorted((code for code in worth if code in products), key=lambda code: (-worth[code], code))
    return tuple(dict.fromkeys(products[code].name for code in order))[:MOST_NAMES]


def unsure_spans(mentions: tuple[Mention, ...]) -> tuple[Span, ...]:
    """Return the stretches whose name was not heard for sure; a sure name in an unsure role is none of them."""
    unsure = [
        one
        for one in mentions
        if (one.state == "ask" and one.runners_up) or one.confidence < _SURE or one.role == "unlisted"
    ]
    return tuple(Span(start_ms=one.start_ms, end_ms=one.end_ms) for one in unsure)


def spellings(
    sentences: tuple[Sentence, ...],
    mentions: tuple[Mention, ...],
    catalogue: Catalogue,
    names: Mapping[str, str] | None = None,
) -> tuple[Spelling, ...]:
    """Return what the captions show in place of what was heard: names as the catalogue writes them.

    Only names linked for sure are changed, word by word, and only words that are alike; the rest stays as said.

    Args:
        sentences: the talk.
        mentions: what was linked in it.
        catalogue: where the spelling comes from.
        names: spellings of the person: what is said -> the right spelling, or a code (which changes nothing here).
    """
    products = catalogue.by_code()
    found = []
    for mention in mentions:
        product = products.get(mention.code or "")
        shown = respelled(mention.heard, product) if product and mention.state == "confirmed" else mention.heard
        if shown != mention.heard:
            span = {"start_ms": mention.start_ms, "end_ms": mention.end_ms}
            found.append(Spelling(heard=mention.heard, shown=shown, source="catalogue", **span))
    found += _by_person(sentences, {said: right for said, right in (names or {}).items() if right not in products})
    return tuple(sorted(found, key=lambda one: one.start_ms))


def respelled(heard: str, product: Product) -> str:
    """Return what was heard with the words of a product's name written as the catalogue writes them.

    Words side by side take the catalogue's letters and capitals; a word that stands alone only its letters.
    """
    said = tokens(heard)
    name = tokens(product.name)
    pairs = [(token, _same(token, name)) for token in said]
    beside = [_beside(pairs, at) for at in range(len(pairs))]
    text, end = "", 0
    for (token, other), near in zip(pairs, beside, strict=True):
        if other is None or (not near and other.key == token.key):
            continue
        text += heard[end : token.start] + _written(token, other, product.name[other.start : other.end], capital=near)
        end = token.end
    return text + heard[end:]


def _beside(pairs: Sequence[tuple[Token, Token | None]], at: int) -> bool:
    """Return whether another word of the name stands next to a word, "and" between them allowed."""
    for step in (-1, 1):
        near = at + step
        if 0 <= near < len(pairs) and pairs[near][0].low in {"and", "&"}:
            near += step
        if 0 <= near < len(pairs) and pairs[near][1] is not None and not pairs[max(at, near)][0].stop_before:
            return True
    return False


def _written(token: Token, other: Token, written: str, *, capital: bool) -> str:
    """Return a word of the name with the ending that was said."""
    ending = "'s" if token.low.endswith("'s") else ""
    if not ending and token.low.endswith("s") and not written.lower().endswith("s") and token.key == other.key:
        ending = "s"
    bare = written.removesuffix("'s")
    return (bare if capital else bare.lower()) + ending


def _same(token: Token, name: Sequence[Token]) -> Token | None:
    """Return the word of a name that a word heard stands for, or None."""
    from rapidfuzz import fuzz

    if token.low in words.as_said("articles") or len(token.key) < 2:
        return None
    for other in name:
        if other.key == token.key or other.key in words.homophones().get(token.key, ()):
            return other
    if token.key in words.ordinary():
        return None
    return max(
        (other for other in name if fuzz.ratio(other.key, token.key) >= _ALIKE and len(other.key) > 3),
        key=lambda other: fuzz.ratio(other.key, token.key),
        default=None,
    )


def _by_person(sentences: Sequence[Sentence], names: Mapping[str, str]) -> list[Spelling]:
    wanted = {tuple(token.key for token in tokens(said)): right for said, right in names.items()}
    longest = max(map(len, wanted), default=0)
    found = []
    for sentence in sentences if longest else ():
        said = tokens(sentence.text)
        for at in range(len(said)):
            for length in range(1, longest + 1):
                right = wanted.get(tuple(token.key for token in said[at : at + length]))
                if right is None or at + length > len(said):
                    continue
                start, end = said[at].start, said[at + length - 1].end
                heard = sentence.text[start:end]
                start_ms, end_ms = sentence.time_of(start, end)
                if heard != right:
                    found.append(
                        Spelling(heard=heard, shown=right, source="settings", start_ms=start_ms, end_ms=end_ms)
                    )
    return found
