"""How long decisions take to lay over two hours of words; the limit for one decision is 2 s in all."""

import sys
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1])]

from spoken import sentences  # noqa: E402

from studio import edits  # noqa: E402
from studio.edits import Edits, kinds  # noqa: E402
from studio.edits.kinds import Anchor  # noqa: E402

SENTENCE = "Some words that were said here today again."


def main() -> None:
    """Print the time of 200 decisions, and beside it that of one, in one run."""
    said = sentences(" ".join([SENTENCE] * 1800))
    for count in (1, 200):
        made = tuple(
            kinds.WordCorrected(
                anchor=Anchor(start_ms=one.start_ms, end_ms=one.words[0].end_ms, heard="Some"), shown="Sum",
                everywhere=n % 10 == 0,
            )
            for n, one in enumerate(said[:count])
        )  # fmt: skip
        began = time.process_time()
        edits.lay_over("sentences", said, Edits(made))
        print(f"{count} decisions over {len(said)} sentences: {time.process_time() - began:.2f} s")


if __name__ == "__main__":
    main()
