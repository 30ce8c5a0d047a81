"""The sound as voice detection wants it, whatever the microphone and the room: without rumble, and always as loud.

Voice detection judges by level too. In a room with noise and reverberation, a talk recorded 6 dB lower lost words
without end; evened out, the same speech is found at any level. What is recognised stays the sound as it was recorded.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Part = Callable[[int, int], NDArray[np.float32]]
    """Returns the samples between two indices."""

RATE = 16_000
LOUDNESS_DB = -20.0
"""What is loud in the recording is brought to this level; from -30 to -10 the same speech is found (measured)."""
_RUMBLE_HZ = 100.0
_MOST_DB = 40.0
"""Nothing is raised by more, so that the hiss of an empty recording stays hiss."""
_BLOCK = 2 * RATE // 5
_GATES_DB = -70.0, -10.0
"""Blocks of 400 ms below -70 dB, or more than 10 dB below the mean of the others, do not count: ITU-R BS.1770-4."""
_MARGIN = RATE // 10
_WINDOW = 600 * RATE
_AT_ONCE = 2000


def evened(part: "Part", total: int) -> "Part":
    """Return a function like `part` for the same sound without what is below 100 Hz, at a level of `LOUDNESS_DB`.

    Args:
        part: function of two sample indices that returns the sound between them.
        total: number of samples.
    """
    gain = 10 ** (min(_MOST_DB, LOUDNESS_DB - _loudness(part, total)) / 20)
    return lambda start, end: _above_rumble(part, start, end) * part(0, 0).dtype.type(gain)


def _loudness(part: "Part", total: int) -> float:
    """Return the level of what is loud, in dB of full scale; quiet stretches of any length do not change it."""
    import numpy as np

    spans = [(at, min(total, at + _WINDOW)) for at in range(0, total, _WINDOW)]
    powers = np.concatenate([[0.0], *(_powers(_above_rumble(part, a, b), _BLOCK) for a, b in spans)])
    absolute, relative = (10 ** (gate / 10) for gate in _GATES_DB)
    heard = powers[powers > absolute]
    loud = heard[heard > relative * heard.mean()] if len(heard) else np.array([absolute])
    return float(10 * np.log10(loud.mean()))


def _powers(sound: "NDArray[np.float32]", length: int) -> "NDArray[np.float64]":
    """Return the mean power of each block of so many samples; what is left at the end does not count."""
    import numpy as np

    blocks = sound[: len(sound) // length * length].reshape(-1, length)
    powers: NDArray[np.float64] = np.einsum("ij,ij->i", blocks, blocks, dtype=np.float64) / length
    return powers


def _above_rumble(part: "Part", start: int, end: int) -> "NDArray[np.float32]":
    """Return some sound without what is below 100 Hz: 24 dB an octave, no delay."""
    import numpy as np

    before = min(start, _MARGIN)
    sound = part(start - before, end + _MARGIN)
    length = (len(sound) // RATE + 1) * RATE
    tones = np.fft.rfft(sound, length)
    cycles = np.arange(len(tones), dtype=np.float32) * (RATE / length)
    tones *= np.float32(1) / np.sqrt(1 + (_RUMBLE_HZ / np.maximum(cycles, np.float32(1))) ** 8)
    return np.fft.irfft(tones, length)[before : before + end - start].astype(np.float32)


# --- what is like speech, and was not found ---------------------------------------------------------------------------

_FRAME = 512
_SECOND = RATE // _FRAME
_BAND = slice(2 * _FRAME * 200 // RATE, 2 * _FRAME * 3000 // RATE)
"""Most of the power of a voice lies between 200 and 3000 Hz, and little of a fan's or a hiss's."""
_QUIETER_DB = 20.0
"""Speech is quieter than what is loud in the recording by so much at most; common practice, no source."""
_VOICED = 0.45
_PITCH = slice(RATE // 400, RATE // 75)
"""The lags of a voice of 75 to 400 Hz."""
_SHARE = 0.25
"""In a second of speech so many frames at least are voiced and loud; on read speech 0.5, with noise and echo 0.3."""
_SWAY_DB = 2.2
"""Syllables rise and fall by this at least, as a standard deviation; a fan, a hiss or a held tone does not."""
_SHORTEST = 3 * RATE // 2


def like_speech(even: "Part", total: int, speech: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return stretches of 1.5 s or more outside all speech that are as loud, as voiced and as uneven as speech.

    Args:
        even: the sound, as `evened` gives it.
        total: number of samples.
        speech: where speech was found, in order.
    """
    edges = [0, *(edge for span in speech for edge in span), total]
    gaps = [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= _SHORTEST]
    windows = [(at, min(b, at + _WINDOW)) for a, b in gaps for at in range(a, b, _WINDOW)]
    found = [(a + start, a + end) for a, b in windows for start, end in _voices(even(a, b))]
    return [(start, end) for start, end in found if end - start >= _SHORTEST]


def _voices(sound: "NDArray[np.float32]") -> Iterator[tuple[int, int]]:
    """Find runs of seconds that are like speech."""
    import numpy as np

    if len(sound) < RATE:
        return
    levels, voiced = _frames(sound)
    mean, squares = _over_a_second(levels), _over_a_second(levels**2)
    talking = _over_a_second(voiced & (levels > LOUDNESS_DB - _QUIETER_DB)) >= _SHARE
    like = talking & (squares - mean**2 >= _SWAY_DB**2)
    marks = np.flatnonzero(np.diff(np.concatenate(([0], like.astype(np.int8), [0]))))
    for start, end in zip(marks[::2].tolist(), marks[1::2].tolist(), strict=True):
        yield start * _FRAME, end * _FRAME


def _over_a_second(values: "NDArray[np.generic]") -> "NDArray[np.float64]":
    import numpy as np

    weights = np.ones(_SECOND)
    return np.convolve(values.astype(np.float64), weights, "same") / np.convolve(np.ones(len(values)), weights, "same")


def _frames(sound: "NDArray[np.float32]") -> "tuple[NDArray[np.float64], NDArray[np.bool_]]":
    """Return for each 32 ms the level in dB, and whether the sound repeats itself at the pitch of a voice."""
    import numpy as np

    window = np.hanning(2 * _FRAME).astype(np.float32)
    of_window = _repetition(np.abs(np.fft.rfft(window, 4 * _FRAME)) ** 2)
    frames = np.lib.stride_tricks.sliding_window_view(sound, 2 * _FRAME)[::_FRAME]
    levels, voiced = [], []
    for at in range(0, len(frames), _AT_ONCE):
        powers = np.abs(np.fft.rfft(frames[at : at + _AT_ONCE] * window, 4 * _FRAME)) ** 2
        powers[:, : 2 * _BAND.start] = powers[:, 2 * _BAND.stop :] = 0
        repeated = _repetition(powers)
        levels.append(10 * np.log10(np.maximum(repeated[:, 0] / (window @ window), 1e-6)))
        voiced.append((repeated / of_window)[:, _PITCH].max(axis=1) * of_window[0] > _VOICED * repeated[:, 0])
    return np.concatenate(levels), np.concatenate(voiced)


def _repetition(powers: "NDArray[np.floating]") -> "NDArray[np.floating]":
    """Return how alike a sound of this spectrum is to itself, for each lag up to that of the lowest voice."""
    import numpy as np

    return np.fft.irfft(powers)[..., : _PITCH.stop]
