"""The door to ffmpeg and PyAV: what a recording holds, its sound and pictures, and the copies made from it."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from studio import media
from studio.errors import DecoderCrashed, RecordingError, StorageError
from studio.media import copies, decoder
from studio.model import Chapter, Span

Ffmpeg = Callable[..., None]
RAMP = "color=black:d=20:s=160x120:r=25,format=gray,geq=lum='T*12'"
"""A picture whose brightness tells its time: 12 steps a second."""


@pytest.fixture(scope="session")
def ramp(ffmpeg: Ffmpeg, clips: Path) -> Path:
    """A picture that tells its time, with frames at uneven times (variable frame rate)."""
    made = clips / "ramp.mp4"
    uneven = "select='lt(n,100)+not(mod(n,7))'"
    ffmpeg("-f", "lavfi", "-i", f"{RAMP},{uneven}", "-fps_mode", "vfr", "-c:v", "libx264", "-g", "250", made)
    return made


@pytest.fixture(scope="session")
def phone(ffmpeg: Ffmpeg, clip: Path, clips: Path) -> Path:
    """The test clip, stored lying down with a wish to be shown upright, as telephones do."""
    made = clips / "phone.mp4"
    ffmpeg("-display_rotation", "90", "-i", clip, "-c", "copy", made)
    return made


@pytest.fixture(scope="session")
def hevc(ffmpeg: Ffmpeg, clips: Path) -> Path:
    """Two seconds in HEVC, as newer telephones record."""
    made = clips / "hevc.mp4"
    ffmpeg("-f", "lavfi", "-i", "testsrc2=d=2:s=320x180", "-c:v", "libx265", "-x265-params", "log-level=error", made)
    return made


@pytest.fixture(scope="session")
def late(ffmpeg: Ffmpeg, clip: Path, clips: Path) -> Path:
    """The test clip, with its sound beginning 1.5 s after the picture."""
    made = clips / "late.mp4"
    ffmpeg("-i", clip, "-itsoffset", "1.5", "-i", clip, "-map", "0:v", "-map", "1:a", "-c", "copy", made)
    return made


def brightness(frame: media.Frame) -> float:
    """Return the mean of a frame."""
    return float(np.frombuffer(frame.pixels, dtype=np.uint8).mean())


def test_probe_tells_what_a_recording_holds(clip: Path) -> None:
    """Length, size, frame rate and streams are those the clip was made with."""
    found = media.probe(clip)
    assert (found.duration_ms, found.width, found.height, found.fps) == (20_000, 320, 180, Fraction(25))
    assert (found.has_picture, found.has_sound, found.source) == (True, True, "clip.mp4")


def test_a_turned_recording_is_measured_and_shown_as_it_is_watched(phone: Path) -> None:
    """A recording stored lying down has the width and height, and the frames, of an upright one."""
    found = media.probe(phone)
    assert (found.width, found.height) == (180, 320)
    assert [(frame.width, frame.height) for frame in media.frames(phone, (1000,))] == [(180, 320)]


def test_a_frame_is_the_one_of_its_time_at_uneven_frame_rates(ramp: Path) -> None:
    """The brightness of a frame tells that it is the frame asked for, before and after the rate changes."""
    times = (400, 2000, 3960, 8400, 14_000)
    for at, frame in zip(times, media.frames(ramp, times), strict=True):
        assert brightness(frame) == pytest.approx(at / 1000 * 12, abs=5)


def test_hevc_is_read_but_not_left_to_a_browser(hevc: Path, tmp_path: Path) -> None:
    """A telephone's HEVC gives frames, and a small copy that browsers play."""
    assert media.frames(hevc, (1000,))[0].width == 320
    assert not media.browser_plays(hevc)
    media.proxy(hevc, tmp_path / "small.mp4")
    assert media.browser_plays(tmp_path / "small.mp4")
    assert media.probe(tmp_path / "small.mp4").duration_ms == pytest.approx(2000, abs=100)


def test_a_common_recording_plays_in_a_browser_as_it_is(clip: Path) -> None:
    """H.264 with AAC in MP4 needs no copy."""
    assert media.browser_plays(clip)


def test_a_time_past_the_end_gives_no_frame(clip: Path, tmp_path: Path) -> None:
    """There is no picture after the last, and none is made up."""
    assert media.frames(clip, (60_000,)) == ()
    assert media.save_still(clip, 60_000, tmp_path / "none.jpg") is None
    assert not (tmp_path / "none.jpg").exists()


def test_moments_carry_the_times_they_were_taken_at(ramp: Path) -> None:
    """Five frames a second, each labelled with its own time."""
    found = media.moments(ramp, 1000, 2000, rate=5, width=160)
    assert [frame.at_ms for frame in found] == [1000, 1200, 1400, 1600, 1800]
    for frame in found:
        assert brightness(frame) == pytest.approx(frame.at_ms / 1000 * 12, abs=5)


