"""What a measure is of: the noun it stands with, the item named near it, and the pieces counted with it."""

from collections.abc import Sequence
from dataclasses import dataclass

from studio.model import Catalogue, Mention, Product
from studio.quantity import units
from studio.quantity.found import Found
from studio.quantity.reader import read
from studio.quantity.tokens import NUMBER, WORD, Tokens, cut
from studio.talk import Talk

_STOP = frozenset(
    "a an the and or but so if as at by in on of to for from with into onto over under up down out off is are was "
    "were be been it its it's that that's this this's these those they they're them i i'm i've we we're you you're "
    "your my our he she who which what when where why how then than there there's here here's now just only each "
    "every all both not no yes will would can could should may might must have has had do does did get got go goes "
    "going make makes made cut cuts need needs want wants leave leaves because while until till before after again "
    "'s too also very really about round per like well let's he's she's gives give use uses trim fold score wide long "
    "tall high deep thick across apart smaller bigger shorter longer wider less more extra free".split()
)
_POINTS_BACK = frozenset(["it", "it's", "its", "they", "they're", "that", "that's", "this", "these", "those", "them"])
_IS = frozenset(["is", "are", "was", "were", "be", "measures", "weighs", "holds", "at"])
_DETERMINERS = frozenset("the a an your my our each every this that these those its their".split())
_LEADING = _IS | frozenset(["about", "just", "you", "cut", "trim", "to", "by", "or", "between", "around"])
_HEATING = frozenset("heat cool cools warm preheat oven melt bring temperature reheat bake hotter cooler".split())
_OVENS = frozenset("oven ovens fan preheat gas kiln".split())
_COOLEST_OVEN, _HOTTEST = 100, 550
_TEMPERATURE = frozenset("temp temps temperature temperatures".split())
_WANTING = frozenset("like likes want wants prefer prefers need needs".split())
_DIMENSIONS = frozenset("radius diameter".split())
_SCORING = frozenset("score scores scored scoring crease creases".split())
_FOLDING = frozenset("fold folds folded folding".split())
_NEAR = 12


@dataclass(frozen=True)
class Thing:
    """What is measured: its name as said, and its catalogue code where it is an item."""

    name: str | None = None
    code: str | None = None


