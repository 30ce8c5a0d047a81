"""Chapter files: what validators of each format ask for."""

import json
import re
import warnings
from pathlib import Path

import jsonschema
import judged
import pytest

from studio import chapter_files, language, timecode
from studio.chapters import rules
from studio.edition import Edition
from studio.model import Catalogue, Chapter, Document, Recording, Segment, Spelling, Transcript, Word
from studio.settings import ChapterChoices, Settings

HOUR = 3_600_000
PARTS = (
    Chapter(start_ms=0, title="Welcome"),
    Chapter(start_ms=37_960, title="Fig & Fern <large> --> small"),
    Chapter(start_ms=HOUR + 5_000, title="Goodbye"),
)
JSON_CHAPTERS = {
    "type": "object",
    "required": ["version", "chapters"],
    "properties": {
        "version": {"type": "string"},
        "chapters": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["startTime"],
                "properties": {
                    "startTime": {"type": "number", "minimum": 0},
                    "endTime": {"type": "number"},
                    "title": {"type": "string"},
                },
                "additionalProperties": False,
            },
        },
    },
}
"""After the specification of JSON chapters 1.2, podcast namespace."""


def words(text: str) -> tuple[Word, ...]:
    """Return words of 0.4 s each."""
    return tuple(Word(text=w, start_ms=n * 400, end_ms=n * 400 + 380) for n, w in enumerate(text.split()))


def document(text: str = "Hello <b>there</b> & all. This is the marsh herring.") -> Document:
    """Return a document of an hour and a bit."""
    spoken = words(text)
    heard = Transcript(
        language="en",
        recogniser="test",
        segments=(Segment(start_ms=0, end_ms=spoken[-1].end_ms, text=text, words=spoken),),
    )
    at = next((word.start_ms for word in spoken if word.text == "marsh"), 0)
    right = Spelling(heard="marsh herring", shown="Marsh Heron", source="catalogue", start_ms=at, end_ms=at + 800)
    return Document(
        recording=Recording(source="<i>demo</i>.mp4", sha256="0", duration_ms=HOUR + 60_000),
        transcript=heard,
        sentences=language.sentences(heard),
        spellings=(right,),
        chapters=PARTS,
    )


FILES = chapter_files.files(Edition.of(document(), Catalogue(), Settings()))


def test_the_list_has_its_time_first() -> None:
    """One line a chapter, 0:00 first, hours where there are any (common practice of hosts)."""
    assert FILES["chapters.txt"] == "0:00 Welcome\n0:37 Fig & Fern <large> --> small\n1:00:05 Goodbye\n"


def test_json_chapters_follow_their_schema() -> None:
    """Version and start times as numbers of seconds, ascending, each end at the next start (JSON chapters 1.2)."""
    told = json.loads(FILES["chapters.json"])
    jsonschema.validate(told, JSON_CHAPTERS)
    starts = [row["startTime"] for row in told["chapters"]]
    assert starts == sorted(set(starts)) == [0, 37.96, 3605]
    assert [row["endTime"] for row in told["chapters"]] == [37.96, 3605, 3660]


def test_vtt_chapters_lie_side_by_side() -> None:
    """WebVTT first, ends after starts, no overlap, markup escaped (W3C WebVTT, 4.1 and 4.5)."""
    text = FILES["chapters.vtt"]
    assert text.startswith("WEBVTT\n\n")
    times = [
        [timecode.read_clock(c) for c in line.split(" --> ")]
        for line in re.findall(r"^[\d:.]+ --> [\d:.]+$", text, re.MULTILINE)
    ]
    assert times == [[0, 37_960], [37_960, HOUR + 5_000], [HOUR + 5_000, HOUR + 60_000]]
    assert "Fig &amp; Fern &lt;large&gt; --&gt; small" in text


