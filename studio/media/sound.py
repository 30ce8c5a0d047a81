"""The sound of a recording as the recogniser wants it: 16 kHz, mono, 16 bit, decoded by a child process."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from studio.errors import RecordingError
from studio.media import decoder
from studio.model import Span

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RATE = 16_000
_AT_ONCE = 16
_FORM = {"format": "s16le", "ac": 1, "ar": RATE, "af": "aresample=async=1:first_pts=0"}
_WHOLE_MS = 1 << 62
_DECODED = re.compile(r"Input stream #\d+:\d+ \(audio\)[^\n]*?frames decoded; [1-9]\d* decode errors \((\d+) samples\)")
_SOURCE_RATE = re.compile(r"Stream #0:\d+[^\n]*?Audio: [^\n]*?, (\d+) Hz")


@dataclass(frozen=True)
class Sound:
    """Decoded sound in a file of 16 bit samples, read as it is needed."""

    file: Path
    samples: int
    heard_ms: int
    """How much could be decoded; damaged places that were filled with silence are not counted."""

    def part(self, start: int, end: int) -> "NDArray[np.float32]":
        """Return the samples `start` to `end`, each between -1 and 1."""
        import numpy as np

        with self.file.open("rb") as stream:
            stream.seek(2 * start)
            return np.frombuffer(stream.read(2 * (end - start)), dtype="<i2").astype(np.float32) / 32768.0


def sound(path: Path, duration_ms: int, target: Path) -> Sound:
    """Decode the first sound stream into a file of 16 kHz mono 16 bit samples.

    The time of a sample is its index: a late start and gaps in the stream are filled with silence.

    Args:
        path: the recording.
        duration_ms: its length by the container; not much more than this is written.
        target: the file to write.

    Raises:
        RecordingError: there is no sound, or it cannot be decoded.
        DecoderCrashed: the decoder died.
    """
    longest = duration_ms / 1000 + 30 if duration_ms else 86_400
    with target.open("wb") as stream:
        outcome = decoder.run_ffmpeg(_decode(path, longest), path, seconds=60 + longest, output=stream)
    samples = target.stat().st_size // 2
    if not samples:
        raise RecordingError(f"No sound of {path.name} can be decoded.", decoder.unreadable_remedy())
    return Sound(target, samples, min(samples * 1000 // RATE, _decoded_ms(outcome.messages)))


def stretches(path: Path, spans: Sequence[Span]) -> list["NDArray[np.float32]"]:
    """Return the sound of some stretches of time, each sample between -1 and 1; silence where there is none.

    Raises:
        RecordingError: there is no sound, or it cannot be decoded.
        DecoderCrashed: the decoder died.
    """
    groups = [spans[at : at + _AT_ONCE] for at in range(0, len(spans), _AT_ONCE)]
    return [sound for group in groups for sound in _some(path, group)]


def _some(path: Path, spans: Sequence[Span]) -> list["NDArray[np.float32]"]:
    import ffmpeg

    with TemporaryDirectory() as folder:
        files = [Path(folder) / f"{place}.s16" for place in range(len(spans))]
        parts = [_part(path, span, file) for span, file in zip(spans, files, strict=True)]
        seconds = 60 + sum(span.end_ms - span.start_ms for span in spans) / 1000
        decoder.run_ffmpeg(ffmpeg.merge_outputs(*parts).global_args("-loglevel", "error"), path, seconds=seconds)
        return [_filled(file, span) for file, span in zip(files, spans, strict=True)]


def _part(path: Path, span: Span, file: Path) -> Any:  # noqa: ANN401
    import ffmpeg

    length = (span.end_ms - span.start_ms) / 1000
    given = ffmpeg.input(**decoder.media_args(path), ss=span.start_ms / 1000, t=length)["a:0"]
    return given.output(decoder.literal(file), **_FORM)


def _filled(file: Path, span: Span) -> "NDArray[np.float32]":
    import numpy as np

    count = (span.end_ms - span.start_ms) * RATE // 1000
    samples = np.frombuffer(file.read_bytes(), dtype="<i2")[:count].astype(np.float32) / 32768.0
    return np.pad(samples, (0, count - len(samples)))


def _decode(path: Path, longest: float) -> Any:  # noqa: ANN401
    import ffmpeg

    given = ffmpeg.input(**decoder.media_args(path))["a:0"]
    return given.output("pipe:", t=longest, **_FORM).global_args("-loglevel", "verbose", "-nostats")


def _decoded_ms(messages: str) -> int:
    decoded, rate = _DECODED.search(messages), _SOURCE_RATE.search(messages)
    return int(decoded[1]) * 1000 // int(rate[1]) if decoded and rate else _WHOLE_MS
