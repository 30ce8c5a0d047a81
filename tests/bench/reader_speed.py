"""What the reader costs: seconds for an hour of talk, sequences a second, memory, and its share of recognition.

    python tests/bench/reader_speed.py [--recording FILE] [--network FILE] [--talks 2]

Talk of `train` is read beside its catalogue. With a recording, the bare recogniser hears it in a process of its own in
the same run (`hearing.py`), and the reader's time is told as a share of that time, hour for hour.
"""

import argparse
import resource
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from hearing import measured  # noqa: E402

from studio import media  # noqa: E402
from studio.reader.batches import windows_of  # noqa: E402
from studio.reader.forms import timed  # noqa: E402
from studio.reader.model import Reader  # noqa: E402
from studio.reader.reading import read_names, read_words, spans  # noqa: E402
from studio.reader.rows import Rows  # noqa: E402
from studio.reader.talks import read_talk  # noqa: E402

TRAIN = HERE.parent / "talks" / "train"
HOUR_MS = 3_600_000


def heard(recording: Path) -> float:
    """Return the seconds that the bare recogniser takes for an hour of a recording."""
    options = argparse.Namespace(recording=recording, again="", names="")
    return measured("bare", options)["wall_s"] * HOUR_MS / media.probe(recording).duration_ms


def peak_mb() -> float:
    """Return the most memory held so far, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """Print what the reader takes."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--recording", type=Path)
    ask.add_argument("--network", type=Path)
    ask.add_argument("--talks", type=int, default=2)
    told = ask.parse_args()
    before, began = peak_mb(), time.perf_counter()
    reader = Reader(network=told.network)
    print(f"loaded in {time.perf_counter() - began:.2f} s, {peak_mb() - before:.0f} MB")
    paths = sorted(TRAIN.glob("*.txt"))
    spent = {"words": 0.0, "rows": 0.0}
    many = {"words": 0, "rows": 0}
    talk_ms = 0
    for path in paths[:: max(1, len(paths) // told.talks)][: told.talks]:
        talk = read_talk(path)
        made = timed(talk, "recogniser").transcript
        said = [word.text for one in made.segments for word in one.words]
        talk_ms += made.segments[-1].end_ms
        began = time.perf_counter()
        words = read_words(reader, said)
        spent["words"] += time.perf_counter() - began
        many["words"] += len(windows_of([reader.pieces(word) for word in said]))
        began = time.perf_counter()
        asked = spans(words)
        read_names(reader, words, Rows(talk.catalogue), asked)
        spent["rows"] += time.perf_counter() - began
        many["rows"] += len(asked)
    for name, seconds in spent.items():
        rate = many[name] / seconds
        print(f"{name}: {seconds * HOUR_MS / talk_ms:.1f} s an hour of talk, {rate:.1f} sequences a second")
    hour = sum(spent.values()) * HOUR_MS / talk_ms
    print(f"both: {hour:.1f} s an hour of talk; peak {peak_mb():.0f} MB")
    if told.recording:
        recognised = heard(told.recording)
        print(f"recognition: {recognised:.1f} s an hour; the reader takes {hour / recognised:.2f} of it")


if __name__ == "__main__":
    main()
