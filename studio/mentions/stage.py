"""The stage itself: sentences and catalogue in, mentions out."""

from studio.mentions import words
from studio.mentions.heard import Heard, read
from studio.mentions.hits import Vocabulary
from studio.mentions.index import build
from studio.mentions.linking import Link, link
from studio.model import Catalogue, Mention, Sentence


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
    vocabulary = Vocabulary(index)
    heard = [read(sentence, index, vocabulary) for sentence in sentences]
    links = link(index, heard)
    return tuple(_mention(number, one, heard[one.at]) for number, one in enumerate(links, 1))


def _mention(number: int, one: Link, heard: Heard) -> Mention:
    start, end = heard.tokens[one.span[0]].start, heard.tokens[one.span[1] - 1].end
    start_ms, end_ms = heard.sentence.time_of(start, end)
    return Mention(
        id=f"m{number}",
        code=one.row.product.code,
        heard=heard.sentence.text[start:end],
        start_ms=start_ms,
        end_ms=end_ms,
        role=one.role,
        state="confirmed" if one.sure else "ask",
        confidence=round(min(1.0, one.choice.evidence / 2), 3),
        runners_up=tuple(row.product.code for row in one.choice.runners_up),
    )
