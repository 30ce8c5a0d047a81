"""The format of marked talks: what a good one becomes, and how each wrong mark is refused."""

from collections import defaultdict
from fractions import Fraction
from pathlib import Path

import pytest

from studio.reader.digits import in_digits
from studio.reader.forms import FORMS, timed
from studio.reader.talks import Talk, WrongTalk, read_part, read_talk

CORPUS = Path(__file__).parent / "talks"
PARTS = ("train", "tune", "sealed")
HEAD = """\
talk: a coaster
hand: x01
craft: weaving
voice: nobody
situation: at a table
currency: GBP
recorded: 2026-03-14
speakers: A Ina, B Olu
catalogue: x01.csv
"""
ROWS = "code,name\nR3,Reed 3 mm\nR4,Reed 4 mm\nF1,Weaving Frame\n"
GOOD = """
! offer o1 kind=percent_off, percent=10, ends=2026-03-31

## Hello | hello welcome
greeting: Hello there.
##? The reed
step B 2.5: Take [the [three mil|= 3 mm] one|R3 shown, wrong=c1], [the four|R4 shown, right=c1], not [R3|R3 rejected].
offer: [Ten percent off|offer o1] until [the end of March|day 2026-03-31].
"""


def talk(folder: Path, body: str, head: str = HEAD) -> Talk:
    """Read a talk made of a head and a body, beside a small catalogue."""
    (folder / "x01.csv").write_text(ROWS, encoding="utf-8")
    path = folder / "x01-1.txt"
    path.write_text(head + body, encoding="utf-8")
    return read_talk(path)


def test_a_good_talk_is_read_whole(tmp_path: Path) -> None:
    """Kinds, speakers, silences, chapters, offers and marks with the words they cover are as they were written."""
    read = talk(tmp_path, GOOD)
    assert [(one.kind, one.speaker, one.pause) for one in read.utterances] == [
        ("greeting", "A", 0), ("step", "B", 2.5), ("offer", "A", 0),
    ]  # fmt: skip
    assert read.utterances[1].text == "Take the three mil one, the four, not R3."
    marks = [(" ".join(read.utterances[1].words[m.first : m.last]), m.mark) for m in read.utterances[1].marks]
    assert [(words, mark.kind, mark.role, mark.codes, mark.wrong, mark.right) for words, mark in marks] == [
        ("three mil", "amount", "", (), "", ""),
        ("the three mil one,", "row", "shown", ("R3",), "c1", ""),
        ("the four,", "row", "shown", ("R4",), "", "c1"),
        ("R3.", "row", "rejected", ("R3",), "", ""),
    ]
    assert (marks[0][1].values, marks[0][1].unit) == ((Fraction(3),), "mm")
    assert read.offers == {"o1": {"kind": "percent_off", "percent": "10", "ends": "2026-03-31"}}
    assert [(s.utterance, s.words, s.optional) for s in read.starts] == [
        (0, ("hello", "welcome"), False), (1, ("reed",), True),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "what", "remedy"),
    [
        ("step: Take [the reed|R9 shown].", "no row R9", "Mend the code"),
        ("step: Take [the reed|R3 seen].", "is no mark", "CODE role"),
        ("step: Take [the reed|R3].", "is no mark", "CODE role"),
        ("step: Take [a reed|R3 unclear].", "needs two codes", "A1/A2 unclear"),
        ("step: Take [reeds|R3/R4 shown].", "several codes", "by its own words"),
        ("step: Take [the reed|R?3 shown].", "is no code", "“-” for none"),
        ("step: Cut [four inches|= 4].", "is no amount", "numbers and a unit"),
        ("step: Cut [four inches|= in].", "is no amount", "numbers and a unit"),
        ("step: Cut [four inches|= 4 in, off=the base].", "is no attribute", "key=value"),
        ("fact: Till [March|day 14 March].", "is no date", "2026-04-14"),
        ("fact: [Three pounds|says R3 cost true 3.00].", "is no statement", "says CODE FIELD true VALUE"),
        ("fact: [Three pounds|says R3 price maybe 3.00].", "is no statement", "says CODE FIELD true VALUE"),
        ("fact: It is [gone|gone].", "takes one code", "gone KB114"),
        ("fact: It is [coming|coming R3 May].", "is no date", "2026-04-14"),
        ("warning: [Mind that|warn tigers].", "not known", "one of blade"),
        ("chat: [My street|private shoes].", "not known", "one of address"),
        ("chat: [I earn a lot|earn fame].", "not known", "one of income"),
        ("chat: [Never breaks|claim magic].", "not known", "one of food_safe"),
        ("offer: [Ten off|offer o7].", "o7 is not defined", "! offer o7 kind="),
        ("fact: [So|fix].", "“fix” takes only", "fix, wrong=c1"),
        ("fact: [So|fix, right=c9].", "no withdrawn value", "wrong=c9"),
        ("step: Take [the reed.", "not closed", "[words|mark]"),
        ("step: Take [the reed|R3 shown.", "does not fit", "[words|mark]"),
        ("step: Take the reed|R3 shown].", "does not fit", "[words|mark]"),
        ("step: Take [|R3 shown] the reed.", "covers no words", "between “[” and “|”"),
        ("do: Take the reed.", "A line is written", "a kind of step"),
        ("step C: Take the reed.", "Speaker C", "speakers: C Name"),
        ("Take the reed.", "A line is written", "a kind of step"),
        ("##The reed", "A chapter is written", "## Title"),
        ("! offer o2 percent=10", "no known kind", "kinds are gift_over_threshold"),
        ("! offer o2 kind=percent_off, rabbit=1", "unknown part rabbit", "Parts are kind"),
        ("! offer o2 kind=dates, ends=soon", "is no date", "2026-04-14"),
        ("! offer o2 kind=gift_with_purchase, gift=Z99", "no row Z99", "Mend the code"),
    ],
)  # fmt: skip
def test_a_wrong_mark_is_refused_with_its_line_and_the_remedy(
    tmp_path: Path, line: str, what: str, remedy: str
) -> None:
    """The error names the file and the line, says what is wrong, and what to write."""
    body = GOOD + line + "\n"
    with pytest.raises(WrongTalk) as error:
        talk(tmp_path, body)
    assert what in error.value.what
    assert remedy in error.value.what
    assert error.value.line == (HEAD + body).splitlines().index(line) + 1
    assert str(error.value).startswith(f"x01-1.txt, line {error.value.line}: ")


