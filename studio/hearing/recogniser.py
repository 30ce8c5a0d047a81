"""The speech recogniser: where there is speech, and which words were said."""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from studio.errors import ModelMissing
from studio.hearing.speech_model import Model

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RATE = 16_000
LONGEST = 30 * RATE
"""Samples that the recogniser takes at once."""
_FRAMES = 100
"""The recogniser counts time in hundredths of a second, and tells where a chunk begins to the nearest one or two."""
_SHORTEST = 24 * RATE
_PADDING = 6_400
_WINDOW = 600 * RATE
_UNSPACED = {"zh", "yue", "ja", "th", "lo", "my", "km"}
"""Languages that are written without spaces between words."""

Piece = tuple[int, "NDArray[np.float32]"]
"""The index of its first sample in the recording, and the samples."""


@dataclass(frozen=True)
class HeardWord:
    """A word with its times in milliseconds of the recording, and how sure the recogniser is of it, 0 to 1."""

    start_ms: int
    end_ms: int
    text: str
    confidence: float


# --- where there is speech -------------------------------------------------------------------------------------------


def speech(part: "Callable[[int, int], NDArray[np.float32]]", total: int) -> list[tuple[int, int]]:
    """Return where there is speech: pairs of sample indices, without padding, none longer than the recogniser takes.

    Silero voice activity detection, as the recogniser's own batched pipeline sets it: a silence lasts 160 ms or more.
    Ten minutes are looked at in one go; what is still being said at their end is looked at again with what follows.

    Args:
        part: function of two sample indices that returns the sound between them.
        total: number of samples.
    """
    from faster_whisper.vad import VadOptions, get_speech_timestamps

    longest = (LONGEST - 2 * _PADDING) / RATE
    options = VadOptions(max_speech_duration_s=longest, min_silence_duration_ms=160, speech_pad_ms=0)
    spans: list[tuple[int, int]] = []
    start = 0
    while start < total:
        end = min(total, start + _WINDOW)
        found = [(start + s["start"], start + s["end"]) for s in get_speech_timestamps(part(start, end), options)]
        going_on = end < total and bool(found) and found[-1][1] >= end
        spans += found[:-1] if going_on else found
        start = found[-1][0] if going_on else end
    return spans


