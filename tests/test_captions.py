"""Captions: the optimiser, the rules, the files, and their judges."""

import json
import os
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import judged
import pytest
import small_document
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from length import whole_or

from studio import caption_files, captions, folio, resources
from studio.caption_files import Cue
from studio.captions import breaks, optimiser
from studio.model import Document, Mention, Recording, Segment, Span, Spelling, Transcript, Word
from studio.settings import CaptionChoices, Settings

FIXTURES = Path(__file__).parent / "fixtures"
STREAMS = int(os.environ.get("CAPTION_STREAMS", whole_or("300", "60")))
"""Random word streams in a run; the full set of 5,000 takes some minutes."""


def words(*spoken: tuple[str, int, int]) -> tuple[Word, ...]:
    """Return words from (text, start, end)."""
    return tuple(Word(text=text, start_ms=start, end_ms=end) for text, start, end in spoken)


def steadily(text: str, start_ms: int = 0, each_ms: int = 400) -> tuple[Word, ...]:
    """Return the words of a text, one after the other at an easy pace."""
    return words(*((w, start_ms + n * each_ms, start_ms + (n + 1) * each_ms) for n, w in enumerate(text.split())))


def document(spoken: Sequence[Word], **parts: object) -> Document:
    """Return a document that holds just these words."""
    end = max((word.end_ms for word in spoken), default=0)
    segments = (Segment(start_ms=0, end_ms=end, text=" ".join(w.text for w in spoken), words=tuple(spoken)),)
    recording = parts.pop("recording", Recording(source="a.mp4", sha256="0", duration_ms=end))
    speech = parts.pop("speech", ())
    heard = Transcript(language="en", recogniser="test", segments=segments if spoken else (), speech=speech)  # type: ignore[arg-type]
    return Document(recording=recording, transcript=heard, **parts)  # type: ignore[arg-type]


def made(spoken: Sequence[Word], **parts: object) -> tuple[Cue, ...]:
    """Return the captions of the words."""
    return captions.cues(document(spoken, **parts), Settings())


def errors(cues: Sequence[Cue]) -> list[captions.Breach]:
    """Return the breaches that forbid publishing."""
    return [breach for breach in captions.breaches(cues, captions.caption_rules()) if breach.severity == "error"]


# --- what the optimiser does -----------------------------------------------------------------------------------------


def test_a_caption_ends_with_its_sentence() -> None:
    """Two short sentences become two captions (BBC Subtitle Guidelines, 3.3: one sentence each)."""
    cues = made(steadily("Fold the card in half along the score. Then press it flat with the folder."))
    assert [cue.text for cue in cues] == [
        "Fold the card in half along the score.",
        "Then press it flat with the folder.",
    ]


def test_a_caption_begins_with_its_first_word() -> None:
    """The start of every caption is the start of its first word (BBC 5.2: in step with the speech)."""
    spoken = steadily("One thing first. Mind the blade. It is sharper than it looks, and it slips.", 730)
    starts = {word.start_ms for word in spoken}
    assert all(cue.start_ms in starts for cue in made(spoken))


def test_a_gap_is_none_or_a_second() -> None:
    """A pause of 0.6 s is closed, one of 4 s stays open (BBC 4.5)."""
    spoken = [*steadily("This is the paper.", 0), *steadily("It is rather thick.", 2200), *steadily("Good.", 8000)]
    first, second, third = made(spoken)
    assert second.start_ms == first.end_ms
    assert third.start_ms - second.end_ms >= 1000


def test_no_caption_spans_a_long_silence() -> None:
    """Words after 3 s of work appear when they are said."""
    spoken = [*steadily("And then you", 0), *steadily("press it down hard.", 4200)]
    assert [cue.start_ms for cue in made(spoken)] == [0, 4200]


@pytest.mark.parametrize(
    ("text", "torn"),
    [
        ("I usually take a strip that is about 5 inches wide and fold it", "5|inches"),
        ("I usually take a nice long strip that is four and a quarter by five", "a|quarter"),
        ("it is in the catalogue, near the end of it, on page 41, with the rest", "page|41,"),
        ("you will find it as number KB 4410 in the list that I have put there", "KB|4410"),
        ("pour it in slowly until you have about twenty five millilitres of it", "twenty|five"),
    ],
)
def test_what_belongs_together_is_not_broken(text: str, torn: str) -> None:
    """No line and no caption ends inside a number, its unit, a page or a code (common practice, after BBC 3.4)."""
    for shift in range(8):
        cues = made(steadily(f"{'so ' * shift}{text}"))
        lines = [line for cue in cues for line in cue.lines]
        edges = {f"{above.split()[-1]}|{below.split()[0]}" for above, below in pairwise(lines)}
        assert torn not in edges


