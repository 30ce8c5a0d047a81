"""What is known about the characters of each sentence: names, sizes, withdrawn words, prices, private talk."""

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache
from typing import Literal

from studio import quantity, rule_files
from studio.model import Catalogue, Document, Measure, Product, Sentence, Span
from studio.writing import people, worth

MarkKind = Literal[
    "name",
    "size",
    "spelling",
    "withdrawn",
    "price",
    "said wrong",
    "private",
    "offer",
    "named",
    "fact",
    "figure",
    "repeated",
    "unsettled",
]
_PAGE = re.compile(r"\b(?:on |at |it's on )?pages?\s+(?:number\s+)?[\w-]+(?:\s+(?:or|and|to)\s+\d+)?", re.IGNORECASE)
_TRAILING_SIZE = re.compile(r"\s+\d[\d./×x-]*\s?(?:g|kg|ml|l|mm|cm|m|in|oz|lb|yd|ft|gsm|pk|pack)$", re.IGNORECASE)
_PRINTED_SIZES = frozenset("length size mass volume temperature paper_weight percent thickness".split())
_ARTICLES = ("the ", "a ", "an ", "this ", "my ", "your ", "our ", "these ", "some ")
_SHAPES = ("squares", "circles", "rounds", "strips", "pieces", "sheets", "triangles", "panels", "blocks")
_HEARD_WORD = re.compile(r",|[\w'’]+")
_LONGEST_SIZE = 12
"""Words that a size may have."""


@lru_cache(maxsize=8192)
def _read(text: str) -> tuple[quantity.Found, ...]:
    """Return the quantities of a text; kept, because most of a talk stays as it is between two runs."""
    return tuple(quantity.read(text))


@dataclass(frozen=True)
class SentenceMark:
    """Something known about the characters `start` to `end` of a sentence."""

    start: int
    end: int
    kind: MarkKind
    shown: str | None = None
    """What the written text shows in its place; None where the words stay."""
    code: str | None = None


class Places:
    """Finds the characters of the sentences that were said in a stretch of time."""

    def __init__(self, sentences: tuple[Sentence, ...]) -> None:
        self._sentences = sentences
        self._starts = [sentence.start_ms for sentence in sentences]

    def at(self, ms: int) -> Sentence | None:
        """Return the sentence that was being said, or the last one before."""
        index = bisect_right(self._starts, ms) - 1
        return self._sentences[index] if index >= 0 else None

    def of(self, span: Span, heard: str = "") -> Iterator[tuple[int, int, int]]:
        """Yield sentence index, first and last character of what was said in the span, narrowed to the words heard."""
        first = max(0, bisect_right(self._starts, span.start_ms) - 1)
        for sentence in self._sentences[first:]:
            if sentence.start_ms >= span.end_ms:
                return
            inside = [word for word in sentence.words if word.start_ms < span.end_ms and word.end_ms > span.start_ms]
            if inside:
                yield sentence.index, *_narrowed(sentence.text, inside[0].start, inside[-1].end, heard)


def _narrowed(text: str, start: int, end: int, heard: str) -> tuple[int, int]:
    """Return the place of the words heard within a few words of the stretch; without the marks after them."""
    at = text.lower().find(heard.lower(), max(0, start - 20)) if heard else -1
    if 0 <= at <= end:
        return at, at + len(heard)
    return start, start + len(text[start:end].rstrip(" ,.;:!?"))


def marks(document: Document, catalogue: Catalogue) -> dict[int, list[SentenceMark]]:
    """Return all marks by sentence index; those that replace words do not overlap, the first to be found stands."""
    places = Places(document.sentences)
    found: dict[int, list[SentenceMark]] = defaultdict(list)
    everything = (
        _corrections(document, places), _sizes(document, places), _names(document, places, catalogue.by_code()),
        _spellings(document, places), _findings(document, places), _offers(document, places),
        _prices(document), _people(document, catalogue), _cautions(document, places),
    )  # fmt: skip
    for source in everything:
        for index, mark in source:
            clash = mark.shown is not None and any(
                other.shown is not None and other.start < mark.end and mark.start < other.end for other in found[index]
            )
            if not clash:
                found[index].append(mark)
            elif mark.kind == "name":
                found[index].append(SentenceMark(mark.start, mark.end, "name", None, mark.code))
    return dict(found)


def _corrections(document: Document, places: Places) -> Iterator[tuple[int, SentenceMark]]:
    for correction in document.corrections:
        for index, _, _ in places.of(correction):
            text = document.sentences[index].text.lower()
            wrong = text.find(correction.wrong.lower())
            right = text.find(correction.right.lower(), wrong + 1) if correction.right else -1
            if 0 <= wrong < right and correction.wrong.lower() != correction.right.lower():
                yield index, SentenceMark(wrong, right, "withdrawn", "")
                yield index, SentenceMark(right, right + len(correction.right), "fact")
            elif wrong >= 0:
                yield index, SentenceMark(wrong, wrong + len(correction.wrong), "withdrawn")


