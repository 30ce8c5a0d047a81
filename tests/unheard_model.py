"""A speech model that does not listen: each chunk says its own number, and the library around it is the real one."""

from collections.abc import Callable
from concurrent.futures import Future
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

AFTER_MS = 20
"""So long after the start of its chunk each word is said."""
NOTHING = 999
"""A chunk that says this number holds no word and gives no segment."""


def says(number: int, samples: int) -> NDArray[np.float32]:
    """Return sound that is heard as one word, "w" and the number."""
    return np.full(samples, number, dtype=np.float32)


Said = list[tuple[str, float, float]]
"""Words with their times in seconds of their chunk."""


def one_word(number: int) -> Said:
    """Return what a chunk says where nothing else is told: its number."""
    return [(f"w{number}", AFTER_MS / 1000, AFTER_MS / 1000 + 0.1)]


def loading(said: Callable[[int], Said] = one_word) -> Callable[[Path], "Future[Any]"]:
    """Return what stands in for the loading of a model: the real batched pipeline around this one.

    Args:
        said: function of the number of a chunk that returns the words in it.
    """
    from faster_whisper import BatchedInferencePipeline

    class Pipeline(BatchedInferencePipeline):  # type: ignore[misc]
        """The library's own pipeline, but for the network inside."""

        def generate_segment_batched(
            self, features: NDArray[np.float32], *_: object
        ) -> tuple[None, list[dict[str, Any]]]:
            """Give back the number that each chunk was filled with."""
            return None, [{"tokens": [int(one[0, 0])], "avg_logprob": 0.0, "no_speech_prob": 0.0} for one in features]

    done: Future[Any] = Future()
    done.set_result(Pipeline(_model(said)))
    return lambda _: done


def _model(said: Callable[[int], Said]) -> SimpleNamespace:
    tokenizer = SimpleNamespace(
        token_to_id=lambda _: 1,
        decode=lambda tokens: f" w{tokens[0]}" if tokens else "",
        encode=lambda *_, **__: SimpleNamespace(ids=[1]),
    )
    return SimpleNamespace(
        feature_extractor=_Features(), frames_per_second=100, hf_tokenizer=tokenizer, logger=_Silent(),
        model=SimpleNamespace(is_multilingual=True, n_mels=1),
        _split_segments_by_timestamps=_segments, add_word_timestamps=partial(_words, said),
    )  # fmt: skip


class _Features:
    sampling_rate, chunk_length = 16_000, 30

    def __call__(self, sound: NDArray[np.float32]) -> NDArray[np.float32]:
        return np.full((1, 2), sound[0], dtype=np.float32)


class _Silent:
    def __getattr__(self, _: str) -> Callable[..., None]:
        return lambda *_, **__: None


def _segments(tokens: list[int], time_offset: float, seek: int, **_: object) -> tuple[list[dict[str, Any]], int, bool]:
    one = {"seek": seek, "start": time_offset, "end": time_offset, "tokens": tokens}
    return ([] if tokens == [NOTHING] else [one]), seek, False


def _words(said: Callable[[int], Said], segments: list[list[dict[str, Any]]], *_: object) -> float:
    for segment in (one for chunk in segments for one in chunk):
        offset = segment["seek"] / 100
        segment["words"] = [
            {"word": f" {text}", "start": round(offset + start, 2), "end": round(offset + end, 2), "probability": 1.0}
            for text, start, end in said(segment["tokens"][0])
        ]
    return 0.0
