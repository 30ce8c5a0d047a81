"""The kinds of decision a person can make, each anchored to a time and the words heard there, never to a list place."""

import re
import secrets
from datetime import UTC, date, datetime
from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from studio.model import Cut, Exact, Finding, Money, Ms, OfferKind, Part, Span

NEAR_MS = 1500
"""The same words within this time of the anchor are the same moment, heard by another recogniser."""


class Anchor(Span):
    """A moment of the recording: when, and what was heard there."""

    heard: str = ""

    def fit(self, other: Span, heard: str) -> float:
        """Return how well another moment fits this one: 0 not at all, more is better."""
        shared = min(self.end_ms, other.end_ms) - max(self.start_ms, other.start_ms)
        shorter = max(1, min(self.end_ms - self.start_ms, other.end_ms - other.start_ms))
        alike = plain_words(self.heard) == plain_words(heard)
        if shared * 2 >= shorter or (alike and shared >= -NEAR_MS):
            return 1 + max(0, shared) / shorter + (1 if alike else 0)
        return 0.0


def plain_words(text: str) -> str:
    """Return a text without case, marks and the article in front, for comparing."""
    words = re.findall(r"[\w½¼¾⅛⅜⅝⅞]+", text.casefold())
    return " ".join(words[1:] if len(words) > 1 and words[0] in {"a", "an", "the", "this", "that"} else words)


class Decision(Part):
    """What every decision holds."""

    id: str = Field(default_factory=lambda: secrets.token_hex(6))
    made_at: str = Field(default_factory=lambda: datetime.now(UTC).isoformat(timespec="seconds"))
    """When it was made, ISO 8601 in UTC."""

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides; two decisions about the same thing compete, and the later one stands."""
        return ("", self.id)


class Undo(Decision):
    """An earlier decision taken back; an undo that is itself undone brings it back."""

    kind: Literal["undo"] = "undo"
    target: str
    """The id of the decision."""

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("undo", self.target)


class _Anchored(Decision):
    anchor: Anchor

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        group = str(getattr(self, "kind", "")).split("_")[0]
        return (group, str(self.anchor.start_ms), plain_words(self.anchor.heard))


class MentionDecided(_Anchored):
    """Which row of the catalogue was meant, or that none was, or that the thing was only talked of."""

    kind: Literal["mention_decided"] = "mention_decided"
    choice: Literal["code", "none", "not_shown"]
    code: str | None = None
    role: Literal["shown", "mentioned", "rejected", "gift"] | None = None
    """How it was spoken of, where the person says so; else as it was found."""
    everywhere: bool = False
    """It holds for every time in this recording that the same words were unsure."""
    always: bool = False
    """These words always mean this row: in this recording, and in the next."""


class WordCorrected(_Anchored):
    """A word, or a few, that were misheard; empty `shown` takes them out."""

    kind: Literal["word_corrected"] = "word_corrected"
    shown: str = Field(max_length=200)
    everywhere: bool = False


class MeasureSet(_Anchored):
    """What a size or an amount really is."""

    kind: Literal["measure_set"] = "measure_set"
    values: tuple[Exact, ...] = ()
    unit: str = Field("", max_length=40)
    quantity: int | None = Field(None, ge=1)
    of: str | None = Field(None, max_length=200)
    removed: bool = False
    """It is no measure at all."""


class OfferSet(_Anchored):
    """What an offer really is; an empty field is no part of it."""

    kind: Literal["offer_set"] = "offer_set"
    offer: OfferKind
    threshold: Money | None = None
    percent: Exact | None = None
    currency: str = Field("", max_length=3)
    promo_code: str | None = Field(None, max_length=60)
    reward_code: str | None = None
    starts_on: date | None = None
    ends_on: date | None = None
    removed: bool = False
    """It is no offer."""


class SupplySet(Decision):
    """How many of an item, and in which colour; or that it does not belong on the list."""

    kind: Literal["supply_set"] = "supply_set"
    item: str
    """The catalogue code, or the name of a thing without one."""
    quantity: int | None = Field(None, ge=1, le=100_000)
    colour: str | None = Field(None, max_length=100)
    removed: bool = False
    """It is not on the list, whatever was shown."""

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("supply", self.item)


class SuppliesOrdered(Decision):
    """The order of the supply list."""

    kind: Literal["supplies_ordered"] = "supplies_ordered"
    items: tuple[str, ...]

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("order",)


class StillSwapped(Decision):
    """Another of the pictures chosen for a subject, or one taken off."""

    kind: Literal["still_swapped"] = "still_swapped"
    subject: str
    file: str
    """Path of the picture inside the folio."""

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("still", self.subject)


class _OfChapter(Decision):
    start_ms: Ms
    title: str = Field("", max_length=200)
    """The title it had, or for a new name the title it gets."""

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("chapter", str(self.start_ms))


class ChapterMoved(_OfChapter):
    """A chapter that begins at another time."""

    kind: Literal["chapter_moved"] = "chapter_moved"
    to_ms: Ms


class ChapterRenamed(_OfChapter):
    """A chapter with another title."""

    kind: Literal["chapter_renamed"] = "chapter_renamed"


class ChapterMerged(_OfChapter):
    """A chapter that is part of the one before."""

    kind: Literal["chapter_merged"] = "chapter_merged"


class ChapterSplit(_OfChapter):
    """A new chapter that begins here."""

    kind: Literal["chapter_split"] = "chapter_split"


class ChaptersCounted(Decision):
    """How many chapters there are to be; none leaves it to the program."""

    kind: Literal["chapters_counted"] = "chapters_counted"
    count: int | None = Field(None, ge=1, le=200)

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("count",)


class CutSet(Decision):
    """A line of the cutting list changed (`was` and `now`), added (`now` alone) or taken off (`was` alone)."""

    kind: Literal["cut_set"] = "cut_set"
    was: Cut | None = None
    now: Cut | None = None

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("cut", *(cut_key(self.was) if self.was else (self.id,)))


def cut_key(cut: Cut) -> tuple[str, ...]:
    """Return what tells one line of a cutting list from another."""
    return (plain_words(cut.material), str(cut.width), str(cut.height), cut.unit)


class CautionRemoved(Decision):
    """A caution that is not needed here."""

    kind: Literal["caution_removed"] = "caution_removed"
    hazard: str

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("caution", self.hazard)


class CautionAdded(Decision):
    """A caution in the person's own words."""

    kind: Literal["caution_added"] = "caution_added"
    line: str = Field(min_length=1, max_length=500)
    at_ms: Ms = 0


