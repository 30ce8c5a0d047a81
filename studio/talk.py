"""All sentences of a recording as one running text, with the way back to sentences and times."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from studio.model import Sentence

_ENDS = (".", "?", "!", "…", ",", ";", ":")


@dataclass(frozen=True)
class RunningText:
    """The running text; `starts[i]` is the index of the first character of sentence `i` in it."""

    text: str
    sentences: tuple[Sentence, ...]
    starts: tuple[int, ...]

    def place(self, at: int) -> int:
        """Return the number of the sentence that holds this character."""
        return max(0, bisect_right(self.starts, at) - 1)

    def time_of(self, start: int, end: int) -> tuple[int, int]:
        """Return start and end in milliseconds of the characters `start` to `end`, also across sentences."""
        first, last = self.place(start), self.place(max(start, end - 1))
        begin, _ = self.sentences[first].time_of(start - self.starts[first], start - self.starts[first] + 1)
        stop = end - self.starts[last]
        return begin, self.sentences[last].time_of(max(0, stop - 1), max(1, stop))[1]


def running_text(sentences: Sequence[Sentence]) -> RunningText:
    """Join sentences; one without a mark at its end gets a full stop, so that no number runs into the next."""
    parts: list[str] = []
    starts: list[int] = []
    at = 0
    for sentence in sentences:
        part = sentence.text + (" " if sentence.text.endswith(_ENDS) else ". ")
        starts.append(at)
        parts.append(part)
        at += len(part)
    return RunningText("".join(parts), tuple(sentences), tuple(starts))
