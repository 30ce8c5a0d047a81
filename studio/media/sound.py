"""The sound of a recording as the recogniser wants it: 16 kHz, mono, 16 bit, decoded by a child process."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from studio.errors import RecordingError
from studio.media import decoder

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RATE = 16_000
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
        outcome = decoder.run(_decode(path, {}, longest), path, seconds=60 + longest, output=stream)
    samples = target.stat().st_size // 2
    if not samples:
        raise RecordingError(f"No sound of {path.name} can be decoded.", decoder.unreadable_remedy())
    return Sound(target, samples, min(samples * 1000 // RATE, _decoded_ms(outcome.messages)))


def stretch(path: Path, start_ms: int, end_ms: int) -> "NDArray[np.float32]":
    """Return the sound of a stretch of time, each sample between -1 and 1.

    Raises:
        RecordingError: there is no sound, or it cannot be decoded.
        DecoderCrashed: the decoder died.
    """
    import numpy as np

    length = (end_ms - start_ms) / 1000
    outcome = decoder.run(_decode(path, {"ss": start_ms / 1000}, length), path, seconds=60 + length)
    return np.frombuffer(outcome.output, dtype="<i2").astype(np.float32) / 32768.0


def _decode(path: Path, where: dict[str, Any], longest: float) -> Any:  # noqa: ANN401
    import ffmpeg

    options = {"format": "s16le", "ac": 1, "ar": RATE, "t": longest, "af": "aresample=async=1:first_pts=0"}
    given = ffmpeg.input(**decoder.media_args(path), **where)["a:0"]
    return given.output("pipe:", **options).global_args("-loglevel", "verbose", "-nostats")


def _decoded_ms(messages: str) -> int:
    decoded, rate = _DECODED.search(messages), _SOURCE_RATE.search(messages)
    return int(decoded[1]) * 1000 // int(rate[1]) if decoded and rate else _WHOLE_MS
