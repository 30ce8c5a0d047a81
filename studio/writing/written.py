"""The parts of a draft: lines with where they were said, sections, and what was left out."""

from dataclasses import dataclass
from typing import Literal

from studio.writing.redaction import SaidPart

LineKind = Literal["step", "advice", "fact", "talk", "item"]


@dataclass(frozen=True)
class Link:
    """A product's name in a line, to be linked to its page."""

    start: int
    end: int
    code: str


@dataclass(frozen=True)
class Line:
    """One written sentence, or one item of a list."""

    text: str
    kind: LineKind
    start_ms: int
    end_ms: int
    parts: tuple[SaidPart, ...]
    links: tuple[Link, ...] = ()
    holds_fact: bool = False
    holds_figure: bool = False
    polished_from: str = ""
    """The rules' own text, where a model's wording stands in its place."""


@dataclass(frozen=True)
class LeftOut:
    """What was said and is not in the post, and why."""

    text: str
    reason: str
    start_ms: int
    end_ms: int


@dataclass(frozen=True)
class Section:
    """What is written of one chapter."""

    title: str
    start_ms: int
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Draft:
    """The body of the post, and what was left out of it."""

    intro: tuple[Line, ...]
    sections: tuple[Section, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def lines(self) -> tuple[Line, ...]:
        """All lines in order."""
        return (*self.intro, *(line for section in self.sections for line in section.lines))