class Things:
    """Finds what a measure is of, in one talk."""

    def __init__(self, whole: Talk, mentions: Sequence[Mention], catalogue: Catalogue) -> None:
        self.whole = whole
        self._products = catalogue.by_code()
        self._mentions = sorted((mention for mention in mentions if mention.code), key=lambda mention: mention.start_ms)
        self._tokens: dict[int, Tokens] = {}
        self._names = ""

    def text(self, found: Found) -> str:
        """Return the words of a quantity."""
        return self.whole.text[found.start : found.end]

    def _around(self, found: Found) -> tuple[Tokens, int, int]:
        """Return the tokens of the sentence, and where the quantity begins and ends among them."""
        place = self.whole.place(found.start)
        tokens = self._tokens.get(place)
        if tokens is None:
            tokens = self._tokens[place] = cut(self.whole.sentences[place].text)
        offset = self.whole.starts[place]
        begin = max(0, min(found.start, *(found.replaced_at or (found.start,))) - offset)
        first = sum(start < begin for start in tokens.start[: tokens.count])
        last = sum(start < found.end - offset for start in tokens.start[: tokens.count])
        return tokens, first, last

    def of(self, found: Found) -> Thing:
        """Return the noun phrase a measure stands with, and the item where one is named beside it."""
        tokens, first, last = self._around(found)
        code = self._code(found)
        if found.kind == "count":
            return Thing(_after(tokens, last) if tokens.low[last] == "of" else None, code)
        return Thing(_mark(tokens, first) or _after(tokens, last) or _before(tokens, first), code)

    def heard_name(self, code: str) -> str | None:
        """Return the name of an item as the catalogue has it."""
        product = self._products.get(code)
        return product.name if product else None

    # --- items -------------------------------------------------------------------------------------------------------

    def _mentions_of(self, found: Found, reach: int = 0) -> list[Mention]:
        """Return the mentions in the sentence of a quantity, and in so many sentences before it."""
        place = self.whole.place(found.start)
        first = self.whole.sentences[max(0, place - reach)].start_ms
        last = self.whole.sentences[place].end_ms
        return [mention for mention in self._mentions if mention.start_ms <= last and mention.end_ms >= first]

    def _code(self, found: Found) -> str | None:
        start_ms, end_ms = self.whole.time_of(found.start, found.end)
        near = [
            mention
            for mention in self._mentions_of(found)
            if mention.state == "confirmed" and mention.role != "rejected"
        ]
        before = [mention for mention in near if mention.start_ms <= start_ms]
        after = [mention for mention in near if mention.start_ms >= end_ms]
        if before:
            return before[-1].code
        tokens, first, _ = self._around(found)
        if after and "of" in tokens.low[first : first + _NEAR]:
            return after[0].code
        if _POINTS_BACK.intersection(tokens.low[:first]) and not after:
            earlier = [mention for mention in self._mentions_of(found, 1) if mention.role in ("shown", "mentioned")]
            return earlier[-1].code if earlier and earlier[-1].state == "confirmed" else None
        return None

    def rows(self, found: Found, reach: int) -> list[Product]:
        """Return the catalogue rows of the items named in the sentence of a quantity and so many before; last first."""
        codes = dict.fromkeys(mention.code for mention in reversed(self._mentions_of(found, reach)))
        return [self._products[code] for code in codes if code in self._products]

    def listed_unit(self, found: Found) -> str:
        """Return the unit of the catalogue size that has these very sides, of an item named just before."""
        for product in self.rows(found, 2):
            for size in read(product.size):
                if size.kind == "size" and sorted(size.exact) == sorted(found.exact):
                    return size.unit
        return ""

    def listed_size(self, found: Found) -> Found | None:
        """Return the catalogue size that a bare number names: "the inner is a forty-five"."""
        if not found.exact or found.value.denominator > 1:
            return None
        tokens, first, _ = self._around(found)
        if tokens.before(first) not in ("a", "the") and tokens.before(first) not in ("is", "are", "it's", "that's"):
            return None
        for product in self.rows(found, 0):
            for size in read(product.size):
                if size.kind == "size" and size.exact[0] == found.value and len(set(size.exact)) == 1:
                    return size
        return None

    def heated(self, found: Found) -> bool:
        """Return whether a bare number is a heat: "cool it to sixty", "top temp is 1100", "gas six, or 200"."""
        tokens, first, _ = self._around(found)
        before = tokens.low[max(0, first - 7) : first]
        if before[-1:] in (["to"], ["at"], ["below"], ["about"], ["under"]) and _HEATING.intersection(before):
            return True
        if _TEMPERATURE.intersection([word.removesuffix("'s") for word in before[-2:]]):
            return True
        hot = min(found.exact) >= _COOLEST_OVEN and max(found.exact) <= _HOTTEST and found.value % 5 == 0
        return hot and bool(_OVENS.intersection(tokens.low))

    def reached(self, found: Found) -> bool:
        """Return whether something is brought to a quantity: "take it to seventy degrees"."""
        tokens, first, _ = self._around(found)
        return tokens.before(first) in ("to", "below", "above", "under", "over")

    def names_amount(self, found: Found) -> bool:
        """Return whether a bare number may be the amount an item is sold by: "the thirty", "0.6", "12 radius"."""
        tokens, first, last = self._around(found)
        if tokens.low[last] in _DIMENSIONS:
            return True
        decimal = found.value.denominator > 1 and found.form != "fraction"
        ends = decimal or tokens.kind[last] != WORD or tokens.low[last] in ("so", "and", "for", "in")
        alone = tokens.before(first) == "the" or (first > 0 and tokens.raw[first - 1] == ",")
        return ends and (alone or decimal)

    def takes_of(self, found: Found) -> bool:
        """Return whether "of that" or "of it" follows a quantity."""
        tokens, _, last = self._around(found)
        return tokens.low[last] == "of" and tokens.low[last + 1] in ("that", "it", "this")

    def carried(self, before: Found, after: Found) -> bool:
        """Return whether a number goes on, a sentence later, with the unit of a quantity before it.

        The two are said alike: "Ten minutes before … . Twenty before …", "the big one is six inches. And the small
        one, four.", "it's at sixty degrees. It likes seventy."
        """
        if self.whole.place(after.start) - self.whole.place(before.start) != 1:
            return False
        here, first, last = self._around(after)
        there, _, end = self._around(before)
        if first == 0 or (first == 1 and here.low[0] in _LIGHT):
            return here.kind[last] == WORD and here.low[last] == there.low[end]
        if here.kind[last] == WORD and here.low[last] not in ("so", "and", "but"):
            return False
        if here.before(first, 1 + (here.raw[first - 1] == ",")) == "one":
            return "one" in there.low[:end]
        return before.kind.startswith("temperature") and here.before(first) in _WANTING

    # --- words around ------------------------------------------------------------------------------------------------

    def names_it(self, found: Found) -> bool:
        """Return whether the words are part of a name in the catalogue: "the 76 degree"."""
        if not self._names:
            self._names = "\n".join(product.name for product in self._products.values()).lower()
        return self.text(found).lower() in self._names

    def near(self, found: Found, words: frozenset[str]) -> bool:
        """Return whether one of some words is in the sentence of a quantity or the one before."""
        place = self.whole.place(found.start)
        said = " ".join(sentence.text for sentence in self.whole.sentences[max(0, place - 1) : place + 1]).lower()
        return bool(words.intersection(cut(said).low))

    def same_breath(self, before: Found, after: Found) -> bool:
        """Return whether two quantities are in one sentence."""
        return self.whole.place(before.start) == self.whole.place(after.start)

    def goes_on(self, after: Found) -> bool:
        """Return whether a bare number tells another value of the kind before it: "…100 grams, and castor oil, 50"."""
        tokens, first, last = self._around(after)
        if tokens.low[last] in _GOES_ON_WITH and _clause_begins(tokens, first):
            return True
        if (tokens.kind[last] == WORD and tokens.low[last] != "'s") or tokens.low[last] in ("/", "%", ":"):
            return False
        if after.bound:
            return True
        if tokens.before(first) in ("to", "minimum", "maximum", "least", "most"):
            return tokens.before(first) != "to" or tokens.before(first, 2) in ("down", "up", "out")
        return _clause_begins(tokens, first) or tokens.before(first) in ("is", "are", "and")


