"""What upload hosts ask of a list of chapters; common practice without a standard, so every figure is a setting."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from studio.model import Chapter
from studio.settings import ChapterChoices

SOURCE = "common practice of upload hosts, no standard; see your host"


@dataclass(frozen=True)
class ChapterBreach:
    """A chapter that an upload host may refuse."""

    start_ms: int
    message: str
    source: str = SOURCE


def host_refusals(chapters: Sequence[Chapter], duration_ms: int, choices: ChapterChoices) -> tuple[ChapterBreach, ...]:
    """Return what a host may refuse: the start, the order, the number, the length of each one, the titles.

    Args:
        chapters: in the order of the list.
        duration_ms: of the recording; the last chapter ends there.
        choices: the shortest chapter, the fewest, the longest title.
    """
    return tuple(_breaches(chapters, duration_ms, choices))


def _breaches(chapters: Sequence[Chapter], duration_ms: int, choices: ChapterChoices) -> Iterator[ChapterBreach]:
    if len(chapters) < choices.fewest:
        yield ChapterBreach(0, f"{len(chapters)} chapters; hosts ask for at least {choices.fewest}.")
    if chapters and chapters[0].start_ms != 0:
        yield ChapterBreach(chapters[0].start_ms, "The first chapter does not begin at 0:00.")
    ends = [*(chapter.start_ms for chapter in chapters[1:]), duration_ms]
    for chapter, end in zip(chapters, ends, strict=False):
        if end - chapter.start_ms < choices.shortest_s * 1000:
            yield ChapterBreach(chapter.start_ms, f"“{chapter.title}” is shorter than {choices.shortest_s} s.")
        if not chapter.title.strip():
            yield ChapterBreach(chapter.start_ms, "A chapter has no title.")
        if len(chapter.title) > choices.title_length:
            yield ChapterBreach(
                chapter.start_ms, f"“{chapter.title}” is longer than {choices.title_length} characters."
            )
    yield from _order(chapters)


def _order(chapters: Sequence[Chapter]) -> Iterator[ChapterBreach]:
    for before, after in pairwise(chapters):
        if after.start_ms <= before.start_ms:
            yield ChapterBreach(after.start_ms, f"“{after.title}” does not come after “{before.title}”.")
    titles = [chapter.title.casefold() for chapter in chapters]
    for place, chapter in enumerate(chapters):
        if titles.index(titles[place]) < place:
            yield ChapterBreach(chapter.start_ms, f"“{chapter.title}” is there twice.")
