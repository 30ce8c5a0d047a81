"""Make the sample recording from `script.toml`: the voice, the table scene, the film, and the true times.

    python sample_media/make_sample.py --voice-model FOLDER [--work FOLDER] [--preview SECONDS ...]

FOLDER holds `model.onnx` and `bf_emma.bin`; README.md says where they come from and under which licence. The voice is
kept in the work folder, so that a change of the picture does not need the model again.
"""

import argparse
import functools
import json
import math
import subprocess
import tomllib
import wave
from dataclasses import dataclass, field
from pathlib import Path

import drawn
import imageio_ffmpeg
import numpy as np
from PIL import Image, ImageFilter

HERE = Path(__file__).parent
FPS = 24
SIZE = (1280, 720)
TAIL_S = 2.0
REACH_S, REST_S, LEAVE_S = 0.35, 0.3, 0.5
"""A hand comes this long before a move, stays this long after it, and takes this long to go."""
HELD_S = 1.3
"""Between two moves of one item that are closer than this the hand does not let go."""
PLAIN_PX = 1.0
"""A lens blur of this many pixels or more counts as blurred, and a shake of twice as many."""


# --- the voice -------------------------------------------------------------------------------------------------------


def speak(script, model, work):
    """Return the sound (24 kHz, -1 to 1) and the start and end of each sentence in milliseconds."""
    kept = work / "voice.npz"
    wanted = json.dumps([script["voice"], script["speed"], [(s["pause"], s["text"]) for s in script["sentence"]]])
    if kept.exists() and (found := np.load(kept))["script"].item() == wanted:
        return found["sound"], found["times"].tolist()
    voice = _kokoro(script["voice"], model, work)
    pieces, times, at = [], [], 0
    for sentence in script["sentence"]:
        said, rate = voice.create(sentence["text"], voice=script["voice"], speed=script["speed"], lang="en-gb")
        gap = np.zeros(round(sentence["pause"] * rate), np.float32)
        at += len(gap)
        times.append((round(at * 1000 / rate), round((at + len(said)) * 1000 / rate)))
        at += len(said)
        pieces += [gap, said.astype(np.float32)]
    sound = np.concatenate([*pieces, np.zeros(round(TAIL_S * 24000), np.float32)])
    np.savez(kept, script=np.array(wanted), sound=sound, times=np.array(times))
    return sound, times


def _kokoro(name, model, work):
    import onnxruntime
    from kokoro_onnx import Kokoro

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 2
    session = onnxruntime.InferenceSession(str(model / "model.onnx"), options, providers=["CPUExecutionProvider"])
    styles = np.fromfile(model / f"{name}.bin", dtype=np.float32).reshape(510, 1, 256)
    np.savez(work / "voices.npz", **{name: styles})
    return Kokoro.from_session(session, str(work / "voices.npz"))


# --- what happens when -----------------------------------------------------------------------------------------------


@dataclass
class Move:
    """An item is carried by a hand from one place to another."""

    item: str
    start: float
    takes: float
    source: tuple
    target: tuple
    turn: tuple
    show: tuple
    """The picture before and after."""


@dataclass
class Scene:
    """All that happens, in seconds."""

    moves: list = field(default_factory=list)
    cameras: list = field(default_factory=list)
    blurs: list = field(default_factory=list)
    length: float = 0.0


def scene(script, times, length):
    made, last = Scene(length=length), {}
    for sentence, (start_ms, _) in zip(script["sentence"], times, strict=True):
        begin = start_ms / 1000
        for move in sentence.get("moves", []):
            place, angle, shown = last.get(move["item"], (move.get("from"), move.get("angle", 0), move["item"]))
            place = move.get("from", place)
            after = (move["to"], move.get("angle", angle), move.get("show", shown))
            made.moves.append(Move(move["item"], max(0, begin + move["at"]), move["takes"], tuple(place),
                                   tuple(move["to"]), (angle, after[1]), (shown, after[2])))  # fmt: skip
            last[move["item"]] = after
        if "camera" in sentence:
            made.cameras.append((begin + sentence["camera"]["at"], sentence["camera"]))
        for blur in sentence.get("blurs", []):
            made.blurs.append((blur["kind"], begin + blur["at"], begin + blur["at"] + blur["takes"]))
    made.moves.sort(key=lambda move: move.start)
    return made


def eased(part):
    part = min(1.0, max(0.0, part))
    return part * part * (3 - 2 * part)


def between(a, b, part):
    return tuple(x + (y - x) * part for x, y in zip(a, b, strict=True))


# --- the picture -----------------------------------------------------------------------------------------------------