def test_a_blurred_picture_is_less_sharp_and_a_dark_one_badly_lit(ffmpeg: Ffmpeg, clip: Path, tmp_path: Path) -> None:
    """Sharpness falls with blur and exposure with light (variance of the Laplacian: Pech-Pacheco and others, 2000)."""
    blurred, dark = tmp_path / "blurred.mp4", tmp_path / "dark.mp4"
    ffmpeg("-i", clip, "-t", "2", "-vf", "gblur=sigma=3", "-an", blurred)
    ffmpeg("-i", clip, "-t", "2", "-vf", "lutyuv=y=val/6", "-an", dark)
    plain, soft, dim = (media.figures(media.frames(path, (1000,)))[0] for path in (clip, blurred, dark))
    assert soft.sharpness < plain.sharpness / 3
    assert dim.exposure < plain.exposure / 2


def test_motion_is_the_change_from_one_frame_to_the_next(clip: Path, ramp: Path) -> None:
    """A still pair has no motion, a moving one has."""
    (frame,) = media.frames(clip, (1000,))
    assert [found.motion for found in media.figures((frame, frame))] == [0, 0]
    assert media.figures(media.frames(clip, (1000, 2000)))[1].motion > 1


def test_a_still_is_written_in_the_form_its_name_asks_for(clip: Path, tmp_path: Path) -> None:
    """A .jpg is a JPEG and a .webp a WebP (first bytes: ITU-T T.81 and RFC 9649)."""
    assert media.save_still(clip, 1000, tmp_path / "a.jpg") == (320, 180)
    assert (tmp_path / "a.jpg").read_bytes()[:3] == b"\xff\xd8\xff"
    assert media.save_still(clip, 1000, tmp_path / "a.webp", width=160) == (160, 90)
    assert (tmp_path / "a.webp").read_bytes()[8:12] == b"WEBP"


def test_a_change_of_the_whole_picture_is_found(ffmpeg: Ffmpeg, tmp_path: Path) -> None:
    """A cut from one scene to another is told with its time."""
    made = tmp_path / "cut.mp4"
    ffmpeg("-f", "lavfi", "-i", "testsrc2=d=4:s=320x180", "-f", "lavfi", "-i", "color=white:d=4:s=320x180",
           "-filter_complex", "[0][1]concat", "-c:v", "libx264", made)  # fmt: skip
    assert media.scene_changes(made) == (4000,)


def test_sound_is_as_long_as_the_recording_says(clip: Path, tmp_path: Path) -> None:
    """Twenty seconds are 320,000 samples at 16 kHz, and all of them could be decoded."""
    found = media.sound(clip, 20_000, tmp_path / "s")
    assert found.samples == pytest.approx(320_000, abs=1600)
    assert found.heard_ms == pytest.approx(20_000, abs=100)


def test_a_late_beginning_of_the_sound_keeps_its_time(late: Path, tmp_path: Path) -> None:
    """Sound that begins 1.5 s after the picture stands at 1.5 s, and the wait is no loss."""
    found = media.sound(late, 21_500, tmp_path / "s")
    loud = np.flatnonzero(np.abs(found.part(0, found.samples)) > 0.02)
    assert loud[0] / 16_000 == pytest.approx(1.5, abs=0.05)
    assert found.heard_ms == pytest.approx(21_500, abs=100)


def test_a_stretch_sounds_as_it_does_in_the_whole(late: Path, tmp_path: Path) -> None:
    """Stretches taken out by themselves equal the same samples of the whole, silence included."""
    whole = media.sound(late, 21_500, tmp_path / "s")
    spans = [Span(start_ms=500, end_ms=1200), Span(start_ms=1300, end_ms=2300), Span(start_ms=21_000, end_ms=22_500)]
    for span, part in zip(spans, media.stretches(late, spans), strict=True):
        same = whole.part(span.start_ms * 16, span.end_ms * 16)
        assert len(part) == (span.end_ms - span.start_ms) * 16
        assert np.abs(part[: len(same)] - same).max() < 0.02


def test_chapters_are_in_the_copy_and_the_recording_is_as_before(clip: Path, tmp_path: Path) -> None:
    """Titles with every special sign of the format come back, read by PyAV, with the times; the source is untouched."""
    import av

    before = clip.read_bytes()
    titles = ["Start = here; #1", "back\\slash", "two\nlines"]
    parts = [Chapter(start_ms=at, title=title) for at, title in zip((0, 5000, 12_500), titles, strict=True)]
    media.with_chapters(clip, tmp_path / "copy.mp4", parts)
    with av.open(str(tmp_path / "copy.mp4")) as container:
        found = container.chapters()
    assert [(c["start"] * c["time_base"], c["end"] * c["time_base"]) for c in found] == [(0, 5), (5, 12.5), (12.5, 20)]
    assert [c["metadata"]["title"] for c in found] == ["Start = here; #1", "back\\slash", "two lines"]
    assert clip.read_bytes() == before
    assert media.probe(tmp_path / "copy.mp4").duration_ms == 20_000


