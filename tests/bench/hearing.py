"""Measures hearing against the bare batched recogniser with the same model and settings, each in a process of its own.

    python tests/bench/hearing.py RECORDING [--rounds 3] [--again START_MS-END_MS,...] [--names NAME,NAME,...]

Prints wall time, processor time and peak memory of both, and the ratio of the medians. Both start from the file and
decode its sound; with `--again` and `--names` the second hearing is included in ours.
"""

import argparse
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path


def ours(recording: Path, options: argparse.Namespace) -> int:
    """Hear a recording as the program does; return the number of words."""
    from studio import media, transcript
    from studio.model import Span
    from studio.settings import HearingChoices

    choices = HearingChoices()
    with tempfile.TemporaryDirectory() as work:
        first = transcript.hear(recording, media.probe(recording), choices, (), Path(work), lambda *_: None)
        pairs = [pair.split("-") for pair in options.again.split(",") if pair]
        spans = [Span(start_ms=int(start), end_ms=int(end)) for start, end in pairs]
        names = [name for name in options.names.split(",") if name]
        told = transcript.hear_again(recording, first, spans, names, choices, Path(work), lambda *_: None)
    return sum(len(segment.words) for segment in told.segments)


def bare(recording: Path, _: argparse.Namespace) -> int:
    """Hear a recording with faster-whisper alone; return the number of words."""
    from faster_whisper import BatchedInferencePipeline, WhisperModel

    from studio.hearing import speech_model

    folder = speech_model.find_model("").folder
    model = WhisperModel(str(folder), device="cpu", compute_type="int8", cpu_threads=len(os.sched_getaffinity(0)))
    segments, _info = BatchedInferencePipeline(model).transcribe(
        str(recording), language="en", batch_size=8, beam_size=5, word_timestamps=True, vad_filter=True
    )
    return sum(len(segment.words or ()) for segment in segments)


def measured(which: str, options: argparse.Namespace) -> dict[str, float]:
    """Run one of the two in a fresh process."""
    command = [sys.executable, __file__, str(options.recording), "--only", which]
    command += ["--again", options.again, "--names", options.names]
    start = time.perf_counter()
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return {"wall_s": time.perf_counter() - start, **json.loads(done.stdout.splitlines()[-1])}


def inside(options: argparse.Namespace) -> None:
    """Run one of the two here, and print what it took."""
    words = {"ours": ours, "bare": bare}[options.only](options.recording, options)
    used, children = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = used.ru_utime + used.ru_stime + children.ru_utime + children.ru_stime
    print(json.dumps({"cpu_s": cpu, "peak_mb": used.ru_maxrss / 1024, "words": words}))


def main() -> None:
    """Compare."""
    parser = argparse.ArgumentParser()
    parser.add_argument("recording", type=Path)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--again", default="")
    parser.add_argument("--names", default="")
    parser.add_argument("--only", choices=("ours", "bare"))
    options = parser.parse_args()
    if options.only:
        inside(options)
        return
    runs: dict[str, list[dict[str, float]]] = {"bare": [], "ours": []}
    for _ in range(options.rounds):
        for which, kept in runs.items():
            kept.append(measured(which, options))
    for which, kept in runs.items():
        print(which, {key: round(statistics.median(run[key] for run in kept), 2) for key in kept[0]})
    for key in ("wall_s", "cpu_s"):
        ours_, bare_ = (statistics.median(run[key] for run in runs[which]) for which in ("ours", "bare"))
        print(f"ratio {key}: {ours_ / bare_:.3f}")


if __name__ == "__main__":
    main()
