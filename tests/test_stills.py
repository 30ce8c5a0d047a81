"""The pictures: sharp, still, with the thing in them, right way round; weak ones are asked about."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from length import whole_or
from PIL import Image

from studio import media, resources, stills
from studio.media import Figures, decoder, pictures
from studio.model import Chapter, Recording, Still, Supply

SAMPLE = resources.sample("recording.mp4")


def supply(code: str | None, at: int) -> Supply:
    """Return a row of the supply list."""
    return Supply(code=code, name=code or "?", kind="", first_shown_ms=at, mention_ids=(), state="confirmed")


def figures(*rows: tuple[float, float, int]) -> list[Figures]:
    """Return figures from sharpness, motion and a shade that stands for the whole look."""
    return [Figures(sharp, 1.0, motion, bytes([shade]) * 576) for sharp, motion, shade in rows]


def best(found: list[Figures], from_ms: int = 500) -> int:
    """Return the number of the best of some frames, a quarter second apart."""
    times = [number * 250 for number in range(len(found))]
    return max(stills.judged(times, found, from_ms), key=lambda one: one.worth).number


@pytest.fixture(scope="module")
def truth() -> dict[str, Any]:
    """Return the true times of the sample: what is shown when (short: first), and where its maker blurred it."""
    told: dict[str, Any] = json.loads(resources.sample("script_times.json").read_text(encoding="utf-8"))
    items, parts = whole_or((None, None), (3, 2))
    return {**told, "shown": told["shown"][:items], "chapters": told["chapters"][:parts]}


@pytest.fixture(scope="module")
def recording() -> Recording:
    """Return what the sample holds."""
    return media.probe(SAMPLE)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return where the pictures of the sample go."""
    return tmp_path_factory.mktemp("pictures")


@pytest.fixture(scope="module")
def chosen(truth: dict[str, Any], recording: Recording, folder: Path) -> tuple[Still, ...]:
    """Return the pictures of the sample, chosen by its true times."""
    rows = [supply(item["code"], item["start_ms"]) for item in truth["shown"]]
    parts = [Chapter(**part) for part in truth["chapters"]]
    return stills.stills(SAMPLE, rows, parts, recording, folder)


def test_no_blurred_frame_is_chosen(chosen: tuple[Still, ...], truth: dict[str, Any]) -> None:
    """None of the chosen frames is one that the sample's maker put out of focus or shook (script_times.json)."""
    blurred = [still for still in chosen if any(a <= still.at_ms <= b for a, b in truth["blurred_ms"])]
    assert blurred == []
    spans = [(item["start_ms"] - 500, item["start_ms"] + 6000) for item in truth["shown"]]
    risky = [1 for start, end in spans if any(start <= b and a <= end for a, b in truth["blurred_ms"])]
    assert len(risky) >= min(5, len(spans)), "the sample must put blurred frames where they could be chosen"


def test_each_item_each_chapter_and_the_whole_have_a_picture(chosen: tuple[Still, ...], truth: dict[str, Any]) -> None:
    """There is one picture for each item, one for each chapter, and one for the whole."""
    items = [item["code"] for item in truth["shown"]]
    steps = [f"step-{number}" for number in range(1, len(truth["chapters"]) + 1)]
    assert [still.subject for still in chosen] == [*items, *steps, "hero"]
    assert {still.state for still in chosen} == {"confirmed"}


def test_five_candidates_are_kept(chosen: tuple[Still, ...], folder: Path) -> None:
    """Each picture and four to swap it for are JPEG files of the recording's own size, no two with one name."""
    files = [name for still in chosen for name in (still.file, *still.others)]
    assert len(files) == len(set(files)) == sum(1 for _ in folder.rglob("*.jpg"))
    assert min(len(still.others) for still in chosen) == 4
    for name in files:
        with Image.open(folder / name) as picture:
            assert (picture.format, picture.size) == ("JPEG", (1280, 720))


def test_the_item_is_in_the_picture(chosen: tuple[Still, ...], truth: dict[str, Any]) -> None:
    """The frame chosen for an item that is carried in looks different from the one before it is named."""
    starts = {item["code"]: item["start_ms"] for item in truth["shown"]}
    told = {}
    for still in chosen:
        if still.subject in starts:
            before, now = media.figures(media.frames(SAMPLE, (starts[still.subject] - 400, still.at_ms), 640))
            told[still.subject] = media.difference(before, now)
    assert [code for code, difference in told.items() if difference < 1.5] == []


