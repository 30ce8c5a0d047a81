"""Run by the kill tests: hears a recording with the real journal, and a recogniser that only pretends.

    python tests/killed_hearing.py RECORDING WORK RESULT LOG

Each chunk that the recogniser is given is written to LOG; the transcript goes to RESULT.
"""

import sys
import time
from pathlib import Path

from studio import cache, media, transcript
from studio.hearing import recogniser
from studio.hearing.recogniser import HeardWord, Recogniser
from studio.model import Transcript
from studio.settings import HearingChoices

SECOND = 16_000


def main(recording: Path, work: Path, result: Path, log: Path) -> None:
    """Hear with a plan of one chunk a second, two chunks at once, a hundredth of a second each."""

    def words(_: Recogniser, chunks: list[list[recogniser.Piece]], **__: object) -> list[list[HeardWord]]:
        said = []
        for chunk in chunks:
            time.sleep(0.005)
            start, samples = chunk[0]
            with log.open("a") as stream:
                stream.write(f"{start}\n")
            text = f"w{start} {abs(float(samples.sum())):.6f}"
            said.append([HeardWord(start * 1000 // SECOND, start * 1000 // SECOND + 900, text, 0.5)])
        return said

    Recogniser.words = words  # type: ignore[method-assign, assignment]
    Recogniser.start = lambda _: None  # type: ignore[method-assign]
    recogniser.speech = lambda _, total: [(at, at + SECOND) for at in range(0, total - SECOND, SECOND)]
    recogniser.chunks = lambda spans, _: [[tuple(span)] for span in spans]  # type: ignore[misc]
    choices = HearingChoices(batch=2)
    heard = transcript.hear(recording, media.probe(recording), choices, (), work, lambda *_: None)
    cache.write(result, cache.to_bytes(heard, Transcript))


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
