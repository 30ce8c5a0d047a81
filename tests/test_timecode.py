"""Clock formats, held against the standards that define them."""

import isodate
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio import timecode

MOMENTS = st.integers(0, 100 * 3600 * 1000 - 1)


@pytest.mark.parametrize(
    ("ms", "clock", "vtt", "srt", "iso"),
    [
        (0, "0:00", "00:00:00.000", "00:00:00,000", "PT0S"),
        (380_000, "6:20", "00:06:20.000", "00:06:20,000", "PT6M20S"),
        (754_000, "12:34", "00:12:34.000", "00:12:34,000", "PT12M34S"),
        (3_600_000, "1:00:00", "01:00:00.000", "01:00:00,000", "PT1H"),
        (3_986_045, "1:06:26", "01:06:26.045", "01:06:26,045", "PT1H6M26.045S"),
    ],
)
def test_every_clock_tells_the_same_time(ms: int, clock: str, vtt: str, srt: str, iso: str) -> None:
    """A moment is written as each format asks (W3C WebVTT 4.1, SubRip custom, ISO 8601 4.4.3)."""
    assert [timecode.clock(ms), timecode.vtt(ms), timecode.srt(ms), timecode.iso_duration(ms)] == [clock, vtt, srt, iso]


@given(MOMENTS)
def test_a_timestamp_reads_back_as_itself(ms: int) -> None:
    """WebVTT and SubRip timestamps lose nothing."""
    assert timecode.read_clock(timecode.vtt(ms)) == ms
    assert timecode.read_clock(timecode.srt(ms)) == ms


@given(MOMENTS)
def test_iso_durations_agree_with_isodate(ms: int) -> None:
    """The independent reader `isodate` gets the same length from what is written here."""
    assert round(isodate.parse_duration(timecode.iso_duration(ms)).total_seconds() * 1000) == ms
    assert timecode.read_iso_duration(timecode.iso_duration(ms)) == ms


@pytest.mark.parametrize("text", ["P10M", "P1Y", "P", "PT", "12:34", "PT-5S"])
def test_a_duration_without_a_fixed_length_is_refused(text: str) -> None:
    """`P10M` is ten months in ISO 8601, not ten minutes, and has no fixed length."""
    with pytest.raises(ValueError, match="no ISO 8601 duration"):
        timecode.read_iso_duration(text)


@pytest.mark.parametrize("text", ["6", "6:2", "6:75", "1:75:00", "a:bc", "6:20:", "-6:20"])
def test_a_time_that_is_none_is_refused(text: str) -> None:
    """What is no time raises, and the message shows the text."""
    with pytest.raises(ValueError, match=r"is no time|more than 59"):
        timecode.read_clock(text)
