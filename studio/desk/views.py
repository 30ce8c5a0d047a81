"""A folio as JSON for the page: what is asked, what is on the table, what can be taken away; ids in place of paths."""

import hashlib
from collections.abc import Sequence

from studio import questions, swap, timecode
from studio.desk.held import Held, words_of
from studio.desk.told import (
    DecisionTold,
    Dumped,
    FileTold,
    GateTold,
    ItemTold,
    LastTold,
    LeftOutTold,
    MentionTold,
    MomentTold,
    ProductTold,
    QuestionTold,
    SentenceTold,
    WholeTold,
    WordTold,
)
from studio.edits import Undo, kinds
from studio.lookup import Item, Moment
from studio.model import Document, Measure, Mention, Product, Sentence, Still, Supply
from studio.quantity import show
from studio.questions import Question
from studio.settled import waiting
from studio.writing.draft import draft

_TOLD_OF = {
    "post.html": "The post, as a web page", "post.md": "The post, as Markdown",
    "description.txt": "The description under the video", "newsletter.txt": "The newsletter",
    "social.txt": "Short posts", "chapters.txt": "The chapters, to paste", "captions.vtt": "Captions (WebVTT)",
    "captions.srt": "Captions (SubRip)", "supplies.csv": "The supply list, for a spreadsheet",
    "cutting.csv": "The cutting list, for a spreadsheet", "report.html": "The report: what to look at",
    "transcript.html": "The transcript, as a web page", "metadata.jsonld": "Linked data for the web page",
    "chapters.vtt": "Chapters (WebVTT)", "chapters.json": "Chapters (JSON)", "folio.json": "Everything, for programs",
}  # fmt: skip
SHOWN_FIRST = tuple(_TOLD_OF)


def picture_id(file: str) -> str:
    """Return the id by which the page asks for a picture."""
    return hashlib.sha256(file.encode()).hexdigest()[:16]


def picture_files(document: Document) -> dict[str, str]:
    """Return the pictures of a document: id -> path inside the folio."""
    files = (file for still in document.stills for file in (still.file, *still.others))
    return {picture_id(file): file for file in files}


def whole(held: Held) -> WholeTold:
    """Return everything about a folio but the talk."""
    document = held.document
    asked = questions.questions(document, held.products)
    return {
        "version": held.decided.version,
        "fresh": held.fresh,
        "damage": held.decided.damage,
        "lost": held.decided.lost,
        "last": _last(held),
        "problem": held.problem,
        "source": document.recording.source,
        "duration_ms": document.recording.duration_ms,
        "has_picture": document.recording.has_picture,
        "has_sound": document.recording.has_sound,
        "recorded_on": document.recording.recorded_on.isoformat() if document.recording.recorded_on else None,
        "recogniser": document.transcript.recogniser,
        "questions": [_question(one, document) for one in asked],
        "chapters": [chapter.model_dump() for chapter in document.chapters],
        "supplies": [_supply(row, document) for row in document.supplies],
        "measures": [_measure(one) for one in document.measures],
        "cuts": [one.model_dump(mode="json") for one in document.cuts],
        "offers": [one.model_dump(mode="json") for one in document.offers],
        "cautions": [one.model_dump(mode="json") for one in document.cautions],
        "notes": [one.model_dump(mode="json") for one in document.findings if one.severity == "note"],
        "mentions": [_mention(one) for one in document.mentions if one.role != "rejected"],
        "put_back": [(one.start_ms, one.end_ms) for one in document.put_back],
        "struck": [(one.start_ms, one.end_ms) for one in document.struck],
        "gate": gate_told(held, asked),
    }  # fmt: skip


def _last(held: Held) -> LastTold | None:
    """Return what would be taken back first."""
    last = held.decided.in_force[-1:]
    return {"id": last[0].id, "words": words_of(last[0])} if last else None


def gate_told(held: Held, asked: Sequence[Question]) -> GateTold:
    """Return what still blocks publishing, and the person's word that it may be published anyway."""
    open_ = questions.open_keys(asked)
    words = [edit for edit in held.decided.in_force if isinstance(edit, kinds.PublishAnyway)]
    word = words[-1] if words else None
    covered = word is not None and set(open_) <= set(word.open)
    told: WordTold | None = (
        {"id": word.id, "name": word.name, "reason": word.reason, "made_at": word.made_at} if word else None
    )
    return {
        "open": list(open_),
        "word": told,
        "covered": covered,
        "waiting": waiting(held.document),
        "free": not open_ or covered,
    }


def sentences_told(document: Document) -> list[SentenceTold]:
    """Return the sentences, each as its start, its end, its text, the starts of its words and their ends."""
    return [_sentence(one) for one in document.sentences]