def test_a_copy_never_takes_the_place_of_the_recording(clip: Path) -> None:
    """Asked to write chapters into the recording itself, the program refuses."""
    with pytest.raises(StorageError):
        media.with_chapters(clip, clip, [Chapter(start_ms=0, title="All")])


@pytest.mark.parametrize(
    "name", ["-y.mp4", "a;b $(x) `y`.mp4", "new\nline.mp4", "quote'\".mp4", "%03d.mp4", "concat:x.mp4"]
)
def test_an_odd_file_name_is_only_a_name(clip: Path, tmp_path: Path, name: str) -> None:
    """Names that a shell or ffmpeg could take for something else are read, and nothing else happens."""
    odd = tmp_path / name
    odd.write_bytes(clip.read_bytes())
    assert media.probe(odd).duration_ms == 20_000
    assert media.sound(odd, 20_000, tmp_path / "s").heard_ms > 19_000
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([name, "s"])


def test_every_call_of_ffmpeg_gets_the_safe_arguments(clip: Path) -> None:
    """The name is literal, one protocol is allowed, and playlists are none of the formats."""
    given = decoder.media_args(clip)
    assert given["filename"] == f"file:{clip}"
    assert given["protocol_whitelist"] == "file"
    assert not {"hls", "concat", "dash", "applehttp"} & set(given["format_whitelist"].split(","))


def test_a_decoder_that_dies_is_told_as_a_crash(clip: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A child killed by a signal ends in a clear refusal, not in a traceback or in silence."""
    crashing = tmp_path / "ffmpeg"
    crashing.write_text(f"#!{sys.executable}\nimport os\nos.kill(os.getpid(), 11)\n")
    crashing.chmod(0o755)
    monkeypatch.setattr(decoder, "program", lambda: str(crashing))
    with pytest.raises(DecoderCrashed, match="crashed on"):
        media.sound(clip, 20_000, tmp_path / "s")


def test_a_decoder_that_never_ends_is_stopped(clip: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A child that takes longer than its limit is killed with its group, and the person is told."""
    import ffmpeg

    sleeping = tmp_path / "ffmpeg"
    sleeping.write_text("#!/bin/sh\necho $$ > " + str(tmp_path / "pid") + "\nexec sleep 60\n")
    sleeping.chmod(0o755)
    monkeypatch.setattr(decoder, "program", lambda: str(sleeping))
    with pytest.raises(RecordingError, match="longer than"):
        decoder.run_ffmpeg(ffmpeg.input("x").output("y"), clip, seconds=1)
    assert not Path(f"/proc/{(tmp_path / 'pid').read_text().strip()}").exists()


def test_a_decoder_may_not_take_all_memory(clip: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Under a cap that is too small for the file, decoding is refused and this process lives."""
    monkeypatch.setattr(decoder, "MEMORY_LIMIT", 60 << 20)
    with pytest.raises(RecordingError):
        media.sound(clip, 20_000, tmp_path / "s")


@pytest.mark.skipif(sys.platform != "linux", reason="the system's own parent-death signal is Linux only")
def test_no_decoder_outlives_the_program(tmp_path: Path) -> None:
    """After kill -9 of the program its decoder is gone too."""
    sleeping = tmp_path / "ffmpeg"
    sleeping.write_text("#!/bin/sh\necho $$ > " + str(tmp_path / "pid") + "\nexec sleep 60\n")
    sleeping.chmod(0o755)
    code = (
        "import ffmpeg, pathlib; from studio.media import decoder; decoder.program = lambda: "
        f"{str(sleeping)!r}\ndecoder.run_ffmpeg(ffmpeg.input('x').output('y'), pathlib.Path('x'), seconds=60)"
    )
    parent = subprocess.Popen([sys.executable, "-c", code])
    child = _eventually(lambda: (tmp_path / "pid").read_text().strip() if (tmp_path / "pid").exists() else "")
    os.kill(parent.pid, signal.SIGKILL)
    parent.wait()
    _eventually(lambda: not Path(f"/proc/{child}").exists() or " Z " in Path(f"/proc/{child}/stat").read_text())


def _eventually(true: Callable[[], object]) -> object:
    for _ in range(100):
        if found := true():
            return found
        time.sleep(0.05)
    raise AssertionError("not within 5 s")


def test_the_last_chapter_ends_with_the_recording() -> None:
    """The metadata text has a start and an end for each chapter, in milliseconds."""
    text = copies.ffmetadata([Chapter(start_ms=0, title="a"), Chapter(start_ms=10, title="b")], 30)
    assert [line for line in text.splitlines() if line[:3] in {"STA", "END"}] == [
        "START=0",
        "END=10",
        "START=10",
        "END=30",
    ]
