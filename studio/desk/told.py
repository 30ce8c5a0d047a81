"""What the page is told, as it stands in JSON: the shape of each answer about a folio."""

from collections.abc import Mapping, Sequence
from typing import TypedDict

Dumped = Mapping[str, object]
"""A part of the document as it dumps itself."""
Span = tuple[int, int]


class LastTold(TypedDict):
    """The decision that would be taken back first."""

    id: str
    words: str


class WordTold(TypedDict):
    """Somebody's word that it may be published anyway."""

    id: str
    name: str
    reason: str
    made_at: str


class GateTold(TypedDict):
    """What still blocks publishing."""

    open: list[str]
    word: WordTold | None
    covered: bool
    waiting: str
    free: bool


class WholeTold(TypedDict):
    """Everything about a folio but the talk."""

    version: str
    fresh: bool
    damage: str
    lost: Sequence[str]
    last: LastTold | None
    problem: str
    source: str
    duration_ms: int
    has_picture: bool
    has_sound: bool
    recorded_on: str | None
    recogniser: str
    questions: list["QuestionTold"]
    chapters: list[Dumped]
    supplies: list[Dumped]
    measures: list[Dumped]
    cuts: list[Dumped]
    offers: list[Dumped]
    cautions: list[Dumped]
    notes: list[Dumped]
    mentions: list["MentionTold"]
    put_back: list[Span]
    struck: list[Span]
    gate: GateTold


class ProductTold(TypedDict):
    """A row of the catalogue as a choice."""

    code: str
    name: str
    kind: str
    colour: str
    size: str
    page: str
    price: str
    url: str
    picture: str | None


class QuestionTold(TypedDict):
    """A question with what can be answered."""

    key: str
    about: str
    severity: str
    text: str
    times: int
    anchor: Dumped
    at: str
    choices: list[ProductTold]
    thing: Dumped | None
    said: str
    picture: str | None


class LeftOutTold(TypedDict):
    """What was said and is not in the post."""

    text: str
    reason: str
    start_ms: int
    end_ms: int


class DecisionTold(TypedDict):
    """A decision, and whether it stands."""

    id: str
    kind: str
    made_at: str
    words: str
    stands: bool
    aside: Dumped | None


class FileTold(TypedDict):
    """A file that can be taken away."""

    name: str
    told: str
    size: int


class ItemTold(TypedDict):
    """Something on the table."""

    at_ms: int
    heard: str
    row: Dumped | None
    maybe: list[str]


class MeasureTold(TypedDict):
    """A size that was told."""

    heard: str
    metric: str | None
    imperial: str | None


class MomentTold(TypedDict):
    """A moment as the answer to a question."""

    at_ms: int
    at: str
    chapter: str
    said: str
    items: list[ItemTold]
    measures: list[MeasureTold]


SentenceTold = tuple[int, int, str, list[int], list[int]]
"""Start, end, text, the starts of the words and their ends."""
MentionTold = tuple[int, int, str, str | None, str, str]
"""Start, end, the words heard, code, role, state."""
