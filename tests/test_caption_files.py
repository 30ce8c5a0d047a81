"""Caption files given in place of a recording: read whole, or refused in one sentence."""

from contextlib import suppress
from itertools import pairwise
from pathlib import Path

import pysubs2
import pytest
from counted import EVENLY, FAR, growth
from hypothesis import given, settings
from hypothesis import strategies as st

from studio import caption_files, timecode, transcript
from studio.errors import CaptionsError

VTT = """WEBVTT - a demo
Language: en

STYLE
::cue { color: white }

NOTE made by hand

intro
00:01.000 --> 00:03.000 align:start
<v Anna>Cut &amp; score</v> the <c.blue>card</c>
at 4&frac14; inches

00:00:04.000 --> 00:00:05.500
Then <i>fold</i> it.
"""
SRT = """1
00:00:01,000 --> 00:00:03,000
<i>Cut & score</i> the card
at 4 inches

2
00:00:04,000 --> 00:00:05,500
{\\an8}Then fold it &amp; press.
"""


def put(folder: Path, data: str | bytes, name: str = "talk.vtt") -> Path:
    """Write a caption file."""
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def test_markup_and_references_of_webvtt_are_resolved(tmp_path: Path) -> None:
    """Cue text is plain words: tags gone, references read (W3C WebVTT, sections 4.2.2 and 6.4)."""
    first, second = caption_files.read_cues(put(tmp_path, VTT))
    assert first.lines == ("Cut & score the card", "at 4¼ inches")
    assert (first.start_ms, first.end_ms, first.identifier, first.settings) == (1000, 3000, "intro", "align:start")
    assert (second.text, second.start_ms, second.end_ms) == ("Then fold it.", 4000, 5500)


def test_subrip_has_no_references_and_loses_its_marks(tmp_path: Path) -> None:
    """An ampersand of SubRip is itself; tags and position marks are not words (common practice, no standard)."""
    first, second = caption_files.read_cues(put(tmp_path, SRT, "talk.srt"))
    assert first.lines == ("Cut & score the card", "at 4 inches")
    assert second.text == "Then fold it &amp; press."


def test_the_content_decides_and_not_the_name(tmp_path: Path) -> None:
    """SubRip in a file named .vtt is read, and the other way round."""
    assert len(caption_files.read_cues(put(tmp_path, SRT, "a.vtt"))) == 2
    assert transcript.read_captions(put(tmp_path, SRT, "a.vtt")).recogniser == "SubRip"
    assert transcript.read_captions(put(tmp_path, VTT, "a.srt")).recogniser == "WebVTT"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends_of_other_systems_are_read(tmp_path: Path, encoding: str, ending: str) -> None:
    """Letters beyond ASCII arrive, whichever of the usual encodings and line ends was saved."""
    text = SRT.replace("Then", "Ça y est, then").replace("\n", ending)
    assert "Ça y est" in caption_files.read_cues(put(tmp_path, text.encode(encoding), "a.srt"))[1].text


def test_pysubs2_reads_the_same_cues(tmp_path: Path) -> None:
    """An independent reader of SubRip finds the same times and words."""
    theirs = pysubs2.SSAFile.from_string(SRT, format_="srt")
    ours = caption_files.read_cues(put(tmp_path, SRT, "a.srt"))
    assert [(c.start_ms, c.end_ms) for c in ours] == [(event.start, event.end) for event in theirs]
    assert ours[0].text == theirs[0].plaintext.replace("\n", " ")


RUBBISH = {
    "empty": b"", "a text": b"Hello, this is a letter.\n", "bytes": bytes(range(256)) * 20, "zeros": bytes(500),
    "no cue": b"WEBVTT\n\nNOTE nothing\n", "no time": b"1\n00:00:01,000 --> soon\nHello\n",
    "short time": b"WEBVTT\n\n00:01 --> 00:02\nHello\n", "no word": b"WEBVTT\n\n00:01.000 --> 00:02.000\n\n",
    "one of two": b"1\n00:00:01,000 --> 00:00:02,000\nHello\n\n2\n00:00:xx,000 --> 00:00:04,000\nLost\n",
}  # fmt: skip


@pytest.mark.parametrize("kind", RUBBISH)
def test_rubbish_is_refused_with_one_sentence_and_a_remedy(tmp_path: Path, kind: str) -> None:
    """What is no caption file, or would lose a caption, is refused by name, with what to do."""
    with pytest.raises(CaptionsError) as refusal:
        transcript.read_captions(put(tmp_path, RUBBISH[kind]))
    assert refusal.value.exit_code == 3
    assert "talk.vtt" in refusal.value.problem
    assert refusal.value.problem.count(". ") == 0
    assert refusal.value.remedy


