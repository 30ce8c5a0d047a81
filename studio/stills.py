"""Pictures chosen from the recording: the best frame of each item shown, of each chapter, and one for the whole."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from statistics import median

from studio import cache, media
from studio.errors import RecordingError
from studio.model import Chapter, Finding, Recording, State, Still, Supply
from studio.still_memory import Shots, StillMemory
from studio.text import slug

VERSION = 1
RATE = 4
"""Frames a second that are looked at."""
KEPT = 5
"""Candidates kept for each subject: the chosen one and four to swap it for."""
APART_MS = 750
"""Two candidates are at least this far apart, where the stretch is long enough."""
LEAD_MS = 500
LONGEST_MS = 5000
SHORTEST_MS = 3000
"""An item is looked for from a little before its name is said until the next one's, within these lengths."""
EARLY, LATE = 0.8, 0.6
"""What a frame before the name is said, and one `LONGEST_MS` after it, count against one soon after it."""
SOON_MS = 3000
ABSENT = 0.35
"""What a frame that looks as before the name counts, where something new comes into the picture soon after it."""
ARRIVAL = 2.0
"""Difference from which something new has come into the picture; an unsteady camera alone makes less (0 to 255)."""
BLURRED = 0.6
"""Sharpness below this part of the stretch's own best is a frame out of focus or shaken."""
WEAK = 20.0
"""Sharpness below this is weak in any picture: even print on the table is gone (measured, see the tests)."""
WEAK_PART = 0.25
"""So is one below this part of the recording's usual chosen frame."""
DARK = 0.25
"""Exposure below this is too dark or burnt out to be shown unasked."""
ALIKE = 2.0
"""Frames with less difference than this show the same scene (0 to 255)."""


@dataclass(frozen=True)
class Lookout:
    """A subject and where to look for it."""

    subject: str
    start_ms: int
    end_ms: int
    from_ms: int
    """From here on it is sure to be there."""


@dataclass(frozen=True)
class Seen:
    """A frame that was looked at: its number in the stretch, its time, its figures, and how good it is, 0 to 1."""

    number: int
    at_ms: int
    figures: media.Figures
    worth: float


def stills(
    path: Path, supplies: Sequence[Supply], chapters: Sequence[Chapter], recording: Recording, folder: Path
) -> tuple[Still, ...]:
    """Choose the pictures and write them as `stills/NAME.jpg`; a recording without a picture gives none.

    Args:
        path: the recording.
        supplies: the items shown.
        chapters: where the subjects begin.
        recording: what the file holds.
        folder: where the folder `stills` is made.

    A stretch that cannot be decoded has no picture.

    Raises:
        StorageError: the disk refused.
    """
    if not recording.has_picture:
        return ()
    made: list[Still] = []
    taken: list[media.Figures] = []
    memory = StillMemory(path, folder, VERSION)
    for stretch in lookouts(supplies, chapters, recording.duration_ms):
        try:
            seen = _ranked(path, stretch, taken, memory)
            still = _written(path, stretch, seen, folder, memory)
        except RecordingError:  # this stretch is damaged; the others may not be
            continue
        if still:
            taken.append(next(one.figures for one in seen if one.at_ms == still.at_ms))
            made.append(still)
    memory.close()
    usual = median(one.sharpness for one in taken) if taken else 0.0
    return tuple(still.but(state=_state(one, usual)) for still, one in zip(made, taken, strict=True))


def weak_stills(pictures: Sequence[Still], supplies: Sequence[Supply]) -> tuple[Finding, ...]:
    """Return a question for each moment whose picture is weak: may it be shown, or is another one better.

    Args:
        pictures: the chosen ones.
        supplies: the items shown, for their names.
    """
    names = {row.code: row.name for row in supplies if row.code}
    weak: dict[int, list[str]] = {}
    for still in pictures:
        if still.state == "ask":
            weak.setdefault(still.at_ms, []).append(still.subject)
    return tuple(
        Finding(
            kind="weak_still",
            severity="ask",
            message=f"The picture of {' and '.join(_called(one, names) for one in subjects)} is weak: not sharp, or "
            "too dark. Take another one, or say that it may stay.",
            start_ms=at_ms,
            code=next((one for one in subjects if one in names), None),
        )
        for at_ms, subjects in sorted(weak.items())
    )


def _called(subject: str, names: Mapping[str, str]) -> str:
    """Return in words what a picture is of."""
    part = f"chapter {subject.removeprefix('step-')}" if subject.startswith("step-") else "the finished thing"
    return names.get(subject, part)


# --- where to look ---------------------------------------------------------------------------------------------------


def lookouts(supplies: Sequence[Supply], chapters: Sequence[Chapter], duration_ms: int) -> tuple[Lookout, ...]:
    """Return where to look for each item of the catalogue, for each chapter, and for the picture of the whole."""
    rows = sorted(supplies, key=lambda row: row.first_shown_ms)
    nexts = [*(row.first_shown_ms for row in rows[1:]), duration_ms]
    items = [_item(row, end, duration_ms) for row, end in zip(rows, nexts, strict=False) if row.code]
    ends = [*(chapter.start_ms for chapter in chapters[1:]), duration_ms]
    parts = [_step(number, chapter, end) for number, (chapter, end) in enumerate(zip(chapters, ends, strict=False), 1)]
    return (*items, *(part for part in parts if part.end_ms > part.start_ms), _hero(chapters, duration_ms))


