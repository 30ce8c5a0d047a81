"""Caption files as they lie on disk: WebVTT and SubRip, read into cues."""

import html
import io
import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from studio import timecode
from studio.errors import CaptionsError

LARGEST = 20 << 20
"""Bytes; a caption file of a day of speech is smaller."""
_REMEDY = "Give a WebVTT (.vtt) or SubRip (.srt) file, or the recording itself."
_OVERRIDE = re.compile(r"\{\\[^{}]{0,100}\}")
_DIALOGUE = re.compile(r"^(?:>{2,3}|[-–—])\s*")
_TIMES = re.compile(
    r"\s{0,8}(?:\d{1,4}:)?\d{1,2}:\d{1,2}[.,]\d{1,3}\s{0,8}-->\s{0,8}(?:\d{1,4}:)?\d{1,2}:\d{1,2}[.,]\d{1,3}"
)
_BOM = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}


@dataclass(frozen=True)
class Cue:
    """One caption as the file has it."""

    start_ms: int
    end_ms: int
    lines: tuple[str, ...]
    """Plain text, without markup; character references are resolved in WebVTT, which alone has them."""
    identifier: str = ""
    settings: str = ""

    @property
    def text(self) -> str:
        """The lines joined by single spaces."""
        return " ".join(self.lines)


def read_cues(path: Path) -> tuple[Cue, ...]:
    """Return every cue of a WebVTT or SubRip file, in the order of the file; the content decides which it is.

    Raises:
        CaptionsError: the file cannot be opened, is neither, holds no cue, or has a line of times that is none.
    """
    text = _decoded(path)
    cues = _parsed(text, "vtt" if _is_vtt(text) else "srt", path.name)
    if not cues:
        raise CaptionsError(f"{path.name} holds no captions.", _REMEDY)
    return cues


def form(path: Path) -> str:
    """Return the name of the format that a caption file is in: `WebVTT` or `SubRip`.

    Raises:
        CaptionsError: the file cannot be opened, or is no text.
    """
    return "WebVTT" if _is_vtt(_decoded(path)) else "SubRip"


def _is_vtt(text: str) -> bool:
    return text.startswith("WEBVTT")


def _decoded(path: Path) -> str:
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST + 1)
    except OSError as error:
        raise CaptionsError(
            f"{path.name} cannot be opened: {error.strerror or error}.", "Check the name and the folder."
        ) from error
    if len(data) > LARGEST:
        raise CaptionsError(f"{path.name} is too large for a caption file.", _REMEDY)
    text = _text(data)
    if text is None or "\0" in text:
        raise CaptionsError(f"{path.name} is no text file.", _REMEDY)
    return text.replace("\r\n", "\n").replace("\r", "\n").lstrip("\n")


def _text(data: bytes) -> str | None:
    for encoding in (_BOM.get(data[:2], "utf-8-sig"), "cp1252"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    return None


def _parsed(text: str, kind: str, name: str) -> tuple[Cue, ...]:
    import webvtt
    from webvtt.errors import MalformedCaptionError, MalformedFileError

    try:
        found = webvtt.WebVTT.from_buffer(io.StringIO(text), format=kind)
        cues = tuple(_cue(caption, kind) for caption in found.captions)
    except (MalformedFileError, MalformedCaptionError, ValueError) as error:
        raise CaptionsError(f"{name} holds no captions that can be read.", _REMEDY) from error
    _no_time_line_lost(text, len(cues), name)
    return cues


def _cue(caption: "webvtt.Caption", kind: str) -> Cue:  # type: ignore[name-defined]  # noqa: F821
    lines = (_plain(line, kind) for line in caption.text.split("\n"))
    return Cue(
        start_ms=timecode.read_clock(caption.start),
        end_ms=timecode.read_clock(caption.end),
        lines=tuple(line for line in lines if line),
        identifier=caption.identifier or "",
        settings=str(caption.settings or "").strip(),
    )


def _plain(line: str, kind: str) -> str:
    shown = html.unescape(line) if kind == "vtt" else _OVERRIDE.sub("", line)
    kept = "".join(" " if unicodedata.category(sign) in {"Cc", "Zl", "Zp"} else sign for sign in shown)
    visible = "".join(sign for sign in kept if unicodedata.category(sign) != "Cf" or sign == "\u200d")
    return _DIALOGUE.sub("", " ".join(visible.split()))


def _no_time_line_lost(text: str, count: int, name: str) -> None:
    marked = [(number, line) for number, line in enumerate(text.split("\n"), start=1) if "-->" in line]
    wrong = next((number for number, line in marked if not _TIMES.match(line)), None)
    if wrong is not None:
        raise CaptionsError(f"Line {wrong} of {name} is no line of caption times.", "Mend or remove that line.")
    if len(marked) != count:
        raise CaptionsError(f"{name} has {len(marked)} lines of times but {count} captions that can be read.", _REMEDY)