def test_a_line_of_times_that_is_none_is_told_by_its_number(tmp_path: Path) -> None:
    """The person is told which line to mend."""
    with pytest.raises(CaptionsError, match="Line 6 of"):
        caption_files.read_cues(put(tmp_path, RUBBISH["one of two"]))


def test_a_missing_and_an_oversized_file_are_refused(tmp_path: Path) -> None:
    """Neither is read into memory."""
    with pytest.raises(CaptionsError, match="cannot be opened"):
        caption_files.read_cues(tmp_path / "none.vtt")
    large = tmp_path / "large.vtt"
    with large.open("wb") as stream:
        stream.truncate(caption_files.LARGEST + 1)
    with pytest.raises(CaptionsError, match="too large"):
        caption_files.read_cues(large)


def test_control_and_hidden_characters_do_not_arrive(tmp_path: Path) -> None:
    """Escape codes, zero-width and direction characters are not words."""
    (cue,) = caption_files.read_cues(
        put(tmp_path, "WEBVTT\n\n00:01.000 --> 00:02.000\nred\x1b[31m c\u202ea\u200brd\x07\n")
    )
    assert cue.text == "red [31m card"


def test_words_share_the_time_of_their_cue_by_their_length(tmp_path: Path) -> None:
    """A word of three letters and one of seven take four and eight parts of twelve, each letter and space one part."""
    told = transcript.read_captions(put(tmp_path, "WEBVTT\n\n00:01.000 --> 00:02.200\nCut ribbons\n"))
    assert [(w.text, w.start_ms, w.end_ms, w.confidence) for w in told.segments[0].words] == [
        ("Cut", 1000, 1400, None),
        ("ribbons", 1400, 2200, None),
    ]


def test_a_rolling_caption_says_each_line_once(tmp_path: Path) -> None:
    """A line shown again above the next one, or alone for a moment, is heard once; said twice in full, twice."""
    rolling = (
        "WEBVTT\n\n00:00.000 --> 00:02.000\n \nhello there\n\n00:02.000 --> 00:02.010\nhello there\n \n\n"
        "00:02.010 --> 00:04.000\nhello there\nnew words\n\n"
        "00:04.000 --> 00:05.000\nYes.\n\n00:05.000 --> 00:06.000\nYes.\n"
    )
    told = transcript.read_captions(put(tmp_path, rolling))
    assert [segment.text for segment in told.segments] == ["hello there", "new words", "Yes.", "Yes."]


def test_a_caption_file_stands_for_a_recording_without_sound_or_picture(tmp_path: Path) -> None:
    """It is as long as its last caption, wherever that stands in the file."""
    found = transcript.captions_recording(put(tmp_path, VTT))
    assert (found.duration_ms, found.has_sound, found.has_picture, found.source) == (5500, False, False, "talk.vtt")


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 10_000), st.text(max_size=30)), min_size=1, max_size=8))
def test_any_words_come_back_in_order_with_times_inside_their_cue(
    tmp_path_factory: pytest.TempPathFactory, parts: list[tuple[int, str]]
) -> None:
    """Whatever is said in cues that follow one another, reading gives times in order and inside, or a refusal."""
    at, blocks = 0, ["WEBVTT"]
    for length, text in parts:
        blocks.append(f"{timecode.vtt(at)} --> {timecode.vtt(at + length)}\nword {' '.join(text.split())}")
        at += length
    path = put(tmp_path_factory.getbasetemp(), "\n\n".join(blocks).encode("utf-8", "surrogatepass"), "h.vtt")
    try:
        told = transcript.read_captions(path)
    except CaptionsError:
        assert any("-->" in text or not text.isprintable() for _, text in parts)
        return
    words = [word for segment in told.segments for word in segment.words]
    assert all(a.end_ms <= b.start_ms for a, b in pairwise(words))
    assert all(s.start_ms <= w.start_ms <= w.end_ms <= s.end_ms for s in told.segments for w in s.words)


@pytest.mark.parametrize(("piece", "end"), [("<", ""), ("&", ""), ("<v ", ""), ("{\\", ""), ("00:00:", "-->")])
@pytest.mark.parametrize("kind", [VTT, SRT])
def test_hostile_text_takes_no_more_than_its_length(tmp_path: Path, kind: str, piece: str, end: str) -> None:
    """A hundred thousand characters made to trip a reader cost no more than four times a quarter of them."""

    def read(size: int) -> None:
        path = put(tmp_path, f"{kind}\n{piece * (size // len(piece))}{end}\n")
        with suppress(CaptionsError):
            transcript.read_captions(path)

    assert growth(read, FAR) < EVENLY