@pytest.mark.parametrize(
    ("head", "body", "what"),
    [
        (HEAD.replace("currency: GBP\n", ""), GOOD, "The head lacks currency"),
        (HEAD.replace("craft: weaving", "trade: weaving"), GOOD, "is no line of the head"),
        (HEAD.replace("2026-03-14", "in March"), GOOD, "is no date"),
        (HEAD.replace("x01.csv", "x02.csv"), GOOD, "no catalogue “x02.csv”"),
        (HEAD, GOOD.replace("## Hello | hello welcome\n", ""), "first chapter must begin at the first line"),
        (HEAD, GOOD.replace("[Ten percent off|offer o1]", "Ten percent off"), "defined and never told"),
        (HEAD, GOOD.replace("##? The reed", "## One\n## Two"), "Two chapters begin at one line"),
        (HEAD, GOOD + "! offer o1 kind=dates\n", "defined twice"),
    ],
)
def test_a_wrong_talk_is_refused(tmp_path: Path, head: str, body: str, what: str) -> None:
    """A head, a chapter or an offer that does not fit is told."""
    with pytest.raises(WrongTalk) as error:
        talk(tmp_path, body, head)
    assert what in error.value.what


def test_the_forms_share_their_times(tmp_path: Path) -> None:
    """In every form a word stands where it was said; only spelling, stops and blocks differ."""
    read = talk(tmp_path, GOOD)
    forms = {form: timed(read, form) for form in FORMS}
    spoken = forms["spoken"]
    assert [one.text for one in spoken.transcript.segments] == [one.text for one in read.utterances]
    for made in forms.values():
        words = [word for block in made.transcript.segments for word in block.words]
        assert made.at == spoken.at
        for word, (line, first) in zip(words, made.origin, strict=True):
            assert word.start_ms == made.at[line][first][0]
    captions = " ".join(one.text for one in forms["captions"].transcript.segments)
    assert captions == captions.lower()
    assert not set(captions) & set(".,?!")


@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("four and a quarter by five and a half inches", "4 1/4 by 5 1/2 inches"),
        ("a hundred and eighty degrees for twenty-five minutes", "180 degrees for 25 minutes"),
        ("two thousand three hundred grams", "2300 grams"),
        ("twelve pounds fifty and ten percent", "£12.50 and 10%"),
        ("number six needle, seven", "number six needle, seven"),
    ],
)
def test_numbers_are_written_as_a_recogniser_writes_them(said: str, written: str) -> None:
    """Ten and above, and numbers before a unit, become digits (common practice of recognisers, no source)."""
    assert " ".join(word for word, _, _ in in_digits(said.split())) == written


@pytest.mark.parametrize("part", PARTS)
def test_every_talk_of_the_corpus_is_as_the_format_wants(part: str) -> None:
    """Each is read without an error, has 700 words or more, and a catalogue of 60 to 250 rows."""
    for read in read_part(CORPUS / part):
        assert sum(len(one.words) for one in read.utterances) >= 700, read.name
        assert 60 <= len(read.catalogue.products) <= 250, read.name
        assert read.name.startswith(f"{read.head['hand']}-"), read.name


def test_a_hand_is_in_one_part_only() -> None:
    """What a hand has written is all for training, all for tuning, or all sealed."""
    parts: dict[str, set[str]] = defaultdict(set)
    for part in PARTS:
        for path in (CORPUS / part).glob("*.txt"):
            parts[path.stem.split("-")[0]].add(part)
    assert {hand: found for hand, found in parts.items() if len(found) > 1} == {}