def test_a_picture_costs_the_same_anywhere(
    recording: Recording, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A still late in the recording needs as many decoders and frames as an early one: each jumps to its time first."""
    early, late = (_spent(recording, at, tmp_path / str(at), monkeypatch) for at in (6_000, 125_000))
    assert early == late
    assert early[0] <= 6
    assert early[1] <= 80


def _spent(recording: Recording, at: int, folder: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[int, int]:
    """Return how many decoders were started for two pictures, each with a jump before its input, and their frames."""
    import ffmpeg

    told: list[int] = []

    def run(stream: Any, source: Path, **more: Any) -> decoder.Outcome:
        asked = ffmpeg.get_args(stream)
        assert asked.index("-ss") < asked.index("-i")
        assert at - 6_000 <= 1000 * float(asked[asked.index("-ss") + 1]) <= at + 4_000
        outcome = real(stream, source, **more)
        told.append(len(list(pictures._split(outcome.output, 0))))
        return outcome

    real = decoder.run_ffmpeg
    with monkeypatch.context() as patch:
        patch.setattr(decoder, "run_ffmpeg", run)
        made = stills.stills(SAMPLE, [supply("A1", at)], [], recording.but(duration_ms=at + 4_000), folder)
    assert [still.subject for still in made] == ["A1", "hero"]
    return len(told), sum(told)


def test_a_blurred_stretch_is_asked_about(ffmpeg: Callable[..., None], truth: dict[str, Any], tmp_path: Path) -> None:
    """Where every frame is out of focus the best one is not shown unasked; sharp frames of the same scene are."""
    ffmpeg(
        "-ss",
        "22",
        "-t",
        "6",
        "-i",
        SAMPLE,
        "-vf",
        "gblur=sigma=5:enable='lt(t,3)'",
        "-an",
        "-preset",
        "ultrafast",
        tmp_path / "soft.mp4",
    )
    recording = media.probe(tmp_path / "soft.mp4")
    rows = [supply("SOFT", 0), supply("SHARP", 3100)]
    got = stills.stills(tmp_path / "soft.mp4", rows, [], recording, tmp_path)
    assert [(still.subject, still.state) for still in got[:2]] == [("SOFT", "ask"), ("SHARP", "confirmed")]


def test_darkness_is_asked_about(ffmpeg: Callable[..., None], tmp_path: Path) -> None:
    """A picture in the dark is chosen, and asked about."""
    ffmpeg(
        "-f",
        "lavfi",
        "-i",
        "testsrc2=d=4:s=320x180:r=10",
        "-vf",
        "lutrgb=r=val*0.08:g=val*0.08:b=val*0.08",
        tmp_path / "dark.mp4",
    )
    got = stills.stills(tmp_path / "dark.mp4", [supply("A1", 0)], [], media.probe(tmp_path / "dark.mp4"), tmp_path)
    assert got[0].state == "ask"


def test_a_weak_picture_is_a_question_with_its_moment_and_its_item() -> None:
    """Each moment with a weak picture asks once, named as in the supply list; a good picture asks nothing."""
    pictures = [
        Still(file="stills/a.jpg", at_ms=9000, subject="A1", sharpness=3.0, state="ask"),
        Still(file="stills/b.jpg", at_ms=4000, subject="B2", sharpness=60.0),
        Still(file="stills/c.jpg", at_ms=5000, subject="step-2", sharpness=3.0, state="ask"),
        Still(file="stills/d.jpg", at_ms=9000, subject="hero", sharpness=3.0, state="ask"),
    ]
    found = stills.weak_stills(pictures, [supply("A1", 9000).but(name="Heron Blue Ink"), supply("B2", 4000)])
    assert [(one.kind, one.severity, one.start_ms, one.code) for one in found] == [
        ("weak_still", "ask", 5000, None),
        ("weak_still", "ask", 9000, "A1"),
    ]
    assert found[0].message.startswith("The picture of chapter 2 is weak")
    assert found[1].message.startswith("The picture of Heron Blue Ink and the finished thing is weak")


def test_the_sharper_frame_wins() -> None:
    """Among still frames of one scene the one that is in focus is taken (Pech-Pacheco and others, 2000)."""
    assert best(figures((40, 0, 9), (60, 0, 9), (300, 0, 9), (80, 0, 9)), 0) == 2


def test_a_moving_frame_loses() -> None:
    """A frame with a hand going through it loses against a quiet one that is a little less sharp."""
    assert best(figures((300, 20, 9), (310, 25, 9), (280, 0.5, 9), (280, 0.5, 9), (310, 20, 9)), 0) == 2


def test_the_frame_waits_for_the_item() -> None:
    """Where something new comes into the picture after the name, a frame with it is taken."""
    assert (
        best(figures((300, 0, 9), (300, 0, 9), (300, 0, 9), (250, 20, 40), (250, 8, 60), (250, 0, 60), (250, 0, 60)))
        >= 5
    )


def test_one_scene_is_not_shown_twice_where_there_is_another(ffmpeg: Callable[..., None], tmp_path: Path) -> None:
    """Two items named over one scene get different pictures when the scene changes in the second's time."""
    colours = "color=red:d=6:s=320x180:r=10[a];testsrc2=d=6:s=320x180:r=10[b];[a][b]concat"
    ffmpeg("-f", "lavfi", "-i", colours, tmp_path / "two.mp4")
    rows = [supply("A1", 0), supply("A2", 4000)]
    got = stills.stills(tmp_path / "two.mp4", rows, [], media.probe(tmp_path / "two.mp4"), tmp_path)
    assert got[0].at_ms < 6000 <= got[1].at_ms


@pytest.mark.parametrize(
    ("name", "options"),
    [
        (
            "hevc.mp4",
            (
                "-t",
                "16",
                "-c:v",
                "libx265",
                "-preset",
                "ultrafast",
                "-x265-params",
                "log-level=error",
                "-tag:v",
                "hvc1",
            ),
        ),
        ("uneven.mkv", ("-c:v", "libx264", "-vf", "select='not(mod(n,3))+not(mod(n,7))'", "-fps_mode", "vfr")),
    ],
    ids=["HEVC", "variable frame rate"],
)
def test_recordings_of_telephones_are_read(
    ffmpeg: Callable[..., None], clip: Path, tmp_path: Path, name: str, options: tuple[str, ...]
) -> None:
    """HEVC is read, and frames at uneven times are found at their own times."""
    ffmpeg("-i", clip, *options, "-an", tmp_path / name)
    got = stills.stills(tmp_path / name, [supply("A1", 8000)], [], media.probe(tmp_path / name), tmp_path)
    assert 7500 <= got[0].at_ms <= 13000
    with Image.open(tmp_path / got[0].file) as picture:
        shot = media.Frame(got[0].at_ms, *picture.size, picture.convert("RGB").tobytes())
    times = range(0, 16_000, 40)
    looks = media.figures((shot, *media.moments(clip, 0, 16_000, rate=25)))
    nearest = min(times, key=lambda at: media.difference(looks[0], looks[1 + at // 40]))
    assert abs(nearest - got[0].at_ms) <= 200


def test_a_turned_recording_is_turned_back(ffmpeg: Callable[..., None], clip: Path, tmp_path: Path) -> None:
    """A recording held upright gives upright pictures."""
    ffmpeg("-display_rotation", "90", "-i", clip, "-c", "copy", "-an", tmp_path / "upright.mp4")
    recording = media.probe(tmp_path / "upright.mp4")
    got = stills.stills(tmp_path / "upright.mp4", [supply("A1", 3000)], [], recording, tmp_path)
    with Image.open(tmp_path / got[0].file) as picture:
        assert picture.size == (recording.width, recording.height) == (180, 320)


def test_a_damaged_stretch_has_no_picture(tmp_path: Path, recording: Recording) -> None:
    """Where a copy breaks off, or is noise, there is no picture; the items before it keep theirs."""
    data = SAMPLE.read_bytes()
    (tmp_path / "cut.mp4").write_bytes(data[:2_000_000])
    (tmp_path / "noise.mp4").write_bytes(data[:2_000_000] + bytes(range(256)) * 4_000)
    for name in ("cut.mp4", "noise.mp4"):
        rows = [supply("A1", 8_000), supply("A2", 100_000)]
        got = stills.stills(tmp_path / name, rows, [], recording, tmp_path)
        assert [still.subject for still in got] == ["A1"]


def test_sound_alone_has_no_pictures(silence: Path, tmp_path: Path) -> None:
    """A recording without a picture gives none, and nothing is written."""
    assert stills.stills(silence, [supply("A1", 0)], [], media.probe(silence), tmp_path) == ()
    assert list(tmp_path.iterdir()) == []


def test_a_code_cannot_leave_the_folder(clip: Path, tmp_path: Path) -> None:
    """Codes with slashes, dots and spaces become plain file names, and two like ones stay apart."""
    rows = [supply("../../A 1", 1000), supply("A/1", 8000), supply("a-1", 14000)]
    got = stills.stills(clip, rows, [], media.probe(clip), tmp_path / "folio")
    names = {still.file for still in got}
    assert len(names) == 4
    assert {path.parent for path in tmp_path.rglob("*.jpg")} == {tmp_path / "folio" / "stills"}
    assert all((tmp_path / "folio" / name).exists() for name in names)


def test_items_without_a_code_have_no_picture_of_their_own() -> None:
    """A thing that the catalogue does not have is in the picture of its chapter only."""
    found = stills.lookouts([supply(None, 1000)], [Chapter(start_ms=0, title="Start")], 20_000)
    assert [stretch.subject for stretch in found] == ["step-1", "hero"]


def test_every_stretch_lies_inside_the_recording() -> None:
    """Items named in the last second, and chapters of no length, ask for no frame outside the recording."""
    parts = [Chapter(start_ms=0, title="a"), Chapter(start_ms=9_900, title="b"), Chapter(start_ms=9_950, title="c")]
    for stretch in stills.lookouts([supply("A1", 0), supply("A2", 9_990)], parts, 10_000):
        assert 0 <= stretch.start_ms < stretch.end_ms <= 10_000
        assert stretch.start_ms <= stretch.from_ms <= stretch.end_ms
