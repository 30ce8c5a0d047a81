"""Damaged recordings, and files that only pretend to be recordings: the right verdict each, in plain words."""

import random
from collections import Counter
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from threading import Thread

import pytest

from studio import media, transcript
from studio.errors import BonefolderError, RecordingError
from studio.model import Chapter, Span
from studio.settings import HearingChoices

Ffmpeg = Callable[..., None]
LOST = ("faststart cut at half", "faststart cut at nine tenths", "matroska cut at half")
REFUSED = ("cut before its index", "empty", "random bytes", "a text", "zero bytes")
WHOLE = ("sound named .wav", "matroska named .mp4", "turned", "uneven frame rate", "an hour of silence", "no picture")
DAMAGED = (*REFUSED, *LOST, *WHOLE, "flipped bits", "no sound")


def cut(source: Path, target: Path, share: float) -> None:
    """Keep the first part of a file."""
    data = source.read_bytes()
    target.write_bytes(data[: int(len(data) * share)])


def flipped(source: Path, target: Path) -> None:
    """Turn 200 bits over, in the middle of the file, the same ones every time."""
    data, chance = bytearray(source.read_bytes()), random.Random(7)
    for _ in range(200):
        data[chance.randrange(4096, len(data) - 40_000)] ^= 1 << chance.randrange(8)
    target.write_bytes(data)


@pytest.fixture(scope="session")
def damaged(ffmpeg: Ffmpeg, clip: Path, silence: Path, clips: Path) -> dict[str, Path]:
    """Return the damaged and the merely odd recordings by what is the matter with them."""
    made = {name: clips / f"{name.replace(' ', '-').replace('.', '')}.mp4" for name in DAMAGED}
    made["sound named .wav"] = clips / "sound.wav"
    fast, matroska = clips / "fast.mp4", clips / "matroska.mkv"
    ffmpeg("-i", clip, "-c", "copy", "-movflags", "+faststart", fast)
    ffmpeg("-i", clip, "-c", "copy", matroska)
    cut(clip, made["cut before its index"], 0.5)
    cut(fast, made["faststart cut at half"], 0.5)
    cut(fast, made["faststart cut at nine tenths"], 0.9)
    cut(matroska, made["matroska cut at half"], 0.5)
    flipped(clip, made["flipped bits"])
    made["empty"].write_bytes(b"")
    made["random bytes"].write_bytes(random.Random(1).randbytes(100_000))
    made["a text"].write_text("This is no recording.\n" * 1000)
    made["zero bytes"].write_bytes(bytes(100_000))
    made["matroska named .mp4"].write_bytes(matroska.read_bytes())
    ffmpeg("-i", clip, "-vn", "-c", "copy", "-f", "mp4", made["sound named .wav"])
    ffmpeg("-i", clip, "-an", "-c", "copy", made["no sound"])
    ffmpeg("-i", clip, "-vn", "-c", "copy", made["no picture"])
    ffmpeg("-display_rotation", "90", "-i", clip, "-c", "copy", made["turned"])
    ffmpeg("-i", clip, "-vf", "select='lt(n,100)+not(mod(n,7))'", "-fps_mode", "vfr", "-c:a", "copy",
           made["uneven frame rate"])  # fmt: skip
    ffmpeg("-f", "lavfi", "-i", "anullsrc=r=8000:cl=mono:d=3600", "-c:a", "aac", "-b:a", "8k",
           made["an hour of silence"])  # fmt: skip
    return made


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_read_is_refused_in_two_sentences(damaged: dict[str, Path], name: str) -> None:
    """The person hears what is wrong and what to do, with the file's name and nothing of the program's insides."""
    with pytest.raises(RecordingError) as refusal:
        media.probe(damaged[name])
    assert refusal.value.exit_code == 3
    assert damaged[name].name in refusal.value.problem
    assert all(text.endswith((".", "MP4.")) and "Traceback" not in text and "0x" not in text
               for text in (refusal.value.problem, refusal.value.remedy))  # fmt: skip


@pytest.mark.parametrize("name", LOST)
def test_a_recording_that_was_cut_off_is_heard_and_its_loss_is_known(
    damaged: dict[str, Path], tmp_path: Path, name: str
) -> None:
    """A cut of a tenth or more shows as decoded sound that is shorter than the file says."""
    found = media.probe(damaged[name])
    sound = media.sound(damaged[name], found.duration_ms, tmp_path / "s")
    assert isinstance(sound, media.Sound)
    assert found.duration_ms == pytest.approx(20_000, abs=100)
    assert 5_000 < sound.heard_ms < 0.96 * found.duration_ms


