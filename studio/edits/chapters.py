"""A person's chapters laid over the chapters that were found: moved, renamed, joined to the one before, split."""

from collections.abc import Sequence

from studio.edits.kinds import ChapterMerged, ChapterMoved, ChapterRenamed, ChapterSplit
from studio.model import Chapter

NEAR_MS = 5000
"""A boundary this near is the one that was meant, found again by another run."""
OfChapter = ChapterMoved | ChapterRenamed | ChapterMerged | ChapterSplit


def over_chapters(result: Sequence[Chapter], edits: Sequence[OfChapter]) -> tuple[Chapter, ...]:
    """Return the chapters as decided.

    A boundary that a new run does not find is put back; the first stays at 0; none is moved over another.
    """
    found = list(result) or [Chapter(start_ms=0, title="Start")]
    for edit in edits:
        place = _near(found, edit.start_ms)
        if isinstance(edit, ChapterMerged):
            found = [one for at, one in enumerate(found) if at != place or at == 0]
        elif isinstance(edit, ChapterMoved):
            found = _moved(found, place, edit)
        else:
            found = _named(found, place, edit)
    return tuple(found)


def _near(found: Sequence[Chapter], start_ms: int) -> int | None:
    place = min(range(len(found)), key=lambda at: abs(found[at].start_ms - start_ms))
    return place if abs(found[place].start_ms - start_ms) <= NEAR_MS else None


def _moved(found: list[Chapter], place: int | None, edit: ChapterMoved) -> list[Chapter]:
    taken = any(one.start_ms == edit.to_ms for at, one in enumerate(found) if at != place)
    if place == 0 or taken:
        return found
    title = found[place].title if place is not None else edit.title
    rest = [one for at, one in enumerate(found) if at != place]
    return _sorted([*rest, Chapter(start_ms=edit.to_ms, title=title)])


def _named(found: list[Chapter], place: int | None, edit: ChapterRenamed | ChapterSplit) -> list[Chapter]:
    at_once = place is not None and (isinstance(edit, ChapterRenamed) or found[place].start_ms == edit.start_ms)
    if at_once and place is not None:
        found[place] = found[place].but(title=edit.title or found[place].title)
        return found
    return _sorted([*found, Chapter(start_ms=edit.start_ms, title=edit.title or "New part")])


def _sorted(found: list[Chapter]) -> list[Chapter]:
    return sorted(found, key=lambda chapter: chapter.start_ms)