@pytest.mark.node
def test_an_independent_parser_accepts_the_chapters(tmp_path: Path) -> None:
    """The npm package webvtt-parser reads the file as chapters without an error."""
    path = tmp_path / "chapters.vtt"
    path.write_text(FILES["chapters.vtt"], encoding="utf-8")
    code = (
        "const {WebVTTParser} = require('webvtt-parser');"
        "const tree = new WebVTTParser().parse(require('fs').readFileSync(process.argv[1], 'utf8'), 'chapters');"
        "console.log(JSON.stringify([tree.errors, tree.cues.length]));"
    )
    assert json.loads(judged.by_node("webvtt-parser", code, path)) == [[], 3]


def test_the_transcript_is_sound_html() -> None:
    """A strict parser finds no fault, and nothing that was said becomes markup (WHATWG HTML)."""
    import html5lib

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(FILES["transcript.html"])
    assert [node.tag for node in tree.iter() if node.tag in {"b", "i", "script"}] == []
    assert "Hello <b>there</b> & all." in "".join(tree.itertext())


@pytest.mark.node
def test_an_independent_checker_accepts_the_transcript(tmp_path: Path) -> None:
    """The Nu Html Checker, written from the WHATWG text, finds no error and no warning."""
    path = tmp_path / "transcript.html"
    path.write_text(FILES["transcript.html"], encoding="utf-8")
    assert judged.faults_in_html(path) == ""


def test_the_transcript_shows_chapters_times_and_right_names() -> None:
    """Each chapter is a heading with a link to it, each paragraph has its time, names are spelt as they are shown."""
    page = FILES["transcript.html"]
    assert page.count("<h2") == 3
    assert '<a href="#part-3">Goodbye</a> <time datetime="PT1H5S">1:00:05</time>' in page
    assert "This is the Marsh Heron." in page
    assert "herring" not in page


def test_every_sentence_is_in_the_transcript_once() -> None:
    """A sentence that begins before the second chapter is not told again in it."""
    spoken = words("One two three. " * 400)
    heard = Transcript(language="", recogniser="t", segments=(Segment(start_ms=0, end_ms=9, text="", words=spoken),))
    parts = tuple(Chapter(start_ms=n * 60_000 + 77, title=f"Part {n}") for n in range(5))
    page = chapter_files.transcript(
        document().but(sentences=language.sentences(heard), transcript=heard, chapters=parts)
    )
    assert page.count("One two three.") == 400
    assert '<html lang="en">' in page


# --- the rules of an upload ------------------------------------------------------------------------------------------


def breaches(*chapters: tuple[int, str], end_s: int = 100) -> str:
    """Return what a host may refuse, in one text; starts in seconds."""
    made = [Chapter(start_ms=start * 1000, title=title) for start, title in chapters]
    return " ".join(breach.message for breach in rules.host_refusals(made, end_s * 1000, ChapterChoices()))


def test_a_good_list_is_accepted() -> None:
    """Three chapters of more than 10 s from 0:00 are right (common practice of hosts)."""
    assert breaches((0, "A"), (30, "B"), (60, "C")) == ""


@pytest.mark.parametrize(
    ("chapters", "told"),
    [
        (((0, "A"), (30, "B")), "2 chapters"),
        (((1, "A"), (30, "B"), (60, "C")), "does not begin at 0:00"),
        (((0, "A"), (5, "B"), (60, "C")), "“A” is shorter than 10 s"),
        (((0, "A"), (30, "B"), (95, "C")), "“C” is shorter than 10 s"),
        (((0, "A"), (60, "B"), (30, "C")), "“C” does not come after “B”"),
        (((0, "A"), (30, "B"), (60, "b")), "“b” is there twice"),
        (((0, "A"), (30, " "), (60, "C")), "has no title"),
        (((0, "A"), (30, "B" * 61), (60, "C")), "longer than 60 characters"),
    ],
)
def test_each_rule_of_an_upload_is_checked(chapters: tuple[tuple[int, str], ...], told: str) -> None:
    """Start, number, length of each and of the last, order, titles (common practice of hosts)."""
    assert told in breaches(*chapters)