def test_flipped_bits_cost_little_and_what_they_cost_is_counted(damaged: dict[str, Path], tmp_path: Path) -> None:
    """A damaged recording is heard to its end, the times stay right, and what was lost is not counted as heard."""
    path = damaged["flipped bits"]
    sound = media.sound(path, media.probe(path).duration_ms, tmp_path / "s")
    assert isinstance(sound, media.Sound)
    assert sound.samples / 16 == pytest.approx(20_000, abs=300)
    assert 17_000 < sound.heard_ms < 20_000


@pytest.mark.parametrize("name", WHOLE)
def test_an_odd_recording_is_read_whole(damaged: dict[str, Path], tmp_path: Path, name: str) -> None:
    """The content decides and not the name; nothing is missing."""
    found = media.probe(damaged[name])
    sound = media.sound(damaged[name], found.duration_ms, tmp_path / "s")
    assert isinstance(sound, media.Sound)
    assert found.duration_ms - sound.heard_ms < max(1000, found.duration_ms // 200)
    assert sound.heard_ms >= (3_599_000 if name == "an hour of silence" else 19_900)


def test_a_recording_without_sound_is_told_so(damaged: dict[str, Path], tmp_path: Path) -> None:
    """It is probed as silent, and hearing it is refused with the remedy of a caption file."""
    found = media.probe(damaged["no sound"])
    assert (found.has_sound, found.has_picture) == (False, True)
    with pytest.raises(RecordingError, match=r"holds no sound.*caption file"):
        transcript.hear(damaged["no sound"], found, HearingChoices(), (), tmp_path, lambda *_: None)


def test_a_picture_that_cannot_be_decoded_costs_the_picture_only(clip: Path, tmp_path: Path) -> None:
    """Where every frame is ruined, what is said is still heard, and the recording counts as one without a picture."""
    import av

    ruined, data = tmp_path / "ruined.mp4", bytearray(clip.read_bytes())
    with av.open(str(clip)) as container:
        places = [(packet.pos, packet.size) for packet in container.demux(video=0) if packet.size]
    for position, size in places:
        data[position : position + size] = bytes(size)
    ruined.write_bytes(data)
    found = media.probe(ruined)
    assert (found.has_sound, found.has_picture, found.width) == (True, False, None)
    assert media.sound(ruined, found.duration_ms, tmp_path / "s").heard_ms > 19_900


def test_a_file_that_is_not_there_is_told_so(tmp_path: Path) -> None:
    """A wrong name is refused with the advice to check it."""
    with pytest.raises(RecordingError, match=r"cannot be opened.*Check the name"):
        media.probe(tmp_path / "none.mp4")


def test_thirty_damaged_files_never_end_in_a_traceback(clip: Path, tmp_path: Path) -> None:
    """Whatever bits are turned, the file is either read or refused by the program's own error; both happen."""
    short, told = clip.read_bytes(), Counter[str]()
    chance = random.Random(11)
    for _ in range(30):
        data = bytearray(short)
        for _ in range(20):
            data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        for _ in range(5):
            data[len(data) - chance.randrange(1, 20_000)] ^= 1 << chance.randrange(8)
        path = tmp_path / "flipped.mp4"
        path.write_bytes(data)
        try:
            told["read"] += media.sound(path, media.probe(path).duration_ms, tmp_path / "s").samples > 0
        except BonefolderError as error:
            told["refused"] += error.exit_code in (2, 3)
    assert told.total() == 30


# --- files that point elsewhere --------------------------------------------------------------------------------------


class Counting(HTTPServer):
    """A server on this machine that counts what it is asked."""

    hits = 0


class Answer(BaseHTTPRequestHandler):
    """Counts, and answers that there is nothing."""

    def do_GET(self) -> None:
        """Count."""
        assert isinstance(self.server, Counting)
        self.server.hits += 1
        self.send_error(404)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def server() -> Iterator[Counting]:
    """A server that must not be asked anything."""
    with Counting(("127.0.0.1", 0), Answer) as running:
        Thread(target=running.serve_forever, args=(0.02,), daemon=True).start()
        yield running
        running.shutdown()


def hls(target: str) -> str:
    """Return a playlist of one part (RFC 8216)."""
    return f"#EXTM3U\n#EXT-X-TARGETDURATION:20\n#EXTINF:20,\n{target}\n#EXT-X-ENDLIST\n"


def dash(target: str) -> str:
    """Return a manifest of one representation (ISO/IEC 23009-1)."""
    return (
        '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static" '
        'mediaPresentationDuration="PT20S" profiles="urn:mpeg:dash:profile:isoff-on-demand:2011"><Period>'
        f'<AdaptationSet mimeType="video/mp4"><Representation id="1" bandwidth="1"><BaseURL>{target}</BaseURL>'
        "</Representation></AdaptationSet></Period></MPD>"
    )


DISGUISES: dict[str, tuple[str, Callable[[Path, str], str]]] = {
    "playlist as mp4, local file": ("a.mp4", lambda near, _: hls(str(near))),
    "playlist, local file": ("a.m3u8", lambda near, _: hls(near.name)),
    "playlist, server": ("b.m3u8", lambda _, url: hls(url)),
    "playlist as mp4, server": ("b.mp4", lambda _, url: hls(url)),
    "list of parts, neighbour": ("c.mp4", lambda near, _: f"ffconcat version 1.0\nfile {near.name}\n"),
    "list of parts, whole path": ("d.mp4", lambda near, _: f"ffconcat version 1.0\nfile '{near}'\n"),
    "list of parts, server": ("e.mp4", lambda _, url: f"ffconcat version 1.0\nfile '{url}'\n"),
    "manifest, local file": ("f.mp4", lambda near, _: dash(f"file://{near}")),
    "manifest, server": ("f.mpd", lambda _, url: dash(url)),
    "session description": ("g.sdp", lambda *_: "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\n"
                            "m=audio 49170 RTP/AVP 0\n"),
}  # fmt: skip
DOORS: dict[str, Callable[[Path, Path], object]] = {
    "probe": lambda path, _: media.probe(path),
    "sound": lambda path, work: media.sound(path, 20_000, work / "s"),
    "stretches": lambda path, _: media.stretches(path, [Span(start_ms=0, end_ms=500)]),
    "frames": lambda path, _: media.frames(path, (0,)),
    "moments": lambda path, _: media.moments(path, 0, 1000),
    "scene changes": lambda path, _: media.scene_changes(path),
    "browser": lambda path, _: media.browser_plays(path),
    "proxy": lambda path, work: media.proxy(path, work / "proxy.mp4"),
    "chapters": lambda path, work: media.with_chapters(path, work / "chapters.mp4", [Chapter(start_ms=0, title="x")]),
}


@pytest.mark.parametrize("disguise", DISGUISES)
def test_a_file_that_points_elsewhere_opens_nothing(
    clip: Path, tmp_path: Path, server: Counting, disguise: str
) -> None:
    """Through every door it is refused, no neighbour is read and no server is asked."""
    near, url = tmp_path / "near.mp4", f"http://127.0.0.1:{server.server_port}/part.ts"
    near.write_bytes(clip.read_bytes())
    name, text = DISGUISES[disguise]
    (tmp_path / name).write_text(text(near, url))
    for door in DOORS.values():
        with pytest.raises(RecordingError):
            door(tmp_path / name, tmp_path)
    assert server.hits == 0


ODD_NAMES = (
    "http://127.0.0.1:{port}/a.mp4", "concat:{near}|{near}", "subfile,,start,0,end,999,,:{near}", "movie={near}",
    "data:video/mp4;base64,AAAA", "pipe:0", "/dev/fd/0", "cache:{near}",
)  # fmt: skip


@pytest.mark.parametrize("name", ODD_NAMES)
def test_a_name_that_ffmpeg_knows_otherwise_is_only_a_name(
    clip: Path, tmp_path: Path, server: Counting, name: str
) -> None:
    """An address, a protocol of ffmpeg or a filter given as the name of the recording is a file that is not there."""
    near = tmp_path / "near.mp4"
    near.write_bytes(clip.read_bytes())
    path = Path(name.format(port=server.server_port, near=near))
    for door in DOORS.values():
        with pytest.raises(RecordingError):
            door(path, tmp_path)
    assert server.hits == 0


def test_the_server_of_these_tests_would_have_counted(server: Counting, clip: Path) -> None:
    """Without the safe arguments ffmpeg does ask the server, so the zeros above mean something."""
    import subprocess

    from studio.media import decoder

    url = f"http://127.0.0.1:{server.server_port}/a.mp4"
    subprocess.run([decoder.program(), "-nostdin", "-v", "quiet", "-i", url], check=False, timeout=20)
    assert server.hits > 0
