"""The sound that voice detection is given, and what is like speech where it found none. No model runs."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import rooms
from numpy.typing import NDArray

from studio.hearing import loudness
from studio.hearing.loudness import RATE

Sound = NDArray[np.float32]
CLIPS = Path(__file__).parent / "fixtures" / "librivox"
SECONDS = 12
TIME = np.arange(SECONDS * RATE) / RATE


@pytest.fixture(scope="session")
def talk(ffmpeg: Callable[..., None], clips: Path) -> Sound:
    """Return 7 s of a person who reads."""
    made = clips / "0870.wav"
    ffmpeg("-i", CLIPS / "0870.flac", "-ar", RATE, "-ac", 1, "-c:a", "pcm_s16le", made)
    return rooms.read(made).astype(np.float32)


def evened(sound: Sound) -> Sound:
    """Return the whole of a sound, evened out."""
    return loudness.evened(lambda start, end: sound[start:end], len(sound))(0, len(sound))


def like_speech(sound: Sound, *speech: tuple[int, int]) -> list[tuple[int, int]]:
    """Return in whole seconds what is like speech outside the speech given, also in seconds."""
    even = loudness.evened(lambda start, end: sound[start:end], len(sound))
    found = loudness.like_speech(even, len(sound), [(start * RATE, end * RATE) for start, end in speech])
    return [(round(start / RATE), round(end / RATE)) for start, end in found]


def noise(level_db: float) -> Sound:
    """Return hiss."""
    return (np.random.default_rng(5).standard_normal(len(TIME)) * 10 ** (level_db / 20)).astype(np.float32)


def test_the_same_talk_is_as_loud_at_any_level(talk: Sound) -> None:
    """What voice detection is given does not change with the gain of the microphone."""
    loud, soft = evened(talk * 0.8), evened(talk * 0.02)
    np.testing.assert_allclose(soft, loud, rtol=1e-3, atol=1e-4)
    assert 10 * np.log10(np.mean(loud[loud**2 > 1e-4] ** 2)) == pytest.approx(loudness.LOUDNESS_DB, abs=4)


def test_a_long_silence_changes_no_level(talk: Sound) -> None:
    """A talk in an hour of quiet is as loud as alone: what is far below the rest does not count."""
    quiet = np.concatenate((noise(-75), talk, noise(-75), noise(-75)))
    inside = evened(quiet)[len(TIME) : len(TIME) + len(talk)]
    assert np.std(inside) == pytest.approx(np.std(evened(talk)), rel=0.05)


def test_rumble_is_taken_out(talk: Sound) -> None:
    """A fan of 40 Hz, twenty times as strong as the voice, leaves the voice as loud as it was without it."""
    fan = 20 * np.std(talk) * np.sin(2 * np.pi * 40 * TIME[: len(talk)])
    assert np.std(evened((talk + fan) / 8)) == pytest.approx(np.std(evened(talk)), rel=0.1)


def test_an_empty_recording_stays_quiet() -> None:
    """Neither silence nor the hiss of an open microphone is raised to the level of speech."""
    assert not evened(np.zeros_like(TIME, dtype=np.float32)).any()
    assert 20 * np.log10(np.std(evened(noise(-75)))) < loudness.LOUDNESS_DB - 10


def test_parts_are_the_same_as_the_whole(talk: Sound) -> None:
    """The sound can be read in windows: at their seams nothing is heard that was not there."""
    even = loudness.evened(lambda start, end: talk[start:end], len(talk))
    parts = [even(start, min(len(talk), start + 20_001)) for start in range(0, len(talk), 20_001)]
    np.testing.assert_allclose(np.concatenate(parts), even(0, len(talk)), atol=1e-3)


def test_speech_that_was_not_found_is_like_speech(talk: Sound) -> None:
    """Where a person reads and no speech was found, most of it is told; where speech was found, nothing is."""
    length = len(talk) // RATE
    told = like_speech(np.concatenate((talk, noise(-60), talk)), (0, length))
    assert all(start >= length + SECONDS - 1 for start, _ in told)
    assert sum(end - start for start, end in told) >= length - 3


@pytest.mark.parametrize(
    "sound",
    [
        noise(-20),
        0.3 * np.sin(2 * np.pi * 440 * TIME),
        0.3 * np.sin(2 * np.pi * 50 * TIME) + 0.1 * np.sin(2 * np.pi * 150 * TIME) + noise(-60),
        noise(-20) * (np.sin(2 * np.pi * 3 * TIME) > 0),
        noise(-10) * np.exp(-(TIME % 0.4) * 60),
        np.zeros_like(TIME),
    ],
    ids=["hiss", "tone", "hum", "rubbing", "taps", "silence"],
)
def test_the_sounds_of_a_work_table_are_not_like_speech(sound: Sound) -> None:
    """A fan, a tone, paper that is rubbed, a tool that knocks: loud as they are, nobody is sent to listen to them."""
    assert like_speech(np.asarray(sound, dtype=np.float32)) == []