class PutBack(_Anchored):
    """A stretch of talk that belongs in the post although the rules of writing leave it out."""

    kind: Literal["sentence_put_back"] = "sentence_put_back"


class Struck(_Anchored):
    """A stretch of talk that does not belong in the post."""

    kind: Literal["sentence_struck"] = "sentence_struck"


class FindingSettled(Decision):
    """Something to look at that was looked at."""

    kind: Literal["finding_settled"] = "finding_settled"
    finding: str
    """The kind of the finding."""
    start_ms: Ms
    heard: str = ""
    code: str | None = None
    answer: str = Field("", max_length=500)

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("finding", self.finding, str(self.start_ms), plain_words(self.heard))

    def fits(self, finding: Finding) -> bool:
        """Return whether this is about a finding: its kind, with the same words or code, or the same time."""
        if finding.kind != self.finding:
            return False
        near = abs(finding.start_ms - self.start_ms) <= NEAR_MS
        said = bool(self.heard) and plain_words(finding.heard) == plain_words(self.heard)
        return (near and (said or not self.heard)) or (said and finding.code == self.code and near)


class RecordedOn(Decision):
    """The day of the recording."""

    kind: Literal["recorded_on"] = "recorded_on"
    day: date

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("day",)


class PublishAnyway(Decision):
    """The person's word that it may be published although something is open."""

    kind: Literal["publish_anyway"] = "publish_anyway"
    name: str = Field(min_length=1, max_length=100)
    reason: str = Field(min_length=1, max_length=500)
    open: tuple[str, ...] = ()
    """What was open then; anything that opens later is not covered."""

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("publish",)


class DamageSeen(Decision):
    """Lines of the file of decisions that cannot be read, and that the person has looked at."""

    kind: Literal["damage_seen"] = "damage_seen"
    lines: tuple[Annotated[str, Field(max_length=8)], ...]
    """The CRC-32 of each."""

    @property
    def about(self) -> tuple[str, ...]:
        """What it decides."""
        return ("damage",)


Plain = Annotated[
    MentionDecided | WordCorrected | MeasureSet | OfferSet | SupplySet | SuppliesOrdered | StillSwapped | ChapterMoved
    | ChapterRenamed | ChapterMerged | ChapterSplit | ChaptersCounted | CutSet | CautionRemoved | CautionAdded | PutBack
    | Struck | FindingSettled | RecordedOn | PublishAnyway | DamageSeen | Undo,
    Field(discriminator="kind"),
]  # fmt: skip


class SetAside(Decision):
    """A decision that came too late: the same thing had been decided elsewhere; kept, without effect until taken."""

    kind: Literal["set_aside"] = "set_aside"
    decision: Plain


Edit = Annotated[Plain | SetAside, Field(discriminator="kind")]
EDIT: TypeAdapter[Edit] = TypeAdapter(Edit)
