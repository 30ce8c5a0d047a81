"""Chapters written out: the list for a description, WebVTT, JSON chapters, and a transcript to read."""

import html
import json
from collections.abc import Iterator, Sequence

from studio import spelling, timecode
from studio.edition import Edition
from studio.model import Chapter, Document, Sentence, Word
from studio.text import one_line

_PARAGRAPH_SENTENCES, _PARAGRAPH_PAUSE_MS = 5, 2000


def files(edition: Edition) -> dict[str, str]:
    """Return `chapters.txt`, `chapters.vtt`, `chapters.json` and `transcript.html`."""
    document = edition.document
    end_ms = document.recording.duration_ms
    return {
        "chapters.txt": listing(document.chapters),
        "chapters.vtt": chapters_vtt(document.chapters, end_ms),
        "chapters.json": podcast(document.chapters, end_ms),
        "transcript.html": transcript(document),
    }


def listing(chapters: Sequence[Chapter]) -> str:
    """Return one line a chapter, its time first; hours where there are any."""
    return "".join(f"{timecode.clock(chapter.start_ms)} {one_line(chapter.title)}\n" for chapter in chapters)


def with_ends(chapters: Sequence[Chapter], end_ms: int) -> list[tuple[Chapter, int]]:
    """Return each chapter with its end in milliseconds: the start of the next one, or the end of the recording."""
    ends = [*(chapter.start_ms for chapter in chapters[1:]), end_ms]
    return [(chapter, max(end, chapter.start_ms + 1)) for chapter, end in zip(chapters, ends, strict=False)]


def chapters_vtt(chapters: Sequence[Chapter], end_ms: int) -> str:
    """Return a WebVTT chapters file (W3C WebVTT, sections 4.1 and 4.5: chapter title text, cues side by side)."""
    cues = []
    for chapter, end in with_ends(chapters, end_ms):
        title = html.escape(one_line(chapter.title), quote=False)
        cues.append(f"{timecode.vtt(chapter.start_ms)} --> {timecode.vtt(end)}\n{title}\n")
    return "\n".join(["WEBVTT\n", *cues])


def podcast(chapters: Sequence[Chapter], end_ms: int) -> str:
    """Return JSON chapters 1.2 of the podcast namespace; times in seconds."""
    rows = [
        {"startTime": chapter.start_ms / 1000, "endTime": end / 1000, "title": one_line(chapter.title)}
        for chapter, end in with_ends(chapters, end_ms)
    ]
    return json.dumps({"version": "1.2.0", "chapters": rows}, indent=2, ensure_ascii=False) + "\n"


_PAGE = """<!DOCTYPE html>
<html lang="{language}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>
body {{ max-width: 40rem; margin: 0 auto; padding: 1rem; color: #222; background: #fff; }}
body {{ font: 1.1rem/1.6 Georgia, serif; }}
h1, h2, nav {{ font-family: system-ui, sans-serif; line-height: 1.25; }}
time {{ font: 0.85rem system-ui, sans-serif; color: #555; }}
a {{ color: #0b4f8a; }}
</style>
</head>
<body>
<main>
<h1>{title}</h1>
{contents}{parts}</main>
</body>
</html>
"""


def transcript(document: Document) -> str:
    """Return a page to read: the words under their chapters, with times; names are spelt as they are shown."""
    chapters = document.chapters or (Chapter(start_ms=0, title="Transcript"),)
    edges = [*(chapter.start_ms for chapter in chapters[1:]), None]
    parts = []
    for place, (chapter, end) in enumerate(zip(chapters, edges, strict=True), start=1):
        here = [s for s in document.sentences if _starts_in(s, 0 if place == 1 else chapter.start_ms, end)]
        parts.append(_part(place, chapter, here, document))
    title = f"Transcript of {html.escape(one_line(document.recording.source))}"
    language = html.escape(document.transcript.language or "en")
    return _PAGE.format(language=language, title=title, contents=_contents(chapters), parts="".join(parts))


def _starts_in(sentence: Sentence, start_ms: int, end_ms: int | None) -> bool:
    return start_ms <= sentence.start_ms and (end_ms is None or sentence.start_ms < end_ms)


def _contents(chapters: Sequence[Chapter]) -> str:
    rows = "".join(
        f'<li><a href="#part-{place}">{html.escape(one_line(chapter.title))}</a> {_time(chapter.start_ms)}</li>\n'
        for place, chapter in enumerate(chapters, start=1)
    )
    return f'<nav aria-label="Chapters">\n<ol>\n{rows}</ol>\n</nav>\n'


def _part(place: int, chapter: Chapter, sentences: Sequence[Sentence], document: Document) -> str:
    paragraphs = "".join(
        f"<p>{_time(group[0].start_ms)} {html.escape(_shown(group, document))}</p>\n"
        for group in _paragraphs(sentences)
    )
    head = f'<h2 id="heading-{place}">{html.escape(one_line(chapter.title))}</h2>'
    return f'<section id="part-{place}" aria-labelledby="heading-{place}">\n{head}\n{paragraphs}</section>\n'


def _time(ms: int) -> str:
    return f'<time datetime="{timecode.iso_duration(ms // 1000 * 1000)}">{timecode.clock(ms)}</time>'


def _shown(sentences: Sequence[Sentence], document: Document) -> str:
    words: list[Word] = [word for sentence in sentences for word in sentence.words]
    here = [s for s in document.spellings if s.end_ms > words[0].start_ms and s.start_ms <= words[-1].end_ms]
    return one_line(" ".join(word.text for word in spelling.shown(words, here)))


def _paragraphs(sentences: Sequence[Sentence]) -> Iterator[list[Sentence]]:
    """Give groups of a few sentences; a long pause begins a new one."""
    group: list[Sentence] = []
    for sentence in sentences:
        if group and (len(group) == _PARAGRAPH_SENTENCES or sentence.pause_before_ms >= _PARAGRAPH_PAUSE_MS):
            yield group
            group = []
        group.append(sentence)
    if group:
        yield group
