"""Re-timing: everything with a time lies right after the person has trimmed the recording."""

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from studio import language, retime
from studio.errors import RetimeError
from studio.model import (
    Caution,
    Chapter,
    Correction,
    Cut,
    Document,
    Finding,
    Measure,
    Mention,
    Offer,
    Recording,
    Segment,
    Span,
    Spelling,
    Still,
    Supply,
    Transcript,
    Word,
)

LENGTH = 100_000


def document() -> Document:
    """Return a document of 100 s with something of every kind at 5, 35, 65 and 95 s."""
    at = (5_000, 35_000, 65_000, 95_000)
    spoken = [Word(text=f"w{n}.", start_ms=n * 1000, end_ms=n * 1000 + 900) for n in range(100)]
    segments = tuple(
        Segment(
            start_ms=n * 1000,
            end_ms=n * 1000 + 9_900,
            text=" ".join(w.text for w in spoken[n : n + 10]),
            words=tuple(spoken[n : n + 10]),
        )
        for n in range(0, 100, 10)
    )
    heard = Transcript(
        language="en", recogniser="t", segments=segments, speech=(Span(start_ms=0, end_ms=LENGTH),), heard_ms=LENGTH
    )
    mentions = tuple(
        Mention(
            id=f"m{n}",
            code=f"C{n}",
            heard="x",
            role="shown",
            state="confirmed",
            confidence=1,
            start_ms=ms,
            end_ms=ms + 500,
        )
        for n, ms in enumerate(at)
    )
    measures = tuple(
        Measure(
            id=f"q{n}",
            heard="x",
            values=(1,),
            unit="in",
            dimension="length",
            state="confirmed",
            start_ms=ms,
            end_ms=ms + 500,
        )
        for n, ms in enumerate(at)
    )
    return Document(
        recording=Recording(source="a.mp4", sha256="0", duration_ms=LENGTH),
        transcript=heard,
        sentences=language.sentences(heard),
        spellings=tuple(Spelling(heard="w", shown="v", source="person", start_ms=ms, end_ms=ms + 900) for ms in at),
        corrections=tuple(Correction(wrong="a", right="b", cue="no", start_ms=ms, end_ms=ms + 900) for ms in at),
        mentions=mentions,
        supplies=tuple(
            Supply(code=f"C{n}", name="x", kind="", first_shown_ms=ms, mention_ids=(f"m{n}",), state="confirmed")
            for n, ms in enumerate(at)
        ),
        measures=measures,
        cuts=tuple(Cut(material="x", width=1, height=1, unit="in", measure_ids=(f"q{n}",)) for n in range(4)),
        chapters=tuple(Chapter(start_ms=n * 30_000, title=title) for n, title in enumerate("ABCD")),
        offers=tuple(Offer(kind="dates", heard="x", start_ms=ms, state="ask") for ms in at),
        findings=tuple(Finding(kind="retired", severity="note", message="x", start_ms=ms) for ms in at),
        cautions=(Caution(hazard="heat", line="x", source="y", triggers_ms=at),),
        stills=tuple(Still(file=f"s{n}", at_ms=ms, subject="hero", sharpness=1) for n, ms in enumerate(at)),
    )  # fmt: skip


def trimmed(text: str) -> Document:
    """Return the document after a trim."""
    return retime.apply(document(), retime.read(text))


def times(part: object, name: str = "") -> Iterator[tuple[str, int]]:
    """Give every time in a part of the document, whatever it is called."""
    if isinstance(part, BaseModel):
        for field in type(part).model_fields:
            yield from times(getattr(part, field), field)
    elif isinstance(part, tuple):
        for one in part:
            yield from times(one, name)
    elif name.endswith("_ms") and isinstance(part, int):
        yield name, part


@pytest.mark.parametrize(
    ("text", "cuts"),
    [
        ("cut 0:00-0:12", ((0, 12_000),)),
        ("cut 0:00-0:12, 5:30-5:41", ((0, 12_000), (330_000, 341_000))),
        ("cut 0:00-0:12,5:30-5:41", ((0, 12_000), (330_000, 341_000))),
        ("Cut 5:30 to 5:41; cut 0:00 – 0:12.5", ((0, 12_500), (330_000, 341_000))),
        ("cut 1:00:00-1:00:01", ((3_600_000, 3_601_000),)),
        ("cut 0:10-0:20, cut 0:15-0:30", ((10_000, 30_000),)),
    ],
)
def test_stretches_are_read(text: str, cuts: tuple[tuple[int, int], ...]) -> None:
    """Several ways of writing a cut; stretches that overlap become one."""
    assert retime.read(text).cuts == cuts


@pytest.mark.parametrize(
    "text", ["", "cut", "cut 0:12", "cut 0:12-0:00", "cut 0:61-0:70", "keep 0:00-0:10", "cut a-b", "-" * 99_999]
)
def test_what_is_no_stretch_is_refused(text: str) -> None:
    """The message says what is wrong and how to write it."""
    with pytest.raises(RetimeError) as caught:
        retime.read(text)
    assert "0:00-0:12" in caught.value.remedy


def test_everything_moves_by_the_same_offset() -> None:
    """After a cut of the first 4 s, every time is 4 s less, or 0 where it was less than that."""
    before, after = (
        dict(enumerate(times(document().mentions))),
        dict(enumerate(times(trimmed("cut 0:00-0:04").mentions))),
    )
    assert [ms for _, ms in after.values()] == [ms - 4_000 for _, ms in before.values()]


def test_what_was_cut_is_gone() -> None:
    """What was said from 30 s to 60 s leaves every part of the document; a still keeps its picture."""
    found = trimmed("cut 0:30-1:00")
    lengths = {
        name: len(getattr(found, name))
        for name in (
            "spellings",
            "corrections",
            "mentions",
            "supplies",
            "measures",
            "cuts",
            "chapters",
            "offers",
            "findings",
            "stills",
        )
    }
    assert lengths == dict.fromkeys(lengths, 3) | {"stills": 4}
    assert found.cautions[0].triggers_ms == (5_000, 35_000, 65_000)
    assert [row.first_shown_ms for row in found.supplies] == [5_000, 35_000, 65_000]
    assert found.recording.duration_ms == 70_000
    assert len(found.sentences) == 70
    assert [sentence.index for sentence in found.sentences] == list(range(70))


def test_a_chapter_keeps_what_is_left_of_it() -> None:
    """A chapter whose start was cut begins at the cut; one that was cut whole is gone; the first is at 0."""
    found = trimmed("cut 0:00-0:35, 1:00-1:30")
    assert [(chapter.start_ms, chapter.title) for chapter in found.chapters] == [(0, "B"), (25_000, "D")]


@given(
    st.lists(
        st.tuples(st.integers(0, 99), st.integers(1, 99)).filter(lambda pair: pair[0] < pair[1]), min_size=1, max_size=5
    )
)
def test_no_time_lies_outside(pairs: list[tuple[int, int]]) -> None:
    """Whatever is cut, every time of every part lies inside the trimmed recording, and words stay in order."""
    text = ", ".join(
        f"0:{a:02d}-0:{b:02d}" if b < 60 else f"{a // 60}:{a % 60:02d}-{b // 60}:{b % 60:02d}" for a, b in pairs
    )
    found = trimmed(f"cut {text}")
    end = found.recording.duration_ms
    assert all(0 <= ms <= end for name, ms in times(found) if name != "pause_before_ms")
    starts = [word.start_ms for segment in found.transcript.segments for word in segment.words]
    assert starts == sorted(starts)
    assert [w.text for s in found.sentences for w in s.words] == [
        w.text for s in found.transcript.segments for w in s.words
    ]
