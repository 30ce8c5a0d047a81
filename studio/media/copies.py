"""Copies of a recording: one with chapters in it, and a small one that browsers can play."""

import tempfile
from collections.abc import Sequence
from pathlib import Path

from studio.errors import StorageError
from studio.media import decoder, probing
from studio.model import Chapter

_SPECIAL = str.maketrans({sign: f"\\{sign}" for sign in "\\=;#"})
_PLAYED = {
    ("mp4", "h264", "yuv420p"), ("mp4", "h264", "yuvj420p"), ("webm", "vp8", "yuv420p"), ("webm", "vp9", "yuv420p"),
    ("mp4", "av1", "yuv420p"), ("webm", "av1", "yuv420p"),
}  # fmt: skip
"""Container, picture codec and pixel format that the common browsers play; HEVC and 10 bit pictures are not safe."""
_PLAYED_SOUND = {"mp4": {"aac", "mp3", ""}, "webm": {"opus", "vorbis", ""}}


def with_chapters(source: Path, target: Path, chapters: Sequence[Chapter]) -> None:
    """Write a copy of a recording with chapters in it; sound and picture are copied as they are.

    Chapters are written as ffmpeg's own metadata text (FFMETADATA1), times in milliseconds.

    Raises:
        RecordingError: the recording cannot be read.
        StorageError: the copy would overwrite the recording.
    """
    import ffmpeg

    if target.absolute() == source.absolute() or (target.exists() and target.samefile(source)):
        raise StorageError(f"{target.name} is the recording itself.", "Choose another name for the copy.")
    duration = probing.probe(source).duration_ms
    with tempfile.TemporaryDirectory(prefix="chapters-", dir=target.parent) as folder:
        notes, half = Path(folder) / "chapters.txt", Path(folder) / target.name
        notes.write_text(ffmetadata(chapters, duration), encoding="utf-8")
        given = ffmpeg.input(**decoder.media_args(source))
        streams = [given["V?"], given["a?"], given["s?"]]
        copied = ffmpeg.output(*streams, decoder.literal(half), c="copy", map_metadata=0, map_chapters=1)
        extra = ("-protocol_whitelist", "file", "-f", "ffmetadata", "-i", decoder.literal(notes))
        decoder.run_ffmpeg(copied.global_args(*extra, "-loglevel", "error"), source, seconds=120 + duration / 1000)
        half.replace(target)


def ffmetadata(chapters: Sequence[Chapter], duration_ms: int) -> str:
    """Return chapters as FFMETADATA1 text; the last ends with the recording."""
    ends = [*(chapter.start_ms for chapter in chapters[1:]), duration_ms]
    lines = [";FFMETADATA1"]
    for chapter, end in zip(chapters, ends, strict=True):
        title = " ".join(chapter.title.split()).translate(_SPECIAL)
        lines += ["[CHAPTER]", "TIMEBASE=1/1000", f"START={chapter.start_ms}", f"END={max(end, chapter.start_ms)}"]
        lines.append(f"title={title}")
    return "\n".join(lines) + "\n"


def browser_plays(path: Path) -> bool:
    """Tell whether a browser plays the recording as it is.

    Raises:
        RecordingError: the recording cannot be read.
    """
    container, picture, pixels, heard = probing.codecs(path)
    families = [name for name, mark in (("mp4", "mp4"), ("webm", "webm")) if mark in container]
    return any((name, picture, pixels) in _PLAYED and heard in _PLAYED_SOUND[name] for name in families)


def proxy(source: Path, target: Path) -> None:
    """Write a small copy that every browser plays: H.264 up to 854 pixels wide, AAC, index first.

    Raises:
        RecordingError: the recording cannot be read.
    """
    import ffmpeg

    duration = probing.probe(source).duration_ms
    given = ffmpeg.input(**decoder.media_args(source))
    options: dict[str, str | int] = {
        "vf": "scale='trunc(min(854,iw)/2)*2':-2", "vcodec": "libx264", "preset": "veryfast", "crf": 28,
        "pix_fmt": "yuv420p", "acodec": "aac", "b:a": "96k", "ac": 1, "movflags": "+faststart", "g": 60,
    }  # fmt: skip
    with tempfile.TemporaryDirectory(prefix="proxy-", dir=target.parent) as folder:
        half = Path(folder) / "proxy.mp4"
        small = ffmpeg.output(given["V:0?"], given["a:0?"], decoder.literal(half), **options)
        decoder.run_ffmpeg(small.global_args("-loglevel", "error"), source, seconds=300 + 4 * duration / 1000)
        half.replace(target)
