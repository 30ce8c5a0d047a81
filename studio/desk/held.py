"""A folio as the page sees it: the document on disk, with the decisions that no run has reached yet laid over it."""

from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from threading import Lock
from typing import Any

from studio import asked, catalogue, edits, folio, redraw, stored, swap
from studio.desk.shelf import NotHere
from studio.edits import Edit, Edits, SetAside, kinds
from studio.errors import BonefolderError, FolioDamaged
from studio.model import Catalogue, Document
from studio.settings import Settings

STEPS_BACK = 30
"""So many decisions can be taken back at once; more than that waits for the run that follows."""
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
    products: Catalogue = field(default_factory=Catalogue)
    settings: Settings = field(default_factory=Settings)
    source: Path | None = None
    problem: str = ""
    before: dict[str, Document] = field(default_factory=dict)

    @property
    def fresh(self) -> bool:
        """Whether the files hold everything that was decided."""
        return self.reached == self.decided.version and not swap.unfinished(self.folder)

    @property
    def day(self) -> date | None:
        """The day for which availability is told."""
        return self.settings.publishing.publish_on or self.document.recording.recorded_on


class Holder:
    """The folios that were opened, each read once and again when it has changed on disk."""

    def __init__(self) -> None:
        self._held: dict[Path, Held] = {}
        self._catalogues: dict[tuple[Path, int, int], Catalogue] = {}
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
                self._lay(held, edit)
            return written, not clash

    def _lay(self, held: Held, edit: Edit) -> None:
        if isinstance(edit, kinds.Undo):
            self._take_back(held, edit.target)
            return
        held.before[edit.id] = held.document
        for old in list(held.before)[:-STEPS_BACK]:
            del held.before[old]
        held.document = redraw.with_decision(held.document, held.products, edit, held.day)

    def _take_back(self, held: Held, target: str) -> None:
        """Go back to before a decision, and lay the later ones over again; without that state, a run will do it."""
        base = held.before.pop(target, None)
        if base is None:
            return
        held.document = base
        places = [edit.id for edit in held.decided.made]
        for later in held.decided.in_force:
            if places.index(later.id) > places.index(target):
                self._lay(held, later)

    def _read(self, folder: Path) -> Held:
        stamps = _stamps(folder)
        document = folio.read(folder)
        decided = edits.load(folder / "edits.jsonl")
        reached = _reached(folder)
        held = Held(folder, document, stamps, decided, reached)
        try:
            request = asked.again(folder)
            held.settings, held.source = request.settings, request.source
            if request.catalogue:
                held.products = self._catalogue(request.catalogue, request.settings)
        except BonefolderError as error:
            held.problem = str(error)
        held.problem = " ".join(filter(None, (stored.told_of(document), held.problem)))
        pending = {edit.id for edit in decided.since(reached) or ()}
        for edit in decided.in_force:
            if edit.id in pending:
                self._lay(held, edit)
        return held

    def _catalogue(self, path: Path, settings: Settings) -> Catalogue:
        facts = path.stat() if path.exists() else None
        key = (path, facts.st_mtime_ns if facts else 0, facts.st_size if facts else 0)
        if key not in self._catalogues:
            self._catalogues = {key: catalogue.load(path, settings.catalogue)}
        return self._catalogues[key]


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
