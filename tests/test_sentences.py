"""Sentences rebuilt from words, whatever blocks they came in."""

import numpy as np
import pytest
import talks

from studio import language
from studio.model import Segment, Sentence, Transcript, Word
from studio.reader import model, stops


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


UNMARKED = (
    "hello everyone and welcome back to my table today i want to show you the little card that i made last week "
    "so first of all we take the big blue sheet and cut it at four and a quarter by five and a half inches then fold "
    "it in half and leave it for between two and twelve minutes i'm going to use the bone folder for that okay now "
    "we need some glue and not too much of it because it bleeds through the paper"
)


@pytest.fixture(scope="module")
def restored() -> tuple[Sentence, ...]:
    """The sentences of a talk in small letters without a mark, its words spoken without a pause."""
    return stops.sentences(heard(UNMARKED))


def test_text_without_marks_or_pauses_is_parted_where_sentences_end(restored: tuple[Sentence, ...]) -> None:
    """Where neither marks nor pauses tell, what is said tells where a sentence ends."""
    begins = {sentence.text.split()[0].lower() for sentence in restored}
    assert len(restored) >= 4
    assert {"so", "then", "okay"} & begins


def test_an_amount_is_never_parted(restored: tuple[Sentence, ...]) -> None:
    """No sentence ends inside a size or a range, whatever the silence there."""
    silent = heard(UNMARKED, pauses={"four": 2000, "five": 2000, "two": 2000, "twelve": 2000})
    for found in (restored, stops.sentences(silent)):
        said = [sentence.text.lower() for sentence in found]
        assert any("four and a quarter by five and a half inches" in text for text in said)
        assert any("between two and twelve minutes" in text for text in said)


def test_restored_sentences_begin_with_a_capital(restored: tuple[Sentence, ...]) -> None:
    """The first letter of a sentence and "I" are capital; no other letter, no word and no time is changed."""
    spoken = language.words(heard(UNMARKED))
    shown = [word for sentence in restored for word in sentence.words]
    assert [word.text.lower() for word in shown] == [word.text for word in spoken]
    assert [(word.start_ms, word.end_ms) for word in shown] == [(word.start_ms, word.end_ms) for word in spoken]
    assert all(sentence.text[0].isupper() for sentence in restored)
    inner = [word.text for sentence in restored for word in sentence.words[1:] if not word.text.islower()]
    assert set(inner) <= {"I", "I'm"}
    assert "I" in inner
    assert all(s.text[w.start : w.end] == w.text for s in restored for w in s.words)


def test_a_written_stop_is_kept_where_others_are_missing() -> None:
    """A mark that was written ends its sentence in a text that has hardly any."""
    found = stops.sentences(heard(f"this is the one. {UNMARKED}"))
    assert found[0].text == "This is the one."


def test_a_marked_text_needs_no_model(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the stops are written, nothing is loaded and the sentences are those of the marks."""
    monkeypatch.setattr(model, "model", lambda: pytest.fail("the model was loaded"))
    talk = heard(TALK, pauses={"flat.": 700})
    assert stops.sentences(talk) == language.sentences(talk)
    assert stops.sentences(Transcript(language="en", recogniser="test")) == ()


def test_silence_counts_only_where_it_was_heard() -> None:
    """The same words without silence are one sentence where each has its own time, and may be two in a caption."""
    said = heard("press it flat turn it over press it flat turn it over").segments[0].words
    unsure = np.full(len(said), 0.1, dtype=np.float32)
    unsure[2] = 0.4
    assert stops.ends(said, unsure, silences=True) == set()
    assert stops.ends(said, unsure, silences=False) == {2}


def test_captions_cut_at_silences_keep_their_cut() -> None:
    """Where most captions end at a silence the pauses tell where sentences end, and the reader may only add to them."""
    anywhere = heard(UNMARKED, block=10)
    parts = [_moved(part, n * 9000 - part.start_ms) for n, part in enumerate(anywhere.segments)]
    apart = anywhere.but(segments=tuple(parts))
    firsts = {word.start_ms for sentence in stops.sentences(apart) for word in sentence.words[:1]}
    assert stops.cut_at_silences(apart)
    assert not stops.cut_at_silences(anywhere)
    assert firsts >= {sentence.start_ms for sentence in language.sentences(apart)}


def _moved(part: Segment, by_ms: int) -> Segment:
    words = [word.but(start_ms=word.start_ms + by_ms, end_ms=word.end_ms + by_ms) for word in part.words]
    return Segment(start_ms=words[0].start_ms, end_ms=words[-1].end_ms, text=part.text, words=tuple(words))


def test_an_endless_stretch_without_stops_is_parted_at_its_likeliest_places() -> None:
    """A path without a likely end still gives sentences of at most sixty words."""
    said = language.words(heard(" ".join(["press it flat"] * 100)))
    found = language.parted(said, stops.ends(said, np.full(len(said), 1e-4, dtype=np.float32), silences=True))
    assert max(len(sentence.words) for sentence in found) <= language.LONGEST_WORDS
    assert sum(len(sentence.words) for sentence in found) == len(said)


def test_a_stop_missing_in_a_marked_text_is_found_where_there_is_silence() -> None:
    """In a text with stops one more is found at a silence, its sentence begins large, and no written one is lost."""
    text = f"{TALK} We have the glue ready on the table now we take the blue sheet and fold it in half. {TALK}"
    written = stops.sentences(heard(text))
    found = [sentence.text for sentence in stops.sentences(heard(text, pauses={"table": 850}))]
    assert [sentence.text for sentence in written] == texts(heard(text))
    assert "We have the glue ready on the table" in found
    assert "Now we take the blue sheet and fold it in half." in found
    assert len(found) == len(written) + 1


def test_marked_text_in_small_letters_gets_capitals_and_keeps_its_ends() -> None:
    """Where captions have stops and no capitals, only first letters and "I" are changed."""
    text = "fold the card and press it, i think. then turn it over. i'll show you how it's done in a moment."
    found = [sentence.text for sentence in stops.sentences(heard(text))]
    assert found == [
        "Fold the card and press it, I think.",
        "Then turn it over.",
        "I'll show you how it's done in a moment.",
    ]
