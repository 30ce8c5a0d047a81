"""Rooms made for the tests: an echo, the hiss of a microphone and the rumble of a fan, laid over a clean talk."""

import wave
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
Sound = NDArray[np.float64]


def noisy_room(talk: Sound) -> Sound:
    """Return a talk with 0.4 s of reverberation, hiss 15 dB below it and rumble 20 dB above it, 18 dB below full scale.

    The rumble lies below 60 Hz: it is felt more than heard, but it takes the level.
    """
    echoing = _even(_echo(talk, 0.4))
    noise = np.random.default_rng(2)
    hiss = _even(noise.standard_normal(len(talk)))
    rumble = _even(_below(noise.standard_normal(len(talk)), 60))
    mixed = echoing + hiss * 10 ** (-15 / 20) + rumble * 10 ** (20 / 20)
    return np.asarray(mixed / np.abs(mixed).max() * 10 ** (-18 / 20))


def _even(sound: Sound) -> Sound:
    return np.asarray(sound / np.sqrt(np.mean(sound**2)))


def _echo(sound: Sound, seconds: float) -> Sound:
    """Add a tail that falls by 60 dB in so many seconds, as loud in all as the direct sound."""
    length = int(seconds * RATE)
    tail = np.random.default_rng(1).standard_normal(length) * 10 ** (-3 * np.arange(length) / length)
    tail /= np.sqrt((tail**2).sum())
    tail[0] += 1.0
    size = len(sound) + length
    return np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(tail, size), size)[: len(sound)]


def _below(sound: Sound, hertz: float) -> Sound:
    cycles = np.fft.rfftfreq(len(sound), 1 / RATE)
    return np.fft.irfft(np.fft.rfft(sound) / (1 + (cycles / hertz) ** 4), len(sound))


def read(path: Path) -> Sound:
    """Return the samples of a WAV file of 16 kHz, mono, 16 bit."""
    with wave.open(str(path)) as stream:
        assert (stream.getframerate(), stream.getnchannels(), stream.getsampwidth()) == (RATE, 1, 2)
        return np.frombuffer(stream.readframes(stream.getnframes()), dtype="<i2") / 32768.0


def write(path: Path, sound: Sound) -> Path:
    """Write samples between -1 and 1 as a WAV file."""
    with wave.open(str(path), "wb") as stream:
        stream.setframerate(RATE)
        stream.setnchannels(1)
        stream.setsampwidth(2)
        stream.writeframes(np.clip(np.round(sound * 32768), -32768, 32767).astype("<i2").tobytes())
    return path
