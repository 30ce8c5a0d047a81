"""What was said, word by word with its times: heard in a recording, or read from a caption file given in its place."""

from itertools import accumulate
from pathlib import Path

from studio import cache, caption_files
from studio.caption_files import Cue
from studio.errors import CaptionsError
from studio.model import Recording, Segment, Transcript, Word

VERSION = 1
_TOUCHING_MS = 50
_FLASH_MS = 250
"""A rolling caption shows a finished line alone for a moment; nobody reads a caption as short as this."""


def captions_recording(path: Path) -> Recording:
    """Return the recording that a caption file stands for: no sound, no picture, as long as its last caption.

    Raises:
        CaptionsError: the file cannot be read.
    """
    last = max(cue.end_ms for cue in caption_files.read_cues(path))
    return Recording(source=path.name, sha256=cache.file_digest(path), duration_ms=last)


def read_captions(path: Path) -> Transcript:
    """Return the words of a WebVTT or SubRip file; word times are shared out inside each cue by the words' lengths.

    A line that a rolling caption repeats from the one before is taken once.

    Raises:
        CaptionsError: the file cannot be read, or no caption holds a word.
    """
    cues = sorted(caption_files.read_cues(path), key=lambda cue: cue.start_ms)
    segments = tuple(_segment(cue, lines) for cue, lines in _said_once(cues) if lines)
    if not segments:
        raise CaptionsError(f"No caption of {path.name} holds a word.", "Give another file, or the recording itself.")
    kind = "SubRip" if path.suffix.lower() == ".srt" else "WebVTT"
    return Transcript(language="", recogniser=kind, segments=segments, heard_ms=segments[-1].end_ms)


def _said_once(cues: list[Cue]) -> list[tuple[Cue, tuple[str, ...]]]:
    said: list[tuple[Cue, tuple[str, ...]]] = []
    before: Cue | None = None
    for cue in cues:
        repeated = _repeated(before, cue) if before else 0
        said.append((cue, cue.lines[repeated:]))
        before = cue if cue.lines else before
    return said


def _repeated(before: Cue, cue: Cue) -> int:
    """Return how many of the first lines only repeat the last lines of the cue before."""
    if cue.start_ms - before.end_ms > _TOUCHING_MS:
        return 0
    longest = min(len(before.lines), len(cue.lines))
    same = next((n for n in range(longest, 0, -1) if before.lines[-n:] == cue.lines[:n]), 0)
    said_again = same == len(cue.lines) == len(before.lines) and _lasts(cue) and _lasts(before)
    return 0 if said_again else same


def _lasts(cue: Cue) -> bool:
    return cue.end_ms - cue.start_ms > _FLASH_MS


def _segment(cue: Cue, lines: tuple[str, ...]) -> Segment:
    text = " ".join(lines)
    end = max(cue.end_ms, cue.start_ms)
    return Segment(start_ms=cue.start_ms, end_ms=end, text=text, words=_shared_out(text.split(), cue.start_ms, end))


def _shared_out(words: list[str], start_ms: int, end_ms: int) -> tuple[Word, ...]:
    ends = list(accumulate(len(word) + 1 for word in words))
    times = [start_ms + (end_ms - start_ms) * at // ends[-1] for at in (0, *ends)]
    return tuple(Word(start_ms=a, end_ms=b, text=w) for w, a, b in zip(words, times, times[1:], strict=False))
