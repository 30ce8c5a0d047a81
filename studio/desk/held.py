"""A folio as the page sees it: the results of the last run, and what follows from each decision since, in memory."""

from dataclasses import dataclass, field, replace
from pathlib import Path
from threading import Lock
from typing import Any

from studio import asked, edits, folio, pipeline, stored, swap
from studio.desk.shelf import NotHere
from studio.edits import Edit, Edits, SetAside, kinds
from studio.errors import BonefolderError, FolioDamaged
from studio.model import Catalogue, Document
from studio.settings import Settings
from studio.stage import InMemory, Memory

NOWHERE = Path("unknown recording")
Stamp = tuple[int, int]


@dataclass
class Held:
    """One folio in memory."""

    folder: Path
    document: Document
    stamps: tuple[Stamp, ...]
    """When the files that it was read from were written; see `_stamps`."""
    decided: Edits
    reached: str
    """The version of the decisions that the files were made with."""
    request: pipeline.Request
    """What was asked for; where that is not known, a request of which only the folder is true."""
    products: Catalogue = field(default_factory=Catalogue)
    problem: str = ""
    results: pipeline.Results | None = None
    """What the document is made of; taken away once it was made ready for decisions."""
    desk: InMemory | None = None
    """Where the results are that the document is made of."""
    within: frozenset[str] = frozenset()
    """The decisions that those results hold already, and cannot be parted from."""

    @property
    def fresh(self) -> bool:
        """Whether the files hold everything that was decided."""
        return self.reached == self.decided.version and not swap.unfinished(self.folder)

    @property
    def settings(self) -> Settings:
        """The settings that it was made with."""
        return self.request.settings

    @property
    def source(self) -> Path | None:
        """The recording, where it is known."""
        return None if self.request.source == NOWHERE else self.request.source


class Holder:
    """The folios that were opened, each read once and again when it has changed on disk."""

    def __init__(self) -> None:
        self._held: dict[Path, Held] = {}
        self._memory = Memory()
        self._turn = Lock()

    def get(self, folder: Path) -> Held:
        """Return a folio as it stands.

        Raises:
            NotHere: there is no folio in the folder yet.
            FolioDamaged: it cannot be read.
        """
        if not (folder / "folio.json").is_file():
            raise NotHere(f"{folder.name} has not been made yet.", "Make it on the first page.")
        with self._turn:
            held = self._held.get(folder)
            if held is None or held.stamps != _stamps(folder):
                held = self._held[folder] = self._read(folder)
            return held

    def decide(self, held: Held, edit: Edit, seen: str) -> tuple[Edit, bool]:
        """Take a decision, or set it aside where the same thing was decided since the page was read.

        Args:
            held: the folio.
            edit: the decision.
            seen: the state of the decisions that the page had seen.

        Returns:
            What was written, and whether it stands.

        Raises:
            StorageError: the disk refused.
        """
        path = held.folder / "edits.jsonl"
        with self._turn:
            known = edits.load(path)
            since = known.since(seen)
            rivals = since if since is not None else known.made
            clash = any(other.about == edit.about for other in rivals) and not isinstance(edit, kinds.Undo)
            written: Edit = SetAside(decision=edit) if clash else edit
            alone = known.made == held.decided.made
            held.decided = edits.append(path, written)
            held.stamps = (*held.stamps[:-1], _stamps(held.folder)[-1]) if alone else ()
            if not clash:
                self._lay(held)
            return written, not clash

    def warm(self, held: Held) -> None:
        """Make a folio ready for decisions, so that the first is answered as fast as the next."""
        results, held.results = held.results, None
        if results is not None:
            pipeline.warm(results, held.settings)

    def _lay(self, held: Held) -> None:
        """Run in memory what follows from the decisions, and put the document together."""
        if held.desk is None:
            return
        standing = Edits(tuple(edit for edit in held.decided.in_force if edit.id not in held.within))
        request = replace(folio.decided(held.request, held.decided), decided=standing)
        held.document = folio.finished(pipeline.through(request, held.desk), request)

    def _read(self, folder: Path) -> Held:
        stamps = _stamps(folder)
        document = folio.read(folder)
        decided = edits.load(folder / "edits.jsonl")
        reached = _reached(folder)
        request, problem = _request(folder)
        held = Held(folder, document, stamps, decided, reached, request, problem=problem)
        try:
            self._open(held)
        except BonefolderError as error:  # the catalogue is gone or damaged: the rest can be decided all the same
            held.problem, held.request = str(error), replace(request, catalogue=None)
            self._open(held)
        held.problem = " ".join(filter(None, (stored.told_of(document), held.problem)))
        return held

    def _open(self, held: Held) -> None:
        pending = held.decided.since(held.reached) or ()
        before = Edits(held.decided.made[: len(held.decided.made) - len(pending)])
        opened = pipeline.opened(folio.decided(held.request, before), self._memory, held.document)
        held.results, held.desk = opened
        held.products = held.results.values["catalogue"]
        if held.desk.of_document:
            held.within = frozenset(edit.id for edit in before.made)
            held.request = replace(held.request, trimmed="")
        if pending:
            self._lay(held)


