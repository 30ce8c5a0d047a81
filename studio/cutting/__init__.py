"""The cutting list: which pieces are cut from what, how many, and where they are scored."""

import re
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from fractions import Fraction

from studio import rule_files, stated
from studio.model import Catalogue, Cut, Measure, Mention, Product, Sentence, State
from studio.quantity import to

VERSION = 5
_NEAR_MS = 30_000
"""A score belongs to the piece that was named at most this long before."""
_LENGTHS = frozenset({"in", "ft", "yd", "mm", "cm", "m"})


def cuts(
    measures: tuple[Measure, ...], sentences: tuple[Sentence, ...], mentions: tuple[Mention, ...], catalogue: Catalogue
) -> tuple[Cut, ...]:
    """Return the pieces in the order in which they were told, one told again once.

    A size of two lengths is a piece where its sentence cuts, or where what it measures is a piece (a base, a mat, a
    strip); the size that a catalogue row states of its item is none. A strip with one length takes the width of its
    material from the row. Scores are the lengths of a sentence that scores or folds, on the last piece.

    Args:
        measures: what was measured, values corrected away left out.
        sentences: the talk.
        mentions: what was named, for the material.
        catalogue: names and sizes of materials.
    """
    products = catalogue.by_code()
    named = [
        m for m in mentions if m.code in products and m.role != "rejected" and not _is_tool(products[m.code or ""])
    ]
    found: list[tuple[int, Cut]] = []
    for measure in measures:
        sentence = _around(measure.start_ms, sentences)
        if sentence is None or measure.unit not in _LENGTHS or measure.dimension.endswith("_range"):
            continue
        material = _material(measure, sentence, named, products)
        if _says("score", _clause(measure, sentence)) and len(measure.values) == 1:
            _score(found, measure)
        elif _is_piece(measure, sentence, _lately(measure, named, products)):
            cut = _cut(measure, material)
            if cut:
                found.append((measure.start_ms, cut))
    return tuple(_once(cut for _, cut in found))


def _around(at_ms: int, sentences: Sequence[Sentence]) -> Sentence | None:
    """Return the first sentence that a moment lies in; their ends are in order as their beginnings are."""
    place = bisect_left(sentences, at_ms, key=lambda one: one.end_ms)
    found = sentences[place] if place < len(sentences) else None
    return found if found and found.start_ms <= at_ms else None


def _says(name: str, text: str) -> bool:
    return rule_files.finds(text, "paper.toml", "words", name)


def _clause(measure: Measure, sentence: Sentence) -> str:
    """Return the sentence up to the measure, from the last clause on."""
    before = " ".join(word.text for word in sentence.words if word.start_ms < measure.start_ms)
    return re.split(r"[,;.:] | and then | then ", before)[-1]


def _is_tool(product: Product) -> bool:
    return _says("tool", f"{product.kind} {product.name}")


def _lately(measure: Measure, named: Sequence[Mention], products: dict[str, Product]) -> list[Product]:
    """Return the rows of the measure and of what was named up to half a minute before."""
    codes = [m.code for m in named if measure.start_ms - _NEAR_MS <= m.start_ms <= measure.end_ms]
    return [products[code] for code in dict.fromkeys([measure.code, *codes]) if code in products and code]


def _is_piece(measure: Measure, sentence: Sentence, lately: Sequence[Product]) -> bool:
    if len(measure.values) > 2:
        return False
    if len(measure.values) == 2 and any(_is_own_size(measure, product) for product in lately):
        return False
    cuts = _says("cutting", " ".join(word.text for word in sentence.words))
    if len(measure.values) == 1:
        return cuts and re.search(r"\bstrips?\b", sentence.text, re.IGNORECASE) is not None
    return cuts or _says("piece", measure.of or "") or measure.quantity is not None


