"""Reads talks aloud with a free voice and hears them: `python tests/bench/read_aloud.py FOLDER TALK ...`.

Each line is spoken by flite (Debian; voices rms, slt, awb and kal16 by turns), with the silences of the written talk
between, so that it is known when every line begins and ends. The recording is then heard as the product hears one.
FOLDER/TALK.json keeps the voice, the lines' times and the words heard: real mishearings, without the sound.
"""

import json
import subprocess
import sys
import tempfile
import wave
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from studio import media, transcript  # noqa: E402
from studio.reader.forms import timed  # noqa: E402
from studio.reader.talks import Talk, read_talk  # noqa: E402
from studio.settings import HearingChoices  # noqa: E402

VOICES = ("rms", "slt", "awb", "kal16")
RATE = 16000


def spoken(text: str, voice: str, folder: Path) -> bytes:
    """Return the samples of a line as a voice says it: 16 kHz, 16 bit, mono."""
    said = folder / "line.txt"
    said.write_text(text, encoding="utf-8")
    made = folder / "line.wav"
    subprocess.run(["flite", "-voice", voice, "-f", said, "-o", made], check=True, capture_output=True)
    with wave.open(str(made)) as sound:
        assert (sound.getframerate(), sound.getsampwidth(), sound.getnchannels()) == (RATE, 2, 1)
        return sound.readframes(sound.getnframes())


def recording(talk: Talk, voice: str, folder: Path) -> tuple[Path, list[tuple[int, int]]]:
    """Speak a whole talk into a file; return it with the start and end of each line in milliseconds."""
    at = timed(talk, "spoken").at
    data, lines, ended = bytearray(), list[tuple[int, int]](), 0
    for line, one in zip(at, talk.utterances, strict=True):
        silence = max(150, line[0][0] - ended)
        data += bytes(2 * (RATE * silence // 1000))
        start = len(data) * 500 // RATE
        data += spoken(one.text, voice, folder)
        lines.append((start, len(data) * 500 // RATE))
        ended = line[-1][1]
    path = folder / f"{talk.name}.wav"
    with wave.open(str(path), "wb") as sound:
        sound.setframerate(RATE)
        sound.setsampwidth(2)
        sound.setnchannels(1)
        sound.writeframes(bytes(data))
    return path, lines


def heard(talk: Talk, voice: str) -> dict[str, object]:
    """Return what is kept of a talk that was read aloud and heard."""
    with tempfile.TemporaryDirectory() as place:
        path, lines = recording(talk, voice, Path(place))
        told = media.probe(path)
        made = transcript.hear(path, told, HearingChoices(), (), Path(place) / "work", lambda *_: None)
    words = [[w.text, w.start_ms, w.end_ms, w.confidence] for block in made.segments for w in block.words]
    return {"voice": voice, "recogniser": made.recogniser, "lines": lines, "words": words}


def main() -> None:
    """Read aloud and hear the talks named."""
    folder = Path(sys.argv[1])
    folder.mkdir(exist_ok=True)
    for turn, name in enumerate(sys.argv[2:]):
        into = folder / f"{name}.json"
        if into.exists():
            continue
        found = next((HERE.parent / "talks").glob(f"*/{name}.txt"))
        kept = heard(read_talk(found), VOICES[turn % len(VOICES)])
        into.write_text(json.dumps(kept, separators=(",", ":"), ensure_ascii=False) + "\n", encoding="utf-8")
        print(name, kept["voice"], len(kept["words"]), flush=True)  # type: ignore[arg-type]


if __name__ == "__main__":
    main()