def _item(row: Supply, next_ms: int, duration_ms: int) -> Lookout:
    at = min(row.first_shown_ms, max(0, duration_ms - SHORTEST_MS))
    end = min(at + LONGEST_MS, max(next_ms, at + SHORTEST_MS), duration_ms)
    return Lookout(row.code or "", max(0, at - LEAD_MS), end, at)


def _step(number: int, chapter: Chapter, end_ms: int) -> Lookout:
    """The last part of a chapter, where what was done can be seen."""
    end = max(chapter.start_ms, end_ms - LEAD_MS)
    start = max(chapter.start_ms, end - LONGEST_MS)
    return Lookout(f"step-{number}", start, end, start)


def _hero(chapters: Sequence[Chapter], duration_ms: int) -> Lookout:
    """The finished thing is seen at the end: before the last chapter ends, or at least in the last seconds."""
    last = chapters[-1].start_ms if len(chapters) > 1 else duration_ms
    end = min(duration_ms, last + SHORTEST_MS)
    start = max(0, end - LONGEST_MS)
    return Lookout("hero", start, end, start)


# --- which frame -----------------------------------------------------------------------------------------------------


def _ranked(path: Path, stretch: Lookout, taken: Sequence[media.Figures], memory: StillMemory) -> list[Seen]:
    """Return the candidates, best first."""
    look = partial(_look, path, stretch)
    seen = judged(*memory.looked(stretch.start_ms, stretch.end_ms, look), stretch.from_ms)
    best: list[Seen] = []
    for one in sorted(seen, key=lambda one: -one.worth * _newness(one.figures, taken)):
        if len(best) < KEPT and all(abs(one.at_ms - other.at_ms) >= APART_MS for other in best):
            best.append(one)
    return best


def _look(path: Path, stretch: Lookout) -> Shots:
    shots = media.moments(path, stretch.start_ms, stretch.end_ms, rate=RATE)
    return [shot.at_ms for shot in shots], media.figures(shots)


def judged(times: Sequence[int], found: Sequence[media.Figures], from_ms: int) -> list[Seen]:
    """Return the frames of one stretch with their worth: sharp, still, well lit, and with the thing in the picture.

    Sharpness compares frames of one scene only, so it is taken as a part of the stretch's best. A frame is still when
    it is like the one before and the one after.

    Args:
        times: when each frame is shown, in milliseconds.
        found: the figures of each.
        from_ms: when the thing is named; the stretch begins a little before, or at that moment.
    """
    sharpest = max((one.sharpness for one in found), default=0.0) or 1.0
    after = [*(one.motion for one in found[1:]), 0.0]
    arrived = _arrived(found) if times and times[0] < from_ms else [1.0] * len(found)
    out = []
    for number, (at, one) in enumerate(zip(times, found, strict=True)):
        part = one.sharpness / sharpest
        crisp = min(1.0, part / BLURRED) ** 3 * (0.5 + 0.5 * part)
        calm = 1 / (1 + max(one.motion, after[number]) / 3)
        worth = crisp * calm * one.exposure**0.5 * arrived[number] * _timely(at - from_ms)
        out.append(Seen(number, at, one, worth))
    return out


def _arrived(found: Sequence[media.Figures]) -> list[float]:
    """Return how far each frame shows what came into the picture after the first."""
    changes = [media.difference(one, found[0]) for one in found]
    calm = [change for change, one in zip(changes, found, strict=True) if one.motion < ARRIVAL]
    most = max(calm, default=0.0)
    if most < ARRIVAL:
        return [1.0] * len(found)
    return [ABSENT + (1 - ABSENT) * min(1.0, 2 * change / most) for change in changes]


def _timely(after_ms: int) -> float:
    if after_ms < 0:
        return EARLY
    return 1 - (1 - LATE) * max(0, after_ms - SOON_MS) / (LONGEST_MS - SOON_MS)


def _newness(one: media.Figures, taken: Iterable[media.Figures]) -> float:
    """Return less than 1 for a scene that another subject has already."""
    return 0.8 if any(media.difference(one, other) < ALIKE for other in taken) else 1.0


def _state(one: media.Figures, usual: float) -> State:
    weak = one.sharpness < WEAK or one.sharpness < WEAK_PART * usual or one.exposure < DARK
    return "ask" if weak else "confirmed"


# --- the files -------------------------------------------------------------------------------------------------------


def _written(path: Path, stretch: Lookout, seen: Sequence[Seen], folder: Path, memory: StillMemory) -> Still | None:
    """Write the candidates under names that hold their times, so that one means the same picture after any run."""
    named = {f"stills/{_name(stretch.subject)}-{one.at_ms}.jpg": one for one in seen}
    missing = [one.number for name, one in named.items() if not memory.written(name, stretch.start_ms)]
    by_time = {frame.at_ms: frame for frame in media.frames_by_number(path, stretch.start_ms, missing, rate=RATE)}
    names = {}
    for name, one in named.items():
        if one.at_ms in by_time:
            cache.write(folder / name, media.encoded(by_time[one.at_ms]))
        elif one.number in missing:
            continue
        memory.take(name, stretch.start_ms)
        names[name] = one
    if not names:
        return None
    first, *others = names
    return Still(
        file=first,
        at_ms=names[first].at_ms,
        subject=stretch.subject,
        sharpness=round(names[first].figures.sharpness, 1),
        others=tuple(others),
    )


def _name(subject: str) -> str:
    """Return a file name of its own for each subject, also where two codes differ only in signs that are dropped."""
    plain = slug(subject, "item")
    return plain if plain == subject.casefold() else f"{plain}-{cache.digest(subject.encode())[:6]}"