def test_a_product_name_is_not_broken() -> None:
    """A name that was recognised stays on one line (common practice, no source)."""
    text = "so for this one here I am going to take the Marsh Heron Die Set and cut it out"
    spoken = steadily(text)
    at = text.split().index("Marsh")
    span = {"start_ms": spoken[at].start_ms, "end_ms": spoken[at + 3].end_ms}
    named = Mention(
        id="m1", code="X1", heard="Marsh Heron Die Set", role="shown", state="confirmed", confidence=1, **span
    )
    lines = [line for cue in made(spoken, mentions=(named,)) for line in cue.lines]
    assert any("Marsh Heron Die Set" in line for line in lines)


def test_the_right_spelling_is_shown() -> None:
    """A name heard wrongly is shown as the catalogue spells it, and keeps the full stop that was heard."""
    spoken = steadily("This is the marsh herring.")
    right = Spelling(heard="marsh herring", shown="Marsh Heron", source="catalogue", start_ms=1200, end_ms=2000)
    assert made(spoken, spellings=(right,))[0].text == "This is the Marsh Heron."


def test_silence_is_taken_off_the_end_of_a_word() -> None:
    """A last word that the recogniser lets last through a pause ends where the speech ends."""
    spoken = words(("Done.", 0, 6000), ("Next.", 6000, 6400))
    cues = made(spoken, speech=(Span(start_ms=0, end_ms=500), Span(start_ms=6000, end_ms=6400)))
    assert cues[0].end_ms <= 2000


def test_an_upright_picture_gets_three_shorter_lines() -> None:
    """At 9:16 lines hold about 25 characters, three of them (BBC 3.1, 3.2)."""
    upright = Recording(source="a.mp4", sha256="0", duration_ms=9000, width=1080, height=1920)
    cues = made(
        steadily("Take the longer strip, line it up with the edge, and press it down from the middle."),
        recording=upright,
    )
    assert max(len(line) for cue in cues for line in cue.lines) <= 25
    assert max(len(cue.lines) for cue in cues) == 3


def test_the_person_sets_the_lines() -> None:
    """A line length of 20 and one line are kept to."""
    choices = Settings(captions=CaptionChoices(line_length=20, lines=1))
    cues = captions.cues(document(steadily("Take the longer strip and line it up with the edge")), choices)
    assert all(len(cue.lines) == 1 and len(cue.lines[0]) <= 20 for cue in cues)


def test_speech_without_words_has_no_captions() -> None:
    """An empty transcript gives two valid files without a caption."""
    files = captions.files(small_document.edition(document(())))
    assert files == {"captions.vtt": "WEBVTT\n\n\n", "captions.srt": "\n"}


# --- what the check finds --------------------------------------------------------------------------------------------

BREACHES = {
    "line_length": [Cue(0, 4000, ("a line that goes on for rather longer than it may",))],
    "line_length_preferred": [Cue(0, 4000, ("a line that goes on for somewhat longer",))],
    "lines": [Cue(0, 4000, ("one", "two", "three"))],
    "duration": [Cue(4000, 4000, ("Hello",))],
    "order": [Cue(4000, 6000, ("Hello",)), Cue(1000, 2000, ("Hello",))],
    "overlap": [Cue(0, 3000, ("Hello",)), Cue(2000, 4000, ("Hello",))],
    "gap": [Cue(0, 2000, ("Hello",)), Cue(2400, 4000, ("Hello",))],
    "number_and_unit": [Cue(0, 4000, ("it is five", "inches wide"))],
    "speed": [Cue(0, 2200, ("one two three four", "five six seven"))],
    "shortest_per_word": [Cue(0, 1000, ("one two three", "four five"))],
    "longest": [Cue(0, 7001, ("Hello",))],
    "break": [Cue(0, 4000, ("this is the", "paper"))],
}


@pytest.mark.parametrize("rule", BREACHES)
def test_each_rule_finds_its_breach(rule: str) -> None:
    """The check names the rule, its weight and its source for a caption that breaks it."""
    found = [breach for breach in captions.breaches(BREACHES[rule], captions.caption_rules()) if breach.rule == rule]
    assert len(found) == 1
    assert found[0].source
    assert found[0].severity == captions.caption_rules()[rule].severity


