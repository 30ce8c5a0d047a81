"""What the written pieces may print, as text and numbers: each part has its type, and templates get nothing else."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal


@dataclass(frozen=True)
class Picture:
    """A chosen still with its alternative text."""

    file: str
    alt: str
    at_ms: int
    subject: str
    clock: str
    unsure: bool


@dataclass(frozen=True)
class TextRun:
    """A piece of a sentence, with the address that it leads to or nothing."""

    text: str
    url: str


@dataclass(frozen=True)
class PostSentence:
    """A sentence of the post; the pictures are those that stand below it."""

    text: str
    runs: tuple[TextRun, ...]
    start_ms: int
    codes: tuple[str, ...] = ()
    """The products that are named in it for the first time."""
    stills: tuple[Picture, ...] = ()


Group = tuple[PostSentence, ...]


@dataclass(frozen=True)
class Steps:
    """Numbered steps of some sentences each."""

    steps: tuple[Group, ...]
    first: int = 1
    kind: Literal["steps"] = "steps"

    def each(self, change: Callable[[Group], Group]) -> "Steps":
        """Return the block with every group of its sentences changed."""
        return replace(self, steps=tuple(map(change, self.steps)))


@dataclass(frozen=True)
class Items:
    """A list without numbers."""

    items: Group
    kind: Literal["list"] = "list"

    def each(self, change: Callable[[Group], Group]) -> "Items":
        """Return the block with every group of its sentences changed."""
        return replace(self, items=change(self.items))


@dataclass(frozen=True)
class Paragraph:
    """Sentences that stand together."""

    sentences: Group
    kind: Literal["paragraph"] = "paragraph"

    def each(self, change: Callable[[Group], Group]) -> "Paragraph":
        """Return the block with every group of its sentences changed."""
        return replace(self, sentences=change(self.sentences))


Block = Steps | Items | Paragraph


@dataclass(frozen=True)
class PostSection:
    """One section of the post; the pictures are those at its head."""

    title: str
    clock: str
    start_ms: int
    end_ms: int
    blocks: tuple[Block, ...]
    stills: tuple[Picture, ...]
    is_steps: bool


@dataclass(frozen=True)
class Substitute:
    """What is sold in place of a product that no longer is."""

    name: str
    url: str
    code: str


@dataclass(frozen=True)
class SupplyRow:
    """A row of the supply list."""

    name: str
    code: str = ""
    kind: str = ""
    quantity: str = ""
    colour: str = ""
    page: str = ""
    price: str = ""
    amount: str = ""
    """The price as a plain number."""
    currency: str = ""
    url: str = ""
    shown: str = ""
    shown_ms: int = 0
    availability: str = ""
    note: str = ""
    substitute: Substitute | None = None
    still: str = ""
    unsure: bool = False
    gtin: str = ""


@dataclass(frozen=True)
class SupplyGroup:
    """The rows of one kind; the kind is empty for what no catalogue lists."""

    kind: str
    rows: tuple[SupplyRow, ...]


@dataclass(frozen=True)
class CutRow:
    """A line of the cutting list."""

    material: str
    size: str
    quantity: str
    scores: str
    unsure: bool


@dataclass(frozen=True)
class MeasureRow:
    """A size that was told, in the unit said and in the other one."""

    what: str
    size: str
    other: str
    quantity: str
    shown: str


@dataclass(frozen=True)
class OfferRow:
    """An offer that may be printed, and in words what the supply list earns of it."""

    text: str
    terms: str
    start_ms: int
    kind: str
    earned: str


@dataclass(frozen=True)
class CautionRow:
    """A caution with its source and the times that call for it."""

    hazard: str
    line: str
    source: str
    times: tuple[str, ...]


@dataclass(frozen=True)
class SheetRow:
    """How a line of the cutting list is cut from its sheet, in words."""

    file: str
    """The drawing."""
    title: str
    alt: str
    yield_: str
    sheets: str
    steps: tuple[str, ...]
    note: str
    cost: str


@dataclass(frozen=True)
class ChapterRow:
    """A chapter with its time as it is printed."""

    clock: str
    title: str


@dataclass(frozen=True)
class Promo:
    """The shop's code, and the last day on which it counts."""

    code: str
    until: str


@dataclass(frozen=True)
class ShopFacts:
    """The shop as it is printed."""

    name: str
    url: str
    contact: str
    author: str


@dataclass(frozen=True)
class Reminder:
    """What to think of before publishing, with where that stands."""

    text: str
    source: str
    date: str


@dataclass(frozen=True)
class Facts:
    """Everything settled that a template may print; names in a template are the names here."""

    title: str
    titles: tuple[str, ...]
    slug: str
    shape: Literal["how-to", "show-and-tell"]
    language: str
    date: str
    day: str
    minutes: int
    disclosure: str
    shop: ShopFacts
    promo: Promo | None
    hero: Picture | None
    intro: Group
    offers: tuple[OfferRow, ...]
    supplies: tuple[SupplyRow, ...]
    groups: tuple[SupplyGroup, ...]
    cuts: tuple[CutRow, ...]
    layouts: tuple[SheetRow, ...]
    measures: tuple[MeasureRow, ...]
    sections: tuple[PostSection, ...]
    cost: str
    cautions: tuple[CautionRow, ...]
    deferral: str
    chapters: tuple[ChapterRow, ...]
    price_note: str
    market: str
    catalogue: str
    site_url: str

    @property
    def address(self) -> str:
        """The address that the post will have on the person's own site; empty where no site is set."""
        return f"{self.site_url.rstrip('/')}/{self.slug}/" if self.site_url else ""

    @property
    def kinds(self) -> list[str]:
        """The kinds of the supplies, in order of the alphabet."""
        return sorted({row.kind for row in self.supplies if row.kind})