def _sentence(sentence: Sentence) -> SentenceTold:
    starts = [word.start_ms for word in sentence.words]
    ends = [word.end_ms for word in sentence.words]
    return sentence.start_ms, sentence.end_ms, sentence.text, starts, ends


def left_out_told(held: Held) -> list[LeftOutTold]:
    """Return what was said and is not in the post, and why."""
    made = draft(held.document, held.products, held.settings.publishing.keep_names)
    return [
        {"text": one.text, "reason": one.reason, "start_ms": one.start_ms, "end_ms": one.end_ms}
        for one in made.left_out
    ]


def decisions_told(held: Held) -> list[DecisionTold]:
    """Return every decision, the latest first, with whether it stands."""
    standing = {edit.id for edit in held.decided.in_force}
    return [
        {
            "id": edit.id, "kind": edit.kind, "made_at": edit.made_at, "words": words_of(edit),
            "stands": edit.id in standing,
            "aside": edit.decision.model_dump(mode="json") if edit.kind == "set_aside" else None,
        }
        for edit in reversed(held.decided.made)
        if not isinstance(edit, Undo)
    ]  # fmt: skip


def files_told(held: Held) -> list[FileTold]:
    """Return the files that can be taken away, the ones most wanted first."""
    names = sorted(swap.digests(held.folder), key=lambda name: (_place(name), name))
    return [
        {"name": name, "told": _TOLD_OF.get(name, ""), "size": (held.folder / name).stat().st_size}
        for name in names
        if (held.folder / name).is_file()
    ]


def _place(name: str) -> int:
    return SHOWN_FIRST.index(name) if name in SHOWN_FIRST else len(SHOWN_FIRST)


def product(row: Product, document: Document) -> ProductTold:
    """Return a row of the catalogue as a choice."""
    still = _still_of(row.code, document.stills)
    price = f"{row.price} {row.currency}".strip() if row.price is not None else ""
    return {
        "code": row.code, "name": row.name, "kind": row.kind, "colour": row.colour, "size": row.size, "page": row.page,
        "price": price, "url": row.url, "picture": picture_id(still.file) if still else None,
    }  # fmt: skip


def moment(found: Moment, document: Document) -> MomentTold:
    """Return a moment as the answer to a question."""
    return {
        "at_ms": found.at_ms, "at": timecode.clock(found.at_ms), "chapter": found.chapter, "said": found.said,
        "items": [_item(item, document) for item in found.items],
        "measures": [{"heard": one.heard, "metric": one.metric, "imperial": one.imperial} for one in found.measures],
    }  # fmt: skip


def _item(item: Item, document: Document) -> ItemTold:
    row = _supply(item.row, document) if item.row else None
    return {"at_ms": item.at_ms, "heard": item.heard, "row": row, "maybe": list(item.maybe)}


def _question(one: Question, document: Document) -> QuestionTold:
    nearest = min(document.stills, key=lambda still: abs(still.at_ms - one.anchor.start_ms), default=None)
    return {
        "key": one.key, "about": one.about, "severity": one.severity, "text": one.text, "times": one.times,
        "anchor": one.anchor.model_dump(), "at": timecode.clock(one.anchor.start_ms),
        "choices": [product(row, document) for row in one.choices],
        "thing": one.thing.model_dump(mode="json") if one.thing else None,
        "said": _said(document.sentences, one.anchor.start_ms),
        "picture": picture_id(nearest.file) if nearest else None,
    }  # fmt: skip


def _said(sentences: Sequence[Sentence], at_ms: int) -> str:
    return next((one.text for one in reversed(sentences) if one.start_ms <= at_ms), "")


def _supply(row: Supply, document: Document) -> Dumped:
    still = _still_of(row.code or row.name, document.stills)
    others = [still.file, *still.others] if still else []
    told = row.model_dump(mode="json", exclude={"still", "mention_ids"})
    return {
        **told, "item": row.code or row.name, "at": timecode.clock(row.first_shown_ms),
        "subject": still.subject if still else None,
        "picture": picture_id(row.still or still.file) if still else None,
        "pictures": [{"id": picture_id(file), "file": file} for file in others],
    }  # fmt: skip


def _measure(one: Measure) -> Dumped:
    return {**one.model_dump(mode="json"), "shown": show(one.values, one.unit, one.dimension)}


def _mention(one: Mention) -> MentionTold:
    return one.start_ms, one.end_ms, one.heard, one.code, one.role, one.state


def _still_of(subject: str, stills: Sequence[Still]) -> Still | None:
    return next((still for still in stills if still.subject == subject), None)
