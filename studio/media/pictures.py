"""Frames of a recording at given times, and how sharp, how well lit and how still they are."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from studio import cache
from studio.media import decoder

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_HEADER = re.compile(rb"P6\s(\d+)\s(\d+)\s255\s")
_SCENE = re.compile(r"lavfi\.scd\.time: (\d+(?:\.\d+)?)")
_STILL_SECONDS = 60
_FIGURES_WIDTH = 640
"""Figures are taken at this width, so that they compare between recordings."""
_LOOK = (32, 18)


@dataclass(frozen=True)
class Frame:
    """A picture and its time; turned as the file asks."""

    at_ms: int
    width: int
    height: int
    pixels: bytes
    """RGB, 8 bit each, row by row."""


@dataclass(frozen=True)
class Figures:
    """How good a frame is."""

    sharpness: float
    """Variance of the Laplacian of the grey picture, 640 pixels wide; higher is sharper (Pech-Pacheco, 2000)."""
    exposure: float
    """1 where the mean grey is in the middle and nothing is burnt out or black, down to 0."""
    motion: float
    """Mean difference to the frame before, 0 to 255; 0 for the first."""
    look: bytes = b""
    """The picture as 32 by 18 grey squares, for `difference`."""


def frames(path: Path, times_ms: Iterable[int], width: int | None = None) -> tuple[Frame, ...]:
    """Return the frame shown at each time; a time with no frame is left out.

    Each is found by a jump to the key frame before, so that the cost does not grow with the time.

    Args:
        path: the recording.
        times_ms: moments in milliseconds.
        width: scale to this many pixels across; as recorded where None.

    Raises:
        RecordingError: there is no picture, or it cannot be decoded.
        DecoderCrashed: the decoder died.
    """
    return tuple(frame for at in times_ms for frame in _shots(path, at, {"frames:v": 1}, _scale(width)))


def moments(path: Path, start_ms: int, end_ms: int, *, rate: float = 5, width: int = 640) -> tuple[Frame, ...]:
    """Return frames of a stretch of time, `rate` of them a second, scaled to `width`; for choosing among them.

    Raises:
        RecordingError: there is no picture, or it cannot be decoded.
        DecoderCrashed: the decoder died.
    """
    length = max(1, end_ms - start_ms) / 1000
    found = _shots(path, start_ms, {"t": length}, f"{_even(rate)},{_scale(width)}", quick=True)
    step = 1000 / rate
    return tuple(Frame(start_ms + round(i * step), f.width, f.height, f.pixels) for i, f in enumerate(found))


def frames_by_number(path: Path, start_ms: int, numbers: Sequence[int], *, rate: float = 5) -> tuple[Frame, ...]:
    """Return some of the frames that `moments` gives for the same start and rate, by number, as recorded.

    All are taken in one pass. They come in order of time.

    Raises:
        RecordingError: there is no picture, or it cannot be decoded.
        DecoderCrashed: the decoder died.
    """
    wanted = sorted(set(numbers))
    if not wanted:
        return ()
    some = "+".join(f"eq(n\\,{number})" for number in wanted)
    filters = f"{_even(rate)},select={some},setpts=N/{rate}/TB"
    found = _shots(path, start_ms, {"frames:v": len(wanted)}, filters, quick=True)
    pairs = zip(wanted, found, strict=False)
    return tuple(Frame(start_ms + round(n * 1000 / rate), f.width, f.height, f.pixels) for n, f in pairs)


def figures(shots: Sequence[Frame]) -> tuple[Figures, ...]:
    """Return how good each of some frames is; motion is measured from each to the next in the order given."""
    greys = [_grey(shot) for shot in shots]
    before = [*greys[:1], *greys[:-1]]
    return tuple(_judged(grey, last) for grey, last in zip(greys, before, strict=True))


def save_still(path: Path, at_ms: int, target: Path, *, width: int | None = None) -> tuple[int, int] | None:
    """Write the frame at a time as a JPEG or WebP file, by the name's ending, and return its width and height.

    Returns None, and writes nothing, where there is no frame at that time.

    Raises:
        RecordingError: there is no picture, or it cannot be decoded.
        StorageError: the disk refused.
    """
    for shot in frames(path, (at_ms,), width):
        cache.write(target, encoded(shot, "WEBP" if target.suffix.lower() == ".webp" else "JPEG"))
        return shot.width, shot.height
    return None


def encoded(shot: Frame, form: str = "JPEG") -> bytes:
    """Return the frame as the bytes of a picture file, "JPEG" or "WEBP"."""
    from io import BytesIO

    from PIL import Image

    out = BytesIO()
    Image.frombytes("RGB", (shot.width, shot.height), shot.pixels).save(out, form, quality=88)
    return out.getvalue()


def difference(one: Figures, other: Figures) -> float:
    """Return how far apart two frames look: mean difference of their grey squares, 0 (the same) to 255."""
    return sum(abs(a - b) for a, b in zip(one.look, other.look, strict=True)) / len(one.look)


def scene_changes(path: Path, duration_ms: int | None = None) -> tuple[int, ...]:
    """Return the times in milliseconds at which the picture changes as a whole.

    Only key frames are looked at (an hour in seconds, not minutes), so a time is right to their spacing, 1 to 10 s.

    Raises:
        RecordingError: there is no picture, or it cannot be decoded.
        DecoderCrashed: the decoder died.
    """
    import ffmpeg

    given = ffmpeg.input(**decoder.media_args(path), skip_frame="nokey")["v:0"]
    looked = given.output("pipe:", format="null", vf="scale=320:-2,scdet=threshold=10").global_args("-nostats")
    seconds = 120 + (duration_ms or 14_400_000) / 1000
    return tuple(
        round(float(at) * 1000) for at in _SCENE.findall(decoder.run_ffmpeg(looked, path, seconds=seconds).messages)
    )


def _even(rate: float) -> str:
    return f"fps={rate}:round=near:start_time=0"


def _scale(width: int | None) -> str:
    return f"scale={width}:-2" if width else "null"


def _shots(path: Path, at_ms: int, limit: Mapping[str, float], filters: str, *, quick: bool = False) -> list[Frame]:
    """Decode from a time on; a quick pass leaves out the frames that no other frame is made from."""
    import ffmpeg

    pace = {"skip_frame": "noref"} if quick else {}
    given = ffmpeg.input(**decoder.media_args(path), ss=at_ms / 1000, **pace)["v:0"]
    shown = given.output("pipe:", format="image2pipe", vcodec="ppm", pix_fmt="rgb24", vf=filters, **limit)
    data = decoder.run_ffmpeg(shown.global_args("-loglevel", "error"), path, seconds=_STILL_SECONDS).output
    return list(_split(data, at_ms))


def _split(data: bytes, at_ms: int) -> Iterable[Frame]:
    at = 0
    while header := _HEADER.match(data, at):
        width, height = int(header[1]), int(header[2])
        start, at = header.end(), header.end() + 3 * width * height
        yield Frame(at_ms, width, height, data[start:at])


def _grey(shot: Frame) -> "NDArray[np.float32]":
    import numpy as np
    from PIL import Image

    image = Image.frombytes("RGB", (shot.width, shot.height), shot.pixels).convert("L")
    height = max(2, round(shot.height * _FIGURES_WIDTH / shot.width))
    return np.asarray(image.resize((_FIGURES_WIDTH, height), Image.Resampling.BILINEAR), dtype=np.float32)


def _judged(grey: "NDArray[np.float32]", last: "NDArray[np.float32]") -> Figures:
    import numpy as np
    from PIL import Image

    inner = grey[1:-1, 1:-1]
    laplacian = grey[:-2, 1:-1] + grey[2:, 1:-1] + grey[1:-1, :-2] + grey[1:-1, 2:] - 4 * inner
    lost = float(np.mean((grey < 8) | (grey > 247)))
    exposure = (1 - abs(float(grey.mean()) - 127.5) / 127.5) * (1 - lost)
    motion = float(np.abs(grey - last).mean()) if grey.shape == last.shape else 255.0
    look = Image.fromarray(grey.astype(np.uint8)).resize(_LOOK, Image.Resampling.BOX).tobytes()
    return Figures(float(laplacian.var()), exposure, motion, look)