def _is_own_size(measure: Measure, product: Product) -> bool:
    """Return whether a size is the one that the row states of its item."""
    said = tuple(to(value, measure.unit, "mm") for value in measure.values)
    listed = [size for size in stated.stated(product).sizes if size.dimension == "length"]
    return any(len(size.values) == len(said) and stated.all_in(said, size.values, Fraction(1, 100)) for size in listed)


def _material(
    measure: Measure, sentence: Sentence, named: Sequence[Mention], products: dict[str, Product]
) -> tuple[str, Product | None]:
    """Return what is cut: the item of the measure, else the last one named in the sentence, else what was said."""
    sure = [m for m in named if m.state == "confirmed" and m.role == "shown"]
    inside = [m for m in sure if sentence.start_ms <= m.start_ms < sentence.end_ms]
    own = measure.code if any(m.code == measure.code for m in sure) else None
    by_tool = own in products and _is_tool(products[own or ""])
    code = (None if by_tool else own) or (inside[-1].code if inside else None)
    if code in products and code:
        return products[code].name, products[code]
    return "" if by_tool else measure.of or "", None


def _cut(measure: Measure, material: tuple[str, Product | None]) -> Cut | None:
    name, product = material
    if len(measure.values) == 2:
        width, height = measure.values
    else:
        length = _full_width(measure, product)
        if length is None:
            return None
        width, height = measure.values[0], length
    return Cut(
        material=name,
        width=width,
        height=height,
        unit=measure.unit,
        quantity=measure.quantity or 1,
        measure_ids=(measure.id,),
        state=measure.state,
    )


def _full_width(measure: Measure, product: Product | None) -> Fraction | None:
    """Return the width of a material that is sold by length ("44 in wide"), in the unit of the measure."""
    sizes = [size for size in stated.stated(product).sizes if size.dimension == "length"] if product else []
    single = [size.values[0] for size in sizes if len(size.values) == 1]
    return to(single[0], "mm", measure.unit) if len(single) == 1 else None


def _score(found: list[tuple[int, Cut]], measure: Measure) -> None:
    """Add a score line to the last piece, where it lies on it."""
    if not found or measure.start_ms - found[-1][0] > _NEAR_MS:
        return
    at, cut = found[-1]
    score = to(measure.values[0], measure.unit, cut.unit)
    cut = cut if cut.scores else _along(cut, score)
    if 0 < score < cut.width and score not in cut.scores:
        ids = (*cut.measure_ids, measure.id)
        state = _least_sure(cut.state, measure.state)
        found[-1] = (at, cut.but(scores=tuple(sorted((*cut.scores, score))), measure_ids=ids, state=state))


def _least_sure(*states: State) -> State:
    return "ask" if "ask" in states else "confirmed"


def _along(cut: Cut, score: Fraction) -> Cut:
    """Turn the piece so that its width is the side that the score divides: the one it halves, else one it lies on.

    Source: common practice, no source; 5 1/2 x 8 1/2 in scored at 4 1/4 is a card of 4 1/4 x 5 1/2.
    """
    halved = score * 2 == cut.height != cut.width
    turned = halved or not score < cut.width
    return cut.but(width=cut.height, height=cut.width) if turned else cut


def _once(told: Iterable[Cut]) -> list[Cut]:
    """Join a piece that was told again with the first time: the larger count stands, scores are put together."""
    kept: list[Cut] = []
    for cut in told:
        same = next((i for i, one in enumerate(kept) if _key(one) == _key(cut)), None)
        if same is None:
            kept.append(cut)
            continue
        one = kept[same]
        scores = tuple(sorted({*one.scores, *cut.scores}))
        ids = (*one.measure_ids, *cut.measure_ids)
        state = _least_sure(one.state, cut.state)
        kept[same] = one.but(quantity=max(one.quantity, cut.quantity), scores=scores, measure_ids=ids, state=state)
    return kept


def _key(cut: Cut) -> tuple[str, Fraction, Fraction]:
    width, height = (to(side, cut.unit, "mm") for side in (cut.width, cut.height))
    return cut.material, min(width, height), max(width, height)
