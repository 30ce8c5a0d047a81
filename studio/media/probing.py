"""What a recording holds, read from its header without decoding the whole."""

from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path
from typing import Any

from studio import cache
from studio.errors import RecordingError
from studio.media import decoder
from studio.model import Recording


def probe(path: Path) -> Recording:
    """Return what a recording holds; its content is looked at, not its name.

    `width` and `height` are those shown, after the rotation the file asks for; `duration_ms` is the container's word.

    Raises:
        RecordingError: the file is missing, empty, no recording, or damaged beyond reading.
    """
    digest = _digest(path)
    with _opened(path) as container:
        picture, audio = _first(container, "video"), _first(container, "audio")
        if picture is None and audio is None:
            raise _unreadable(path, "holds neither sound nor picture")
        found = Recording(
            source=path.name, sha256=digest, duration_ms=_duration_ms(container), recorded_on=_recorded_on(container),
            has_sound=audio is not None, has_picture=picture is not None, fps=_rate(picture),
        )  # fmt: skip
    return found if picture is None else _with_size(path, found)


def codecs(path: Path) -> tuple[str, str, str, str]:
    """Return the names of the container, the picture codec, its pixel format and the sound codec, empty where none.

    Raises:
        RecordingError: the file cannot be read.
    """
    with _opened(path) as container:
        picture, audio = _first(container, "video"), _first(container, "audio")
        seen = picture.codec_context if picture else None
        heard = audio.codec_context.name if audio else ""
        return container.format.name, seen.name if seen else "", (seen.pix_fmt or "") if seen else "", heard


def _digest(path: Path) -> str:
    try:
        if path.stat().st_size == 0:
            raise RecordingError(f"{path.name} is empty.", "Copy it again from the camera.")
        return cache.file_digest(path)
    except OSError as error:
        raise RecordingError(
            f"{path.name} cannot be opened: {error.strerror or error}.", "Check the name and the folder."
        ) from error


def _opened(path: Path) -> Any:  # noqa: ANN401  (PyAV's container)
    import av

    try:
        return av.open(decoder.literal(path), options=decoder.safe_options(), metadata_errors="replace")
    except (av.FFmpegError, OSError, ValueError) as error:
        raise _unreadable(path, "is no recording that can be read") from error


def _unreadable(path: Path, why: str) -> RecordingError:
    return RecordingError(f"{path.name} {why}.", decoder.unreadable_remedy())


def _first(container: Any, kind: str) -> Any:  # noqa: ANN401
    for stream in container.streams:
        if stream.type == kind and stream.codec_context is not None and not _cover(stream):
            return stream
    return None


def _cover(stream: Any) -> bool:  # noqa: ANN401
    return "attached_pic" in str(stream.disposition).lower()


def _duration_ms(container: Any) -> int:  # noqa: ANN401
    if container.duration:
        return max(0, int(container.duration) // 1000)
    lengths = [stream.duration * stream.time_base for stream in container.streams if stream.duration]
    return int(max(lengths, default=Fraction(0)) * 1000)


def _rate(picture: Any) -> Fraction | None:  # noqa: ANN401
    return Fraction(picture.average_rate) if picture is not None and picture.average_rate else None


def _recorded_on(container: Any) -> date | None:  # noqa: ANN401
    text = container.metadata.get("creation_time", "")
    try:
        stamp = datetime.fromisoformat(text)
    except ValueError:
        return None
    return stamp.astimezone(UTC).date() if stamp.year > 1970 else None


def _with_size(path: Path, found: Recording) -> Recording:
    """Return it with the size of its picture as shown; where neither start nor middle can be decoded it has none."""
    from studio.media import pictures

    for at in (0, found.duration_ms // 2):
        try:
            for frame in pictures.frames(path, (at,)):
                sized: Recording = found.but(width=frame.width, height=frame.height)
                return sized
        except RecordingError:
            continue
    heard: Recording = found.but(has_picture=False, fps=None)
    return heard