def _sizes(document: Document, places: Places) -> Iterator[tuple[int, SentenceMark]]:
    for measure in document.measures:
        kind = measure.dimension.removesuffix("_range")
        for index, start, end in places.of(measure, measure.heard):
            sure = measure.state == "confirmed" and kind in _PRINTED_SIZES
            heard = document.sentences[index].text[start:end]
            place = _size_alone(measure, heard) if sure and heard.lower() == measure.heard.lower() else None
            if place is None and measure.replaces == measure.heard:
                yield index, SentenceMark(start, end, "withdrawn")
            elif place is None:
                yield index, SentenceMark(start, end, "size")
                if measure.state == "ask":
                    yield (
                        index,
                        SentenceMark(end, end, "unsettled", f" {rule_files.text(worth.FILE, 'added', 'unsettled')}"),
                    )
            else:
                shown = quantity.show(measure.values, measure.unit, measure.dimension)
                yield index, SentenceMark(start + place[0], start + place[1], "size", shown)


def _size_alone(measure: Measure, heard: str) -> tuple[int, int] | None:
    """Return the longest stretch of the words heard that is the size and nothing else: figures may stand for it."""
    words = [(found.start(), found.end()) for found in re.finditer(r"\S+", heard)][:_LONGEST_SIZE]
    stretches = ((first, last) for at, (first, _) in enumerate(words) for _, last in words[at:])
    for first, last in sorted(stretches, key=lambda one: one[0] - one[1]):
        bare = heard[first:last].rstrip(",.;:!?")
        if not bare.lower().endswith(_SHAPES) and _reads_as(_read(bare), bare, measure):
            return first, first + len(bare)
    return None


def _reads_as(read: tuple[quantity.Found, ...], bare: str, measure: Measure) -> bool:
    """Return whether the reader finds the measure's values in all of the text, and no count or side beside them."""
    if len(read) != 1 or read[0].start or read[0].end != len(bare):
        return False
    if read[0].of or read[0].quantity is not None or read[0].approximate or read[0].bound or read[0].relative:
        return False
    if measure.replaces == measure.heard:
        return len(read[0].exact) == len(measure.values)
    one_side_twice = bare.lower().endswith("square") and len(read[0].exact) == 1 and len(set(measure.values)) == 1
    return read[0].exact == measure.values or (one_side_twice and read[0].exact[0] == measure.values[0])


def _names(document: Document, places: Places, products: dict[str, Product]) -> Iterator[tuple[int, SentenceMark]]:
    seen: set[str] = set()
    opening_ms = document.chapters[1].start_ms if len(document.chapters) > 1 else 0
    for mention in sorted(document.mentions, key=lambda one: one.start_ms):
        product = products.get(mention.code or "")
        for index, start, end in places.of(mention, mention.heard):
            if product is None or mention.state != "confirmed":
                yield index, SentenceMark(start, end, "fact")
                continue
            first = product.code not in seen and mention.role in {"shown", "gift"} and mention.start_ms >= opening_ms
            seen |= {product.code} if first else set()
            text = document.sentences[index].text
            start, end = _core(text, start, end, product.name)
            if _says_most_of(text[start:end], product.name, 0.6 if first else 1):
                yield from ((index, mark) for mark in _name(text, start, end, text[start:end], product))
            else:
                yield index, SentenceMark(start, end, "name", None, product.code)


def _core(text: str, start: int, end: int, name: str) -> tuple[int, int]:
    """Narrow the words heard to the stretch that is the name: most of its words, no verb between, and short."""
    listed = _stems(name)
    words = [(start + found.start(), start + found.end(), found[0]) for found in _HEARD_WORD.finditer(text[start:end])]
    best, worth_of_best = (start, end), (0, 0)
    for at, (first, _, word) in enumerate(words):
        seen: set[str] = set()
        for _, last, said in words[at:] if _in_name(word, listed) else ():
            if said == "," or worth.is_auxiliary(said.lower()):
                break
            seen.add(_in_name(said, listed))
            value = (len(seen - {""}), first - last)
            if _in_name(said, listed) and value > worth_of_best:
                best, worth_of_best = (first, last), value
    return best


def _in_name(word: str, listed: set[str]) -> str:
    """Return the stem of the name that the word says or nearly says, or nothing."""
    stem = word.lower().rstrip("s")
    alike = (one for one in sorted(listed) if min(len(one), len(stem)) > 3 and one[0] == stem[0])
    return (
        stem if stem in listed else next((one for one in alike if SequenceMatcher(None, one, stem).ratio() > 0.75), "")
    )


def _stems(said: str) -> set[str]:
    return {word.rstrip("s") for word in worth.said_words(said) if not word.isdigit()}