@functools.cache
def sprite(name, angle):
    picture = drawn.hand(mirrored=True) if name == "left hand" else drawn.PICTURES[name]()
    return picture.rotate(-angle, expand=True, resample=Image.Resampling.BICUBIC) if angle else picture


def lay(canvas, name, place, angle):
    picture = sprite(name, round(angle))
    x, y = round(place[0] - picture.width / 2), round(place[1] - picture.height / 2)
    canvas.paste(picture, (x, y), picture)


class Table:
    """The table at any time; items that lie still are kept as one picture."""

    def __init__(self, plan):
        self.plan = plan
        self.empty = drawn.table().convert("RGB")
        self.kept = (None, self.empty)

    def at(self, now):
        """Return the whole table at a time in seconds."""
        lying, moving = {}, []
        for move in self.plan.moves:
            if now >= move.start + move.takes:
                if move.takes:  # what is carried comes to lie on top; what only changes stays where it lies
                    lying.pop(move.item, None)
                lying[move.item] = (move.show[1], move.target, move.turn[1])
            elif now >= move.start:
                lying.pop(move.item, None)
                part = eased((now - move.start) / move.takes)
                angle = move.turn[0] + (move.turn[1] - move.turn[0]) * part
                moving.append((move.show[0], between(move.source, move.target, part), angle))
        key = tuple(lying.values())
        if self.kept[0] != key:
            canvas = self.empty.copy()
            for name, place, angle in key:
                lay(canvas, name, place, angle)
            self.kept = (key, canvas)
        canvas = self.kept[1].copy()
        for name, place, angle in moving:
            lay(canvas, name, place, angle)
        for name, place, angle in self.hands(now):
            lay(canvas, name, place, angle)
        return canvas

    def hands(self, now):
        """Give each hand that is over the table: which, where, how turned."""
        carried = [move for move in self.plan.moves if move.takes]
        for move in carried:
            begin, end = move.start, move.start + move.takes
            others = [other for other in carried if other is not move and other.item == move.item]
            follows = any(0 <= begin - other.start - other.takes < HELD_S for other in others)
            let_go = min((other.start for other in others if 0 <= other.start - end < HELD_S), default=end + REST_S)
            held_on = let_go != end + REST_S
            if not begin - REACH_S * (not follows) <= now < let_go + LEAVE_S * (not held_on):
                continue
            left = (move.source[0] + move.target[0]) / 2 < 900
            tip = self.grip(move, between(move.source, move.target, eased((now - begin) / move.takes)))
            away = (tip[0] + (-160 if left else 160), 1180)
            if now < begin:
                tip = between(away, tip, eased(1 - (begin - now) / REACH_S))
            elif now > let_go:
                tip = between(tip, away, eased((now - let_go) / LEAVE_S))
            yield ("left hand" if left else "hand"), (tip[0] + (-46 if left else 46), tip[1] + 440), 8 if left else -8

    @staticmethod
    def grip(move, place):
        """Return where the fingertips are while an item is held."""
        height = sprite(move.show[0], 0).height - 48
        return place[0] + (-30 if place[0] < 900 else 30), place[1] + height / 2 - 70


def steady(plan, now):
    """Where the camera looks: centre and zoom; it is never quite still."""
    zoom = 1.0
    for start, camera in plan.cameras:
        zoom += (camera["zoom"] - zoom) * eased((now - start) / camera["takes"])
    x = 960 + 4 * math.sin(now * 0.9) + 2 * math.sin(now * 2.3 + 1)
    y = 545 + 3 * math.sin(now * 0.7 + 2) + 2 * math.sin(now * 1.9)
    for kind, start, end in plan.blurs:
        if kind == "bump" and start < now < end:
            x += 60 * math.sin((now - start) * 21) * math.sin(math.pi * (now - start) / (end - start))
    return x, y, zoom


def shot(canvas, camera):
    x, y, zoom = camera
    width, height = drawn.CANVAS[0] / zoom, drawn.CANVAS[1] / zoom
    left = min(max(0.0, x - width / 2), drawn.CANVAS[0] - width)
    top = min(max(0.0, y - height / 2), drawn.CANVAS[1] - height)
    return canvas.resize(SIZE, Image.Resampling.BILINEAR, box=(left, top, left + width, top + height))


def lens(plan, now):
    """Return by how many pixels the lens is out of focus."""
    soft = ((a, b) for kind, a, b in plan.blurs if kind == "focus" and a < now < b)
    blurs = (7 * math.sin(math.pi * (now - a) / (b - a)) for a, b in soft)
    return max(blurs, default=0.0)