def test_there_is_a_breach_for_every_rule() -> None:
    """No rule of the file is left untested."""
    assert set(BREACHES) == set(captions.caption_rules())


def test_a_good_file_has_no_breach(tmp_path: Path) -> None:
    """What the program writes passes its own check, as VTT and as SRT."""
    files = captions.files(
        small_document.edition(document(steadily("Fold it in half. Press it flat with the folder, and turn it.")))
    )
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
        assert captions.check_file(tmp_path / name) == ()


# --- random streams --------------------------------------------------------------------------------------------------

COMMON = (
    "the a of to in and or but five 5 12 4½ £18 inches inch cm gsm page 9 half quarter point two hundred and a KB "
    "4410 Marsh Heron card, paper. fold? it's I'm we you going strip, extraordinarily Okay. right, number percent"
).split()
HOSTILE = ["<b>", "&amp;", "-->", "Straße,", "naïve", "12", "…", "—", "{x}", "a" * 60, "日本語", "NOTE", "WEBVTT", "1"]
texts = st.one_of(st.sampled_from(COMMON), st.sampled_from(COMMON), st.sampled_from(HOSTILE))
steps = st.tuples(
    texts, st.sampled_from([-300, 0, 0, 0, 20, 80, 300, 700, 990, 1000, 1800, 5000]), st.integers(0, 1500)
)
streams = st.lists(steps, min_size=1, max_size=60)


def stream(parts: list[tuple[str, int, int]]) -> tuple[Word, ...]:
    """Return words whose times may stand still, overlap or go back."""
    found, at = [], 0
    for text, gap, lasts in parts:
        at = max(0, at + gap)
        found.append(Word(text=text, start_ms=at, end_ms=at + lasts))
        at += lasts
    return tuple(found)


def unforced(cues: Sequence[Cue], spoken: Sequence[Word]) -> list[object]:
    """Return the errors that the input does not force: only words that hold together on more than a line do."""
    most = captions.caption_rules()["line_length"].figure
    found: list[object] = [one for one in errors(cues) if one.rule not in {"line_length", "number_and_unit"}]
    found += [line for cue in cues for line in cue.lines if len(line) > most and " " in line]
    texts = [word.text for word in spoken]
    bound = [place > 0 and breaks.between(texts, place) == "bound" for place in range(len(texts))]
    at = 0
    for cue, after in zip(cues, [*cues[1:], None], strict=True):
        for number, line in enumerate(cue.lines, start=1):
            at += len(line.split())
            parted = number == len(cue.lines) and (after is None or after.start_ms - cue.end_ms >= 1000)
            if at < len(texts) and bound[at] and not parted and len(run_around(texts, bound, at)) <= most:
                found.append((line, texts[at]))
    return found


def run_around(texts: Sequence[str], bound: Sequence[bool], place: int) -> str:
    """Return the words that hold together around a place."""
    first, last = place, place + 1
    while bound[first]:
        first -= 1
    while last < len(texts) and bound[last]:
        last += 1
    return " ".join(texts[first:last])