def _says_most_of(heard: str, name: str, share: float = 0.6) -> bool:
    """Return whether enough of the name was said that the whole name can stand in its place."""
    listed = _stems(_TRAILING_SIZE.sub("", name))
    return bool(listed) and len({_in_name(word, listed) for word in worth.said_words(heard)} - {""}) >= share * len(
        listed
    )


def _name(text: str, start: int, end: int, heard: str, product: Product) -> Iterator[SentenceMark]:
    """Yield the mark that puts the catalogue's name in place of the words heard, and one for words that repeat it."""
    name = printed_name(product, heard)
    article = next((word for word in _ARTICLES if heard.lower().startswith(word)), "")
    again = _stems(name) | {"the", "one", "this", "that", "in", "a"}
    after = re.match(r"\s+([\w'-]+)", text[end:])
    if after and (after[1].lower().rstrip("s") in _stems(name) or after[1].lower() in {"one", "ones"}):
        end += after.end()
    yield SentenceMark(start + len(article), end, "name", name, product.code)
    clause = re.match(r",\s+(?:the|that's the|in the|this is the) [\w' -]{1,40}(?=[,.])", text[end:])
    if (
        clause
        and _stems(clause[0]) <= again | {"that'", "i", "that's"}
        and any(word.isdigit() or word in worth.said_words(name) for word in worth.said_words(clause[0]))
    ):
        yield SentenceMark(end, end + clause.end(), "repeated", "")


def printed_name(product: Product, heard: str = "") -> str:
    """Return the catalogue's name, without the pack size at its end where nobody said it."""
    short = _TRAILING_SIZE.sub("", product.name)
    said_size = any(char.isdigit() for char in heard)
    return product.name if said_size or len(short) < 4 else short


def _spellings(document: Document, places: Places) -> Iterator[tuple[int, SentenceMark]]:
    for spelling in document.spellings:
        for index, start, end in places.of(spelling, spelling.heard):
            text = document.sentences[index].text
            if text[start:end].lower() == spelling.heard.lower() and text[start - 1 : start] != "-":
                yield index, SentenceMark(start, end, "spelling", spelling.shown)


def _findings(document: Document, places: Places) -> Iterator[tuple[int, SentenceMark]]:
    kinds: dict[str, MarkKind] = {
        "contradiction": "said wrong",
        "private_detail": "private",
        "earnings_claim": "private",
        "safety_claim": "private",
    }
    for finding in document.findings:
        sentence = places.at(finding.start_ms)
        if sentence is None or finding.kind not in kinds:
            continue
        start = sentence.text.lower().find(finding.heard.lower()) if finding.heard else 0
        end = start + len(finding.heard) if start >= 0 and finding.heard else len(sentence.text)
        yield sentence.index, SentenceMark(max(0, start), end, kinds[finding.kind])


def _offers(document: Document, places: Places) -> Iterator[tuple[int, SentenceMark]]:
    for offer in document.offers:
        sentence = places.at(offer.start_ms)
        if sentence is not None:
            yield sentence.index, SentenceMark(0, len(sentence.text), "offer")


def _cautions(document: Document, places: Places) -> Iterator[tuple[int, SentenceMark]]:
    for ms in {ms for caution in document.cautions for ms in caution.triggers_ms}:
        sentence = places.at(ms)
        if sentence is not None:
            yield sentence.index, SentenceMark(0, len(sentence.text), "fact")


def _prices(document: Document) -> Iterator[tuple[int, SentenceMark]]:
    """Mark what was said of money and of catalogue pages: both are printed from the catalogue alone."""
    listed = {supply.price for supply in document.supplies if supply.price is not None}
    for sentence in document.sentences:
        for found in _read(sentence.text):
            bare = found.kind == "number" and found.exact and found.value.denominator != 1 and found.value in listed
            either = any(len(unit) == 3 and unit.isupper() for unit in found.ambiguous)
            if bare or found.kind.startswith("currency") or (either and found.value in listed):
                yield sentence.index, SentenceMark(found.start, found.end, "price")
            elif found.kind in {
                "count",
                "size",
                "length",
                "mass",
                "volume",
                "ratio",
                "temperature",
                "percent",
                "thickness",
            }:
                yield sentence.index, SentenceMark(found.start, found.end, "figure")
        for page in _PAGE.finditer(sentence.text):
            yield sentence.index, SentenceMark(page.start(), page.end(), "price")


def _people(document: Document, catalogue: Catalogue) -> Iterator[tuple[int, SentenceMark]]:
    """Mark the names of people in every sentence that has one; words of the catalogue are none."""
    names = [product.name for product in catalogue.products] + [mention.heard for mention in document.mentions]
    for index, start, end in people.people_named(
        document.sentences, lambda: {w for name in names for w in worth.said_words(name)}
    ):
        yield index, SentenceMark(start, end, "named")