def widened(spans: Sequence[tuple[int, int]], total: int, padding: int = _PADDING) -> list[tuple[int, int]]:
    """Widen each span by 400 ms on both sides, or to the middle of a shorter silence; units are the caller's."""
    edges = [0, *((a[1] + b[0]) // 2 for a, b in pairwise(spans)), total]
    return [
        (max(low, start - padding), min(high, end + padding))
        for (start, end), (low, high) in zip(spans, pairwise(edges), strict=False)
    ]


def chunks(spans: Sequence[tuple[int, int]], total: int) -> list[list[tuple[int, int]]]:
    """Group spans of speech into chunks of at most 30 s of sound, each span widened as `padded` says.

    A chunk ends at the longest silence after its first 24 s, so that few sentences are cut in two.
    """
    wide = widened(spans, total)
    grouped: list[list[tuple[int, int]]] = []
    while wide:
        count = _best_cut(spans, wide)
        grouped.append(wide[:count])
        spans, wide = spans[count:], wide[count:]
    return grouped


def _best_cut(spans: Sequence[tuple[int, int]], wide: Sequence[tuple[int, int]]) -> int:
    """Return how many of the first spans make the next chunk."""
    lengths = list(accumulate(end - start for start, end in wide))
    fitting = max(1, sum(1 for length in lengths if length <= LONGEST))
    if fitting == len(wide):
        return fitting
    silences = {n: spans[n][0] - spans[n - 1][1] for n in range(1, fitting + 1) if lengths[n - 1] >= _SHORTEST}
    return max(silences, key=lambda n: (silences[n], n)) if silences else fitting


def in_chunks(pieces: Sequence[Piece]) -> list[list[Piece]]:
    """Group pieces of sound, in order, into chunks of at most 30 s."""
    grouped: list[list[Piece]] = []
    held = LONGEST
    for piece in pieces:
        held += len(piece[1])
        if held > LONGEST:
            grouped.append([])
            held = len(piece[1])
        grouped[-1].append(piece)
    return grouped


# --- which words were said -------------------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _loading(folder: Path) -> "Future[Any]":
    """Begin to load a model beside other work; it is kept for the next hearing until `forget`."""
    worker = ThreadPoolExecutor(1)
    loading = worker.submit(_load, folder)
    worker.shutdown(wait=False)
    return loading


def _load(folder: Path) -> Any:  # noqa: ANN401
    # Threads that spin while they wait took up to four times the processor time on a busy machine, and saved none.
    os.environ.setdefault("OMP_WAIT_POLICY", "passive")
    from faster_whisper import BatchedInferencePipeline, WhisperModel

    return BatchedInferencePipeline(
        WhisperModel(str(folder), device="cpu", compute_type="int8", cpu_threads=_threads(), local_files_only=True)
    )


def forget() -> None:
    """Give back the memory of the loaded model."""
    _loading.cache_clear()


class Recogniser:
    """A model, loaded beside other work once `start` or any other method is called."""

    def __init__(self, model: Model) -> None:
        self.model = model

    def start(self) -> None:
        """Begin to load the model."""
        _loading(self.model.folder)

    @property
    def _pipeline(self) -> Any:  # noqa: ANN401
        try:
            return _loading(self.model.folder).result()
        except (RuntimeError, ValueError) as error:
            forget()
            raise ModelMissing(
                f"The model in {self.model.folder} cannot be loaded.",
                "Name another as `model` under [hearing] in the settings.",
            ) from error

    def tokens(self, text: str) -> int:
        """Return how many tokens a text takes of the 223 that a prompt may have."""
        return len(self._pipeline.model.hf_tokenizer.encode(" " + text, add_special_tokens=False).ids)

    def language(self, samples: "NDArray[np.float32]") -> str:
        """Return the language spoken, as an ISO 639-1 code."""
        return str(self._pipeline.model.detect_language(samples)[0])

    def words(
        self, chunks: Sequence[Sequence[Piece]], *, language: str, beam: int, hotwords: str = ""
    ) -> list[list[HeardWord]]:
        """Return the words of each chunk; a batch is all the chunks given, and nothing is carried to the next call.

        Args:
            chunks: each at most 30 s of sound in pieces, which are heard as one.
            language: ISO 639-1 code.
            beam: how many readings are kept while decoding.
            hotwords: names that may be said, at most 223 tokens.
        """
        import numpy as np

        sounds = [np.concatenate([samples for _, samples in chunk]) for chunk in chunks]
        edges = list(accumulate((len(sound) for sound in sounds), initial=0))
        clips = [{"start": (a + 0.5) / RATE, "end": (b + 0.5) / RATE} for a, b in pairwise(edges)]
        found, _ = self._pipeline.transcribe(
            np.concatenate(sounds), language=language, beam_size=beam, batch_size=len(sounds), word_timestamps=True,
            vad_filter=False, clip_timestamps=clips, hotwords=hotwords or None,
        )  # fmt: skip
        said: list[list[HeardWord]] = [[] for _ in chunks]
        for segment in found:
            place = _nearest(edges[:-1], segment.seek * RATE // _FRAMES)
            said[place] += _placed(segment.words or (), segment.seek / _FRAMES, chunks[place], language)
        return said


def _nearest(edges: Sequence[int], sample: int) -> int:
    """Return which edge a rounded sample means: the nearest, for no chunk is as short as the rounding."""
    return min(range(len(edges)), key=lambda place: abs(edges[place] - sample))


def _threads() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _placed(words: Sequence[Any], offset: float, chunk: Sequence[Piece], language: str) -> list[HeardWord]:
    placed: list[HeardWord] = []
    for word in words:
        start, end = _in_recording(word.start - offset, word.end - offset, chunk)
        glued = bool(placed) and not word.word.startswith(" ") and language not in _UNSPACED
        last = placed.pop() if glued else HeardWord(start, end, "", 1.0)
        confidence = min(last.confidence, round(float(word.probability), 3))
        placed.append(HeardWord(last.start_ms, max(last.start_ms, end), last.text + word.word.strip(), confidence))
    return [word for word in placed if word.text]


def _in_recording(start: float, end: float, chunk: Sequence[Piece]) -> tuple[int, int]:
    """Turn seconds of a chunk into milliseconds of the recording, by the piece that holds the middle of the word."""
    middle, passed = (start + end) / 2 * RATE, 0
    shift = 0
    for first, samples in chunk:
        shift = first - passed
        passed += len(samples)
        if middle < passed:
            break
    return max(0, round(1000 * (start + shift / RATE))), max(0, round(1000 * (end + shift / RATE)))