@settings(max_examples=STREAMS, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(streams)
def test_any_stream_of_words_becomes_lawful_captions(parts: list[tuple[str, int, int]]) -> None:
    """Nothing is lost, the order stays, and every error is one that the input forces."""
    spoken = stream(parts)
    cues = made(spoken)
    assert " ".join(cue.text for cue in cues) == " ".join(word.text for word in spoken)
    assert unforced(cues, spoken) == []


@settings(max_examples=max(50, STREAMS // 10), deadline=None)
@given(streams)
def test_times_are_put_in_order(parts: list[tuple[str, int, int]]) -> None:
    """Every word gets at least 1 ms, and no two overlap, whatever was given."""
    ordered = optimiser.in_order(stream(parts))
    assert all(word.end_ms > word.start_ms for word in ordered)
    assert all(before.end_ms <= after.start_ms for before, after in pairwise(ordered))


# --- the files and their judges --------------------------------------------------------------------------------------


def read_back(text: str, suffix: str, tmp_path: Path) -> dict[str, list[tuple[int, int, str]]]:
    """Return the captions as two libraries read them."""
    import pysubs2
    import webvtt

    path = tmp_path / f"c{suffix}"
    path.write_text(text, encoding="utf-8")
    first = webvtt.read(path) if suffix == ".vtt" else webvtt.from_srt(path)
    found = {"webvtt-py": [(ms(c.start), ms(c.end), c.text.replace("\n", " ")) for c in first]}
    second = pysubs2.load(str(path), encoding="utf-8")
    found["pysubs2"] = [(event.start, event.end, event.plaintext.replace("\n", " ")) for event in second]
    return found


def ms(clock: str) -> int:
    """Return the milliseconds of 00:00:01.500."""
    hours, minutes, seconds = clock.split(":")
    return round((int(hours) * 3600 + int(minutes) * 60 + float(seconds)) * 1000)


@pytest.mark.parametrize("suffix", [".vtt", ".srt"])
def test_two_libraries_read_the_same_captions_back(suffix: str, tmp_path: Path) -> None:
    """Nothing is lost on the way through webvtt-py and pysubs2."""
    spoken = steadily(
        "Fold it at 5½ inches, then press. It's naïve, I know. Cut two more pieces of the “Marsh” paper, and wait."
    )
    cues = made(spoken)
    text = captions.files(small_document.edition(document(spoken)))[f"captions{suffix}"]
    wanted = [(cue.start_ms, cue.end_ms, cue.text) for cue in cues]
    for library, found in read_back(text, suffix, tmp_path).items():
        assert found == wanted, library


def test_signs_of_markup_come_back_as_text(tmp_path: Path) -> None:
    """`<`, `&` and `-->` in what was said are text in the file, not markup (W3C WebVTT, 4.2.2)."""
    spoken = steadily("Write <b> & then --> here.")
    path = tmp_path / "c.vtt"
    path.write_text(captions.captions_vtt(made(spoken)), encoding="utf-8")
    assert " ".join(cue.text for cue in caption_files.read_cues(path)) == "Write <b> & then --> here."


def talk() -> tuple[Word, ...]:
    """Return five minutes of talk with uneven times."""
    lines = (FIXTURES / "talks" / "cheerful.txt").read_text(encoding="utf-8").splitlines()
    found: list[Word] = []
    at = 500
    for line in (line for line in lines if line and line[0] not in "#["):
        for word in line.split():
            found.append(Word(text=word, start_ms=at, end_ms=at + 90 + 50 * len(word)))
            at += 120 + 50 * len(word)
        at += 300 + 137 * len(line) % 900
    return tuple(found)


def test_a_talk_has_no_errors() -> None:
    """Five minutes of lively talk: no error, and every warning is one of pace or of a hard break."""
    breaches = captions.breaches(made(talk()), captions.caption_rules())
    assert {breach.rule for breach in breaches} <= {"speed", "shortest_per_word", "break"}


@pytest.mark.node
def test_an_independent_parser_accepts_the_captions(tmp_path: Path) -> None:
    """The npm package webvtt-parser, written from the W3C text, finds nothing wrong."""
    hostile = steadily("Write <b> & then --> here, NOTE 1 WEBVTT and {x} …", talk()[-1].end_ms + 2000)
    path = tmp_path / "c.vtt"
    path.write_text(captions.captions_vtt(made([*talk(), *hostile])), encoding="utf-8")
    code = (
        "const {WebVTTParser} = require('webvtt-parser');"
        "const text = require('fs').readFileSync(process.argv[1], 'utf8');"
        "const tree = new WebVTTParser().parse(text, 'subtitles/captions/descriptions');"
        "console.log(JSON.stringify({errors: tree.errors, cues: tree.cues.length}));"
    )
    told = json.loads(judged.by_node("webvtt-parser", code, path))
    assert told["errors"] == []
    assert told["cues"] == len(made([*talk(), *hostile]))


@pytest.mark.hearing
@pytest.mark.slow
def test_captions_of_the_sample_come_when_it_is_said(heard_sample: Path) -> None:
    """Heard from its sound, the sample's captions have no error and begin within 150 ms of the truth on the mean."""
    cues = captions.cues(folio.read(heard_sample), Settings())
    assert errors(cues) == []
    true = json.loads(resources.sample("script_times.json").read_text(encoding="utf-8"))["sentences"]
    off = [min(abs(cue.start_ms - sentence["start_ms"]) for cue in cues) for sentence in true]
    near = [distance for distance in off if distance < 1500]
    assert len(near) >= 0.95 * len(true)
    assert sum(near) / len(near) <= 150