_GOES_ON_WITH = frozenset("for on at by of if when unless".split())
_LIGHT = frozenset("about and then maybe just or both between somewhere so that's makes around".split())


def _clause_begins(tokens: Tokens, first: int) -> bool:
    """Return whether a number begins a clause, but for words like "about"."""
    while first > 0 and tokens.before(first) in _LIGHT:
        first -= 1
    return first > 0 and tokens.raw[first - 1] in ",;–—"


def is_open_number(whole: Talk, found: Found) -> bool:
    """Return whether a quantity is a bare number that the words after it do not make a count of."""
    if found.kind not in ("number", "number_range") or found.unit or not found.exact:
        return False
    after = cut(whole.text[found.end : found.end + 24])
    if after.low[0] == "of":
        return after.low[1] not in _OF_WHOM or (found.value.denominator > 1 and found.form != "fraction")
    if after.low[0] in _DIMENSIONS:
        return True
    if after.low[0] == "-":
        return False
    return (after.kind[0] != WORD or after.low[0] in _STOP) and after.kind[0] != NUMBER


_OF_WHOM = frozenset("them those these each it the my your our us you that which a an".split())


def _mark(tokens: Tokens, first: int) -> str | None:
    """Return "score line" or "fold line" where the clause says that the length is one."""
    before = tokens.low[max(0, first - 8) : first]
    if _SCORING.intersection(before):
        return "score line"
    return "fold line" if _FOLDING.intersection(before[-4:]) else None


def _after(tokens: Tokens, last: int) -> str | None:
    """Return the noun after a measure: "half inch strip", "400 grams of olive oil", "six inches for the sky"."""
    at = last
    if tokens.low[at] in ("of", "for") or (tokens.low[at] == "from" and tokens.low[at + 1] == "the"):
        at += 1
    elif tokens.kind[at] != WORD or tokens.low[at] in _STOP:
        return None
    at += tokens.low[at] in ("the", "a", "an", "your", "my", "our")
    end = at
    while end - at < 4 and tokens.kind[end] == WORD and tokens.low[end] not in _STOP:
        end += 1
    return " ".join(tokens.raw[at:end]) or None


def _before(tokens: Tokens, first: int) -> str | None:
    """Return the subject before a measure: "the borders are two inches", "olive oil, the pomace, 400 grams"."""
    at = first
    if tokens.before(first) == "of":
        return " ".join(tokens.raw[_phrase_start(tokens, first - 1) : first - 1]) or None
    while at > 0 and tokens.low[at - 1] in _LEADING:
        at -= 1
    spoken_of = at < first and tokens.low[at] in _IS
    while at > 1 and tokens.raw[at - 1] == ",":
        start = _phrase_start(tokens, at - 1)
        if start == at - 1:
            return None
        begins = start == 0 or tokens.raw[start - 1] == "," or tokens.low[start - 1] in ("and", "the", "your", "a")
        if start > 1 and tokens.low[start - 1] in ("the", "a") and tokens.raw[start - 2] == ",":
            at = start - 1
            continue
        return " ".join(tokens.raw[start : at - 1]) if begins else None
    start = _phrase_start(tokens, at)
    known = start == 0 or tokens.low[start - 1] in _DETERMINERS or (spoken_of and tokens.low[start - 1] in ("and", ","))
    name = " ".join(tokens.raw[start:at])
    return name.removesuffix("'s") if known and name and (spoken_of or name.endswith("'s")) else None


def _phrase_start(tokens: Tokens, end: int) -> int:
    start = end
    while start > 0 and end - start < 4 and tokens.kind[start - 1] == WORD and tokens.low[start - 1] not in _STOP:
        if (tokens.starts_number(start - 1) and tokens.low[start - 1] != "one") or units.table().longest.get(
            tokens.low[start - 1]
        ):
            break
        start -= 1
    return start
