"""Chapters written out: the list for a description, WebVTT, JSON chapters, and a transcript to read."""

import html
import json

from studio import timecode
from studio.model import Catalogue, Chapter, Document
from studio.settings import Settings


def files(document: Document, catalogue: Catalogue, settings: Settings) -> dict[str, str]:
    """Return `chapters.txt`, `chapters.vtt`, `chapters.json` and `transcript.html`."""
    end_ms = document.recording.duration_ms
    return {
        "chapters.txt": text(document.chapters),
        "chapters.vtt": vtt(document.chapters, end_ms),
        "chapters.json": podcast(document.chapters, end_ms),
    }


def text(chapters: tuple[Chapter, ...]) -> str:
    """Return one line a chapter, its time first."""
    return "".join(f"{timecode.clock(chapter.start_ms)} {chapter.title}\n" for chapter in chapters)


def ends(chapters: tuple[Chapter, ...], end_ms: int) -> list[int]:
    """Return the end of each chapter in milliseconds."""
    return [*(chapter.start_ms for chapter in chapters[1:]), end_ms]


def vtt(chapters: tuple[Chapter, ...], end_ms: int) -> str:
    """Return a WebVTT chapters file (W3C WebVTT, section 4.3)."""
    cues = (
        f"{timecode.vtt(chapter.start_ms)} --> {timecode.vtt(end)}\n{html.escape(chapter.title, quote=False)}\n"
        for chapter, end in zip(chapters, ends(chapters, end_ms), strict=True)
    )
    return "\n".join(["WEBVTT\n", *cues])


def podcast(chapters: tuple[Chapter, ...], end_ms: int) -> str:
    """Return JSON chapters 1.2 of the podcast namespace; times in seconds."""
    rows = [
        {"startTime": chapter.start_ms / 1000, "endTime": end / 1000, "title": chapter.title}
        for chapter, end in zip(chapters, ends(chapters, end_ms), strict=True)
    ]
    return json.dumps({"version": "1.2.0", "chapters": rows}, indent=2, ensure_ascii=False) + "\n"
