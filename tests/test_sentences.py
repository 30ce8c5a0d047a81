"""Sentences rebuilt from words, whatever blocks they came in."""

import pytest
import talks

from studio import language
from studio.model import Segment, Transcript, Word


def heard(text: str, block: int = 1000, pauses: dict[str, int] | None = None) -> Transcript:
    """Return a transcript whose words last 0.3 s, cut into blocks, with pauses in ms after some words."""
    words, at = [], 0
    for word in text.split():
        words.append(Word(text=word, start_ms=at, end_ms=at + 300))
        at += 320 + (pauses or {}).get(word, 0)
    blocks = [words[n : n + block] for n in range(0, len(words), block)]
    segments = (
        Segment(start_ms=b[0].start_ms, end_ms=b[-1].end_ms, text=" ".join(w.text for w in b), words=tuple(b))
        for b in blocks
    )
    return Transcript(language="en", recogniser="test", segments=tuple(segments))


def texts(transcript: Transcript) -> list[str]:
    """Return the sentences as text."""
    return [sentence.text for sentence in language.sentences(transcript)]


TALK = "Fold the card. Then press it flat. Is it flat? Good, and now the next one."


@pytest.mark.parametrize("block", [1, 2, 3, 5, 8, 1000])
def test_blocks_do_not_matter(block: int) -> None:
    """The same sentences come out wherever the recogniser cut its blocks."""
    wanted = ["Fold the card.", "Then press it flat.", "Is it flat?", "Good, and now the next one."]
    assert texts(heard(TALK, block)) == wanted


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("It is No. 10 in the list. I like it.", 2),
        ("Dr. Reed made it, e.g. with glue. It held.", 2),
        ("It is 4.5 inches, approx. 11 cm. Cut it there.", 2),
        ("See p. 12 of the list. It is there.", 2),
        ("Do you want it? No. It is too small.", 3),
        ("J. Reed drew the pattern. She is good.", 2),
        ("It opens at 9 a.m. on Friday. Come along.", 2),
        ("It is 4 in. by 5 in. and thin. Put it in. Then stop.", 3),
        ("Wait... it moved. Now it is straight.", 3),
        ("He said “stop.” Then he stopped.", 2),
    ],
)
def test_a_point_that_ends_nothing(text: str, count: int) -> None:
    """Abbreviations, initials and numbers do not end a sentence; a closing mark behind the point does not hide it."""
    assert len(texts(heard(text))) == count


def test_a_pause_after_an_article_is_no_end() -> None:
    """Two seconds of searching for a word do not part a sentence."""
    assert len(texts(heard("Then I take the Blade and cut it.", pauses={"the": 2000}))) == 1


def test_a_pause_before_a_capital_is_an_end() -> None:
    """Where the full stop is missing, a second of silence before a capital stands in for it."""
    assert texts(heard("Fold it in half Then press it. Good.", pauses={"half": 1000}))[0] == "Fold it in half"


def test_text_without_marks_is_parted_by_pauses() -> None:
    """Without any punctuation the speaker's own long pauses part the sentences."""
    text = "fold it in half and press it flat then turn it over and do the other side as well it is easy"
    found = texts(heard(text, pauses={"flat": 700, "well": 700}))
    assert found == [
        "fold it in half and press it flat",
        "then turn it over and do the other side as well",
        "it is easy",
    ]


def test_an_endless_stretch_is_parted() -> None:
    """A thousand words without a mark or a pause become sentences of at most sixty, and none is lost."""
    text = " ".join(["so we cut it and then we fold it because it is soft"] * 80)
    found = texts(heard(text))
    assert max(len(sentence.split()) for sentence in found) <= language.LONGEST_WORDS
    assert " ".join(found) == text


def test_nothing_heard_has_no_sentences() -> None:
    """An empty transcript is no error."""
    assert language.sentences(Transcript(language="en", recogniser="test")) == ()


@pytest.mark.parametrize("name", talks.names())
def test_words_and_times_are_kept(name: str) -> None:
    """Every word is in one sentence, in order, and its place in the text is right."""
    talk = talks.read(name)
    found = language.sentences(talk.transcript)
    spoken = [word for segment in talk.transcript.segments for word in segment.words]
    assert [word.text for sentence in found for word in sentence.words] == [word.text for word in spoken]
    assert [sentence.index for sentence in found] == list(range(len(found)))
    assert all(s.text[w.start : w.end] == w.text for s in found for w in s.words)
