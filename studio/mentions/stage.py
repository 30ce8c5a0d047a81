"""The stage itself: sentences and catalogue in, mentions out."""

from collections.abc import Iterator

from studio.mentions import roles, unlisted, words
from studio.mentions.heard import Heard, read
from studio.mentions.hits import Vocabulary
from studio.mentions.index import Row, build
from studio.mentions.linking import link
from studio.mentions.nicknames import Nicknames
from studio.mentions.telling import Link
from studio.model import Catalogue, Mention, Sentence

_CERTAIN = 2.0
"""Evidence at which the confidence is full."""


def mentions(sentences: tuple[Sentence, ...], catalogue: Catalogue, names: dict[str, str]) -> tuple[Mention, ...]:
    """Return every time that a product was named, in the order of the talk.

    Args:
        sentences: the talk.
        catalogue: the rows that may be named.
        names: nicknames and spellings of the person: what is said -> catalogue code, or the right spelling.
    """
    if not catalogue.products:
        return ()
    index = build(catalogue)
    vocabulary, nicknames = Vocabulary(index), Nicknames(names, index)
    heard = [read(sentence, index, vocabulary, nicknames) for sentence in sentences]
    links = link(index, heard)
    found = [*(_mention(one, heard[one.at]) for one in links), *_unlisted(heard, links)]
    found.sort(key=lambda mention: (mention.start_ms, mention.end_ms))
    return tuple(mention.but(id=f"m{number}") for number, mention in enumerate(found, 1))


def _mention(one: Link, heard: Heard) -> Mention:
    start, end = heard.tokens[one.span[0]].start, heard.tokens[one.span[1] - 1].end
    start_ms, end_ms = heard.sentence.time_of(start, end)
    own = one.role == "unlisted"
    runners = [row.product.code for row in one.choice.runners_up]
    return Mention(
        id="",
        code=None if own else one.row.product.code,
        heard=heard.sentence.text[start:end],
        start_ms=start_ms,
        end_ms=end_ms,
        role=one.role,
        state="confirmed" if own or is_sure(one) else "ask",
        confidence=round(max(0.05, min(1.0, one.choice.evidence / _CERTAIN)), 3),
        runners_up=tuple(runners if not own else [one.row.product.code, *runners]),
        quantity=None if own else quantity_of(heard, one.span),
        colour=None if own else colour_of(heard, one.span, one.row),
        replaces=one.replaces,
    )


def is_sure(one: Link) -> bool:
    """Return whether row and role are certain: what is shown is also said to be used, or measured."""
    return one.sure and (one.role != "shown" or one.used or one.plainly or one.measured)


def quantity_of(heard: Heard, span: tuple[int, int]) -> int | None:
    """Return how many were said: "three reels of the X", "two X", "the X, and I use three of those"."""
    between = words.as_said("adjectives") | words.as_said("articles") | {"of"} | words.listed("containers")
    for amount in heard.amounts:
        if amount.count is None or not 0 < amount.count < 100:
            continue
        before = heard.tokens[amount.last : span[0]]
        if amount.last <= span[0] and len(before) <= 4 and all(t.low in between or t.key in between for t in before):
            return amount.count
        if (
            set(heard.tokens[amount.last - 1].key.split()) - words.listed("containers")
            and amount.last - amount.first > 1
        ):
            continue
        after = [token.low for token in heard.tokens[amount.last : amount.last + 2]]
        if (
            amount.first >= span[1]
            and after[:1] == ["of"]
            and after[1:]
            and after[1] in {"those", "them", "these"}
            and not _in_a_pack(heard, amount.last + 2)
        ):
            return amount.count
    return None


def _in_a_pack(heard: Heard, at: int) -> bool:
    """Return whether a count tells what a pack holds: "fifty of those in a box"."""
    return [token.low for token in heard.tokens[at : at + 1]] in (["in"], ["to"], ["per"])


def colour_of(heard: Heard, span: tuple[int, int], row: Row) -> str | None:
    """Return the colour said: a colour word of the name, the row's colour, or the colours that a set holds."""
    keys = heard.words_in(*span)
    everything = heard.words_in(0, len(heard.tokens))
    colour = row.product.colour
    if colour and {token.key for token in words.tokens(colour)} & everything:
        return colour
    last = set(row.words[-1:]) | {token.key for token in words.tokens(row.product.name.partition(",")[2])}
    named = [
        word
        for word in row.product.name.replace(",", " ").split()
        if _is_colour(word) and words.fold(word) in keys & last
    ]
    held = [
        word
        for word in row.product.contents.replace(",", " ").split()
        if words.fold(word) in row.components & everything
    ]
    return " ".join(named) or ", ".join(held) or None


def _is_colour(word: str) -> bool:
    return words.fold(word) in words.listed("colour")


def _unlisted(heard: list[Heard], links: list[Link]) -> Iterator[Mention]:
    """Give the names that are introduced and fit no row."""
    taken: dict[int, list[tuple[int, int]]] = {}
    for one in links:
        taken.setdefault(one.at, []).append(one.span)
    for at, one_heard in enumerate(heard):
        if not any(token.capital for token in one_heard.tokens):
            continue
        phrases = roles.phrases(one_heard.sentence.text, one_heard.tokens)
        for first, last in unlisted.spans(one_heard, phrases, taken.get(at, [])):
            start_ms, end_ms = one_heard.sentence.time_of(one_heard.tokens[first].start, one_heard.tokens[last - 1].end)
            said = one_heard.text(first, last)
            yield Mention(
                id="",
                code=None,
                heard=said,
                start_ms=start_ms,
                end_ms=end_ms,
                role="unlisted",
                state="ask",
                confidence=0.5,
            )
