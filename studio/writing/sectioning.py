"""The sections of the post: each a title, a time, and blocks of paragraphs, numbered steps and lists with pictures."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Literal

from studio import text, timecode
from studio.model import Document
from studio.writing import worth
from studio.writing.facts import Block, Group, Items, Paragraph, Picture, PostSection, PostSentence, Steps, TextRun
from studio.writing.written import Draft, Line, Section

STEP_SENTENCES = 3
PARAGRAPH_SENTENCES = 4
HOW_TO_STEPS = 8
Shape = Literal["how-to", "show-and-tell"]


def shape_of(written: Draft) -> Shape:
    """Return "how-to" where enough of the sentences are instructions, else "show-and-tell"."""
    steps = sum(line.kind == "step" for line in written.lines)
    busy = sum(_is_steps(section) for section in written.sections)
    return "how-to" if steps >= HOW_TO_STEPS and busy else "show-and-tell"


def _is_steps(section: Section) -> bool:
    steps = sum(
        line.kind == "step" and worth.said_words(line.text)[0] not in {"don't", "never"} for line in section.lines
    )
    return (steps >= 3 and steps * 10 >= 3 * len(section.lines)) or (steps >= 2 and steps * 2 >= len(section.lines))


def sections(written: Draft, document: Document, stills: Sequence[Picture], shape: Shape) -> tuple[PostSection, ...]:
    """Return the sections in order; steps are numbered on through them, a product is linked where it is named first."""
    links = _Links(document)
    starts = [section.start_ms for section in written.sections]
    ends = [*starts[1:], document.recording.duration_ms + 1]
    number = 1
    made = []
    for section, end in zip(written.sections, ends, strict=False):
        steps = shape == "how-to" and _is_steps(section)
        blocks = []
        for block in _blocks(section, links, steps=steps):
            blocks.append(replace(block, first=number) if isinstance(block, Steps) else block)
            number += len(block.steps) if isinstance(block, Steps) else 0
        own = [still for still in stills if section.start_ms <= still.at_ms < end and still.subject != "hero"]
        waiting = {still.subject: still for still in own}
        placed = tuple(block.each(partial(_pictured, waiting)) for block in blocks)
        made.append(
            PostSection(
                title=text.one_line(section.title),
                clock=timecode.clock(section.start_ms),
                start_ms=section.start_ms,
                end_ms=min(end, document.recording.duration_ms),
                blocks=placed,
                stills=_at_head(own, placed),
                is_steps=steps,
            )
        )
    return tuple(made)


def _pictured(waiting: dict[str, Picture], group: Group) -> Group:
    """Put the picture of each item below the sentences that name it first; it waits no longer then."""
    shown = tuple(waiting.pop(code) for one in group for code in one.codes if code in waiting)
    return (*group[:-1], replace(group[-1], stills=shown)) if shown else group


def _at_head(own: Sequence[Picture], blocks: Sequence[Block]) -> tuple[Picture, ...]:
    """Return the picture of the chapter, for a section whose first block has no picture of an item."""
    first = blocks[0] if blocks else None
    if isinstance(first, Paragraph) and any(one.stills for one in first.sentences):
        return ()
    return tuple(still for still in own if still.subject.startswith("step-"))[:1]


class _Links:
    """The address of each product on sale, and which were linked already."""

    def __init__(self, document: Document) -> None:
        self.urls: Mapping[str, str] = {
            row.code: text.link(row.url)
            for row in document.supplies
            if row.code and row.availability not in {"retired", "not_yet"}
        }
        self.linked: set[str] = set()

    def sentence(self, line: Line) -> PostSentence:
        """Return a line as runs of text, a product linked where it is named for the first time."""
        runs, at = [], 0
        codes = tuple(link.code for link in line.links if link.code not in self.linked)
        for link in line.links:
            url = self.urls.get(link.code, "")
            if link.code in self.linked or not url or link.start < at:
                continue
            self.linked.add(link.code)
            runs += [TextRun(line.text[at : link.start], ""), TextRun(line.text[link.start : link.end], url)]
            at = link.end
        runs.append(TextRun(line.text[at:], ""))
        return PostSentence(text.one_line(line.text), tuple(run for run in runs if run.text), line.start_ms, codes)

    def sentences(self, lines: Sequence[Line]) -> Group:
        return tuple(self.sentence(line) for line in lines)


def unlinked(line: Line) -> PostSentence:
    """Return a line as a sentence without any link."""
    return PostSentence(text.one_line(line.text), (TextRun(line.text, ""),) if line.text else (), line.start_ms)


def _blocks(section: Section, links: _Links, *, steps: bool) -> Iterator[Block]:
    """Yield the blocks of a section: runs of items become a list, the rest steps or paragraphs."""
    run: list[Line] = []
    for line, after in zip(section.lines, [*section.lines[1:], None], strict=True):
        run.append(line)
        if after is not None and (after.kind == "item") == (line.kind == "item"):
            continue
        if line.kind == "item":
            yield Items(links.sentences(run))
        elif steps:
            yield from _steps(run, links)
        else:
            yield from _paragraphs(run, links)
        run = []


def _steps(lines: Sequence[Line], links: _Links) -> Iterator[Block]:
    """Yield what comes before the first instruction as a paragraph, then numbered steps of one to three sentences."""
    first = next((at for at, line in enumerate(lines) if line.kind == "step"), len(lines))
    yield from _paragraphs(lines[:first], links)
    groups: list[list[Line]] = []
    for line in lines[first:]:
        full = bool(groups) and len(groups[-1]) >= STEP_SENTENCES
        opens = line.kind == "step" and (worth.opens_step(line.text) or full or not groups or len(groups[-1]) > 1)
        if not groups or opens or (full and len(groups[-1]) > STEP_SENTENCES):
            groups.append([line])
        else:
            groups[-1].append(line)
    if groups:
        yield Steps(tuple(links.sentences(group) for group in groups))


def _paragraphs(lines: Sequence[Line], links: _Links) -> Iterator[Block]:
    """Yield paragraphs of up to four sentences; a new item begins a new one."""
    group: list[Line] = []
    for line in lines:
        new_item = any(one.links for one in group) and any(link.code not in links.linked for link in line.links)
        if len(group) >= PARAGRAPH_SENTENCES or new_item:
            yield Paragraph(links.sentences(group))
            group = []
        group.append(line)
    if group:
        yield Paragraph(links.sentences(group))