def _request(folder: Path) -> tuple[pipeline.Request, str]:
    """Return what was asked for, and why that is not known."""
    try:
        return asked.again(folder), ""
    except BonefolderError as error:
        return pipeline.Request(NOWHERE, folder), str(error)


def _stamps(folder: Path) -> tuple[Stamp, ...]:
    """Return the time and the size of what a folio is read from, the decisions last; a run replaces the other two."""
    return tuple(_stamp(folder / name) for name in ("folio.json", ".work/manifest.json", "edits.jsonl"))


def _stamp(path: Path) -> Stamp:
    try:
        facts = path.stat()
    except OSError:
        return (0, 0)
    return (facts.st_mtime_ns, facts.st_size)


def _reached(folder: Path) -> str:
    """Return which decisions the files were made with; "0" where that is not known."""
    try:
        return swap.reached(folder) or "0"
    except FolioDamaged:
        return "0"


def words_of(edit: Any) -> str:  # noqa: ANN401  (one of the kinds)
    """Return a decision in words, for the history."""
    if isinstance(edit, SetAside):
        return f"Decided in another window first, so this was set aside: {words_of(edit.decision)}"
    told = {name: value for name, value in edit if value is not None}
    told["heard"] = f"“{edit.anchor.heard}”" if hasattr(edit, "anchor") else ""
    if isinstance(edit, kinds.MentionDecided):
        always = ", always" if edit.always else ""
        told["choice"] = {"code": f"{edit.code}{always}", "none": "none of these", "not_shown": "only talked of"}[
            edit.choice
        ]
    name = f"{edit.kind}_removed" if getattr(edit, "removed", False) else edit.kind
    return _WORDS[name].format_map(_Told(told))


class _Told(dict[str, Any]):
    def __missing__(self, _: str) -> str:
        return "none"


_WORDS = {
    "mention_decided": "{heard} is {choice}",
    "word_corrected": "{heard} is spelt “{shown}”",
    "measure_set": "{heard} has the size you gave",
    "measure_set_removed": "{heard} is no size",
    "offer_set": "{heard} has the terms you gave",
    "offer_set_removed": "{heard} is no offer",
    "supply_set": "{item}: number {quantity}, colour {colour}",
    "supply_set_removed": "{item} is not on the list",
    "supplies_ordered": "The supply list was put in order",
    "still_swapped": "Another picture for {subject}",
    "chapter_moved": "The chapter “{title}” begins elsewhere",
    "chapter_renamed": "A chapter is called “{title}”",
    "chapter_merged": "The chapter “{title}” was joined to the one before",
    "chapter_split": "A new chapter “{title}”",
    "chapters_counted": "Number of chapters: {count}",
    "cut_set": "The cutting list was changed",
    "caution_removed": "A caution was taken off: {hazard}",
    "caution_added": "A caution was added: {line}",
    "sentence_put_back": "Put back into the post: {heard}",
    "sentence_struck": "Left out of the post: {heard}",
    "finding_settled": "Looked at: {heard}",
    "recorded_on": "Recorded on {day}",
    "damage_seen": "Looked at what was damaged among your decisions",
    "publish_anyway": "{name} will publish although something is open: {reason}",
    "undo": "Taken back",
}