def frame(table, now):
    plan = table.plan
    bumped = any(kind == "bump" and a < now < b for kind, a, b in plan.blurs)
    moving = any(move.start - REACH_S < now < move.start + move.takes + REST_S + LEAVE_S for move in plan.moves)
    parts = 6 if bumped else 3 if moving else 1
    picture = None
    for part in range(parts):
        moment = now + part / parts / FPS * (1.0 if bumped else 0.6)
        seen = shot(table.at(moment), steady(plan, moment))
        picture = seen if picture is None else Image.blend(picture, seen, 1 / (part + 1))
    out = lens(plan, now)
    return picture.filter(ImageFilter.GaussianBlur(out)) if out > 0.3 else picture


# --- the files -------------------------------------------------------------------------------------------------------


def film(plan, sound, target, recorded):
    half, wav = target.with_suffix(".part.mp4"), target.with_suffix(".wav")
    with wave.open(str(wav), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(24000)
        hiss = np.random.default_rng(1).normal(0, 0.0008, len(sound))  # a room is never silent
        out.writeframes((np.clip(sound * 0.85 + hiss, -1, 1) * 32767).astype("<i2").tobytes())
    command = [
        imageio_ffmpeg.get_ffmpeg_exe(), "-y", "-v", "error", "-f", "rawvideo", "-pix_fmt", "rgb24",
        "-s", f"{SIZE[0]}x{SIZE[1]}", "-r", str(FPS), "-i", "-", "-i", str(wav), "-c:v", "libx264", "-preset", "slow",
        "-crf", "30", "-pix_fmt", "yuv420p", "-g", "120", "-c:a", "aac", "-b:a", "48k", "-ac", "1",
        "-metadata", f"creation_time={recorded}T10:30:00Z", "-metadata", "title=A leaf print card",
        "-movflags", "+faststart", "-fflags", "+bitexact", "-flags:v", "+bitexact", "-flags:a", "+bitexact", str(half),
    ]  # fmt: skip
    table = Table(plan)
    with subprocess.Popen(command, stdin=subprocess.PIPE) as child:
        for number in range(int(plan.length * FPS)):
            child.stdin.write(frame(table, number / FPS).tobytes())
        child.stdin.close()
    if child.returncode:
        raise SystemExit(child.returncode)
    half.replace(target)
    wav.unlink()


def blurred(plan, number):
    """Return whether a frame is visibly blurred: out of focus, or the camera moved while the shutter was open."""
    now = number / FPS
    (x, _, zoom), (later, _, _) = steady(plan, now), steady(plan, now + 1 / FPS)
    travel = abs(later - x) * zoom * SIZE[0] / drawn.CANVAS[0]
    return lens(plan, now) >= PLAIN_PX or travel >= 2 * PLAIN_PX


def ranges(plan):
    """Return where the picture is blurred, and where a hand is over the table, in milliseconds."""
    soft, last = [], -2
    for number in range(int(plan.length * FPS)):
        if blurred(plan, number):
            begin = soft.pop()[0] if number == last + 1 else number / FPS
            soft.append((begin, (number + 1) / FPS))
            last = number
    hands = [(m.start - REACH_S, m.start + m.takes + REST_S + LEAVE_S) for m in plan.moves if m.takes]
    return [[[round(a * 1000), round(b * 1000)] for a, b in part] for part in (soft, sorted(hands))]


def true_times(script, times, plan):
    soft, hands = ranges(plan)
    return {
        "duration_ms": int(plan.length * 1000), "fps": FPS,
        "sentences": [{"start_ms": a, "end_ms": b, "text": s["text"]}
                      for s, (a, b) in zip(script["sentence"], times, strict=True)],
        "chapters": [{"start_ms": a, "title": s["chapter"]}
                     for s, (a, _) in zip(script["sentence"], times, strict=True) if "chapter" in s],
        "shown": [{"code": code, "start_ms": a}
                  for s, (a, _) in zip(script["sentence"], times, strict=True) for code in s.get("shown", [])],
        "blurred_ms": soft, "hands_ms": hands,
    }  # fmt: skip


def main():
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--voice-model", type=Path, required=True)
    asked.add_argument("--work", type=Path, default=Path("/tmp/sample"))
    asked.add_argument("--preview", type=float, nargs="*", help="write single frames of these seconds, and no film")
    given = asked.parse_args()
    given.work.mkdir(parents=True, exist_ok=True)
    script = tomllib.loads((HERE / "script.toml").read_text(encoding="utf-8"))
    sound, times = speak(script, given.voice_model, given.work)
    plan = scene(script, times, len(sound) / 24000)
    for second in given.preview or []:
        frame(Table(plan), second).save(given.work / f"frame-{second:06.2f}.png")
    if given.preview is None:
        film(plan, sound, HERE / "recording.mp4", script["recorded"])
    (HERE / "script_times.json").write_text(json.dumps(true_times(script, times, plan), indent=1) + "\n")


if __name__ == "__main__":
    main()
