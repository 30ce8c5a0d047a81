"""The person's decisions: laid over what was found, kept through damage, re-runs, upgrades and new catalogues."""

import json
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from studio import edits
from studio.edits import Anchor, Edits, kinds
from studio.errors import StorageError
from studio.model import (
    Caution,
    Chapter,
    Cut,
    Document,
    Finding,
    Measure,
    Mention,
    Offer,
    Recording,
    Segment,
    Sentence,
    SentenceWord,
    Still,
    Supply,
    Transcript,
    Word,
)
from studio.settings import Settings

HERON = Anchor(start_ms=6000, end_ms=7000, heard="the heron ink")


def mention(at: int, heard: str, **more: Any) -> Mention:
    """A mention of one second."""
    given = {"id": f"m{at}", "code": None, "role": "shown", "state": "ask", "confidence": 0.4}
    return Mention(heard=heard, start_ms=at, end_ms=at + 1000, **{**given, **more})


def measure(at: int, heard: str, *values: str, unit: str = "in") -> Measure:
    """A measure of one second."""
    exact = tuple(Fraction(value) for value in values)
    return Measure(id=f"q{at}", heard=heard, start_ms=at, end_ms=at + 1000, values=exact, unit=unit,
                   dimension="length", metric="1 cm", state="ask")  # fmt: skip


def words(text: str, at: int = 0) -> tuple[Word, ...]:
    """Words of half a second each."""
    return tuple(
        Word(start_ms=at + 500 * n, end_ms=at + 500 * n + 400, text=word) for n, word in enumerate(text.split())
    )


def sentence(text: str, at: int = 0, index: int = 0) -> Sentence:
    """A sentence of such words."""
    placed, start = [], 0
    for word in words(text, at):
        placed.append(SentenceWord(**word.model_dump(), start=start, end=start + len(word.text)))
        start += len(word.text) + 1
    return Sentence(index=index, text=text, words=tuple(placed), start_ms=at, end_ms=placed[-1].end_ms)


def transcript(*texts: str) -> Transcript:
    """A transcript with one segment a text, ten seconds apart."""
    parts = []
    for place, text in enumerate(texts):
        said = words(text, place * 10_000)
        parts.append(Segment(start_ms=said[0].start_ms, end_ms=said[-1].end_ms, text=text, words=said))
    return Transcript(language="en", recogniser="test", segments=tuple(parts))


def laid(stage: str, result: Any, *made: Any) -> Any:
    """Lay decisions over a result."""
    return edits.lay_over(stage, result, Edits(tuple(made)))


def test_nothing_decided_gives_the_very_same_object() -> None:
    """A stage without a decision keeps its result and so its cached digest."""
    found = (mention(6000, "the heron ink"),)
    assert edits.lay_over("mentions", found, Edits()) is found
    assert laid("mentions", found, kinds.ChapterMerged(start_ms=5)) is found
    assert laid("no such stage", found, kinds.ChapterMerged(start_ms=5)) is found


def test_a_decided_mention_is_confirmed() -> None:
    """The row that the person chose stands in the mention that was asked about, and in no other."""
    found = (mention(6000, "Heron ink"), mention(60_000, "Heron ink"))
    first, second = laid("mentions", found, kinds.MentionDecided(anchor=HERON, choice="code", code="H2"))
    assert (first.code, first.state, first.role) == ("H2", "confirmed", "shown")
    assert second == found[1]


def test_a_nickname_reaches_every_mention_and_the_next_recording() -> None:
    """“Always this” decides every mention with these words and is handed on as a name of the settings."""
    found = (mention(6000, "the heron ink"), mention(60_000, "Heron ink,"), mention(70_000, "dove ink"))
    edit = kinds.MentionDecided(anchor=HERON, choice="code", code="H2", always=True)
    assert [one.code for one in laid("mentions", found, edit)] == ["H2", "H2", None]
    assert edits.names_kept(Edits((edit,))) == {"heron ink": "H2"}
    assert edits.over_settings(Settings(), Edits((edit,))).names == {"heron ink": "H2"}


def test_one_answer_can_hold_for_every_unsure_time() -> None:
    """“The same each time” decides the same words wherever they were unsure, and is no nickname for next time."""
    found = (mention(6000, "heron ink"), mention(60_000, "Heron ink"), mention(70_000, "heron ink", state="confirmed"))
    edit = kinds.MentionDecided(anchor=HERON, choice="none", everywhere=True)
    assert [one.role for one in laid("mentions", found, edit)] == ["unlisted", "unlisted", "shown"]
    assert edits.names_kept(Edits((edit,))) == {}


def test_a_single_answer_wins_over_a_nickname() -> None:
    """What was decided for one moment is not overrun by a nickname given later for another."""
    found = (mention(6000, "heron ink"), mention(60_000, "heron ink"))
    single = kinds.MentionDecided(anchor=HERON, choice="code", code="H1")
    always = kinds.MentionDecided(
        anchor=Anchor(start_ms=60_000, end_ms=61_000, heard="heron ink"), choice="code", code="H2", always=True
    )
    assert [one.code for one in laid("mentions", found, single, always)] == ["H1", "H2"]


def test_none_of_these_and_not_shown() -> None:
    """“None of these” is a thing the catalogue does not have; “not shown” keeps it off the supply list."""
    found = (mention(6000, "the heron ink", code="H1"),)
    (none,) = laid("mentions", found, kinds.MentionDecided(anchor=HERON, choice="none"))
    (talked,) = laid("mentions", found, kinds.MentionDecided(anchor=HERON, choice="not_shown"))
    assert (none.code, none.role, none.state) == (None, "unlisted", "absent")
    assert (talked.code, talked.role, talked.state) == ("H1", "mentioned", "confirmed")


def test_a_decided_item_that_is_no_longer_found_is_put_in() -> None:
    """A run that misses the item altogether does not lose the person's answer."""
    (put,) = laid("mentions", (), kinds.MentionDecided(anchor=HERON, choice="code", code="H2"))
    assert (put.code, put.start_ms, put.role, put.state) == ("H2", 6000, "shown", "confirmed")
    assert laid("mentions", (), kinds.MentionDecided(anchor=HERON, choice="none")) == ()


def test_a_word_is_corrected_once() -> None:
    """One word is corrected where it was said; its time and marks stay, other places are left alone."""
    said = (sentence("Now the hairy blue, please."), sentence("The hairy blue again.", 10_000, 1))
    edit = kinds.WordCorrected(anchor=Anchor(start_ms=1000, end_ms=1400, heard="hairy"), shown="Heron")
    first, second = laid("sentences", said, edit)
    assert first.text == "Now the Heron blue, please."
    assert [first.text[word.start : word.end] for word in first.words] == [word.text for word in first.words]
    assert first.words[2].start_ms == 1000
    assert second is said[1]


def test_words_are_corrected_everywhere() -> None:
    """Two words heard for one are corrected in every sentence, with the mark that follows them."""
    said = (sentence("Use the hair on, then"), sentence("a hair on. Fine.", 10_000, 1))
    edit = kinds.WordCorrected(
        anchor=Anchor(start_ms=1000, end_ms=1900, heard="hair on"), shown="Heron", everywhere=True
    )
    assert [one.text for one in laid("sentences", said, edit)] == ["Use the Heron, then", "a Heron. Fine."]


def test_a_corrected_word_is_shown_in_place_of_what_was_heard() -> None:
    """The transcript stays as heard; each place gets a spelling by the person, corrections of corrections too."""
    document = Document(
        recording=Recording(source="a.mp4", sha256="0", duration_ms=30_000),
        transcript=transcript("Use the hairy blue", "The hairy, again"),
    )
    every = Anchor(start_ms=1000, end_ms=1400, heard="hairy")
    first = kinds.WordCorrected(anchor=every, shown="Heroin", everywhere=True)
    again = kinds.WordCorrected(anchor=every.but(heard="Heroin"), shown="Heron", everywhere=True)
    shown = laid("document", document, first, again)
    assert [(one.start_ms, one.heard, one.shown, one.source) for one in shown.spellings] == [
        (1000, "hairy", "Heron", "person"),
        (10_500, "hairy,", "Heron", "person"),
    ]
    assert shown.transcript is document.transcript


def test_words_can_be_taken_out() -> None:
    """An empty correction takes the word out of the sentence."""
    edit = kinds.WordCorrected(anchor=Anchor(start_ms=500, end_ms=900, heard="um"), shown="")
    (one,) = laid("sentences", (sentence("So um paper."),), edit)
    assert one.text == "So paper."


PARTS = (
    Chapter(start_ms=0, title="Start"),
    Chapter(start_ms=60_000, title="Cutting"),
    Chapter(start_ms=120_000, title="Glue"),
)


@pytest.mark.parametrize(
    ("edit", "expected"),
    [
        (kinds.ChapterMoved(start_ms=60_000, to_ms=64_000), [(0, "Start"), (64_000, "Cutting"), (120_000, "Glue")]),
        (kinds.ChapterMoved(start_ms=60_000, to_ms=150_000), [(0, "Start"), (120_000, "Glue"), (150_000, "Cutting")]),
        (kinds.ChapterMoved(start_ms=60_000, to_ms=120_000), [(one.start_ms, one.title) for one in PARTS]),
        (kinds.ChapterRenamed(start_ms=60_000, title="Card"), [(0, "Start"), (60_000, "Card"), (120_000, "Glue")]),
        (kinds.ChapterMerged(start_ms=120_000), [(0, "Start"), (60_000, "Cutting")]),
        (kinds.ChapterMerged(start_ms=0), [(one.start_ms, one.title) for one in PARTS]),
        (kinds.ChapterMoved(start_ms=0, to_ms=9000), [(one.start_ms, one.title) for one in PARTS]),
        (kinds.ChapterSplit(start_ms=90_000, title="Score"),
         [(0, "Start"), (60_000, "Cutting"), (90_000, "Score"), (120_000, "Glue")]),
        (kinds.ChapterRenamed(start_ms=90_000, title="Score"),
         [(0, "Start"), (60_000, "Cutting"), (90_000, "Score"), (120_000, "Glue")]),
    ],
)  # fmt: skip
def test_chapters_are_as_decided(edit: Any, expected: list[tuple[int, str]]) -> None:
    """Chapters are moved, renamed, joined and split; the first stays at 0, lost ones come back, none is covered."""
    found = laid("chapters", PARTS, edit)
    assert [(one.start_ms, one.title) for one in found] == expected
    assert [one.title for one in PARTS] == ["Start", "Cutting", "Glue"]


def test_the_number_of_chapters_is_a_setting_of_the_recording() -> None:
    """The latest count stands; an empty one gives the choice back to the program."""
    made = Edits((kinds.ChaptersCounted(count=9), kinds.ChaptersCounted(count=6)))
    assert edits.over_settings(Settings(), made).chapters.count == 6
    assert edits.over_settings(Settings(), Edits((*made.made, kinds.ChaptersCounted()))).chapters.count is None


def test_a_measure_is_set_or_taken_out() -> None:
    """What the person says it measures stands and is converted anew; “no measure” takes it out."""
    found = (measure(1000, "an eighth", "1/8"), measure(9000, "four", "4"))
    anchor = Anchor(start_ms=1000, end_ms=2000, heard="an eighth")
    size = kinds.MeasureSet(anchor=anchor, values=("17/4", "11/2"), unit="in", quantity=2, of="card")  # type: ignore[arg-type]
    first, second = laid("measures", found, size)
    assert (first.values, first.unit, first.dimension, first.metric) == (
        (Fraction(17, 4), Fraction(11, 2)),
        "in",
        "size",
        "about 10.8 x 14 cm",
    )
    assert (first.quantity, first.of, first.state, second) == (2, "card", "confirmed", found[1])
    assert laid("measures", found, kinds.MeasureSet(anchor=anchor, removed=True)) == (found[1],)


def test_supplies_are_counted_coloured_and_ordered() -> None:
    """Quantity, colour and order are the person's; rows that were not named come last, in their order."""
    rows = tuple(
        Supply(code=code, name=code, kind="ink", first_shown_ms=0, mention_ids=(), state="confirmed") for code in "ABC"
    )
    one = kinds.SupplySet(item="B", quantity=3, colour="teal")
    found = laid("supplies", rows, one, kinds.SuppliesOrdered(items=("C", "B")))
    assert [(row.code, row.quantity, row.colour) for row in found] == [
        ("C", None, None),
        ("B", 3, "teal"),
        ("A", None, None),
    ]


def test_a_supply_is_taken_off() -> None:
    """An item that does not belong on the list is gone, and undo brings it back."""
    rows = (Supply(code="A", name="A", kind="", first_shown_ms=0, mention_ids=(), state="confirmed"),)
    off = kinds.SupplySet(item="A", removed=True)
    assert laid("supplies", rows, off) == ()
    assert laid("supplies", rows, off, kinds.Undo(target=off.id)) == rows


def test_a_still_is_swapped_with_one_of_its_others() -> None:
    """The chosen picture changes places with the one shown; a picture that is not there changes nothing."""
    found = (Still(file="s/a-1.jpg", at_ms=1, subject="A", sharpness=1, others=("s/a-2.jpg", "s/a-3.jpg")),)
    (still,) = laid("stills", found, kinds.StillSwapped(subject="A", file="s/a-3.jpg"))
    assert (still.file, still.others) == ("s/a-3.jpg", ("s/a-2.jpg", "s/a-1.jpg"))
    assert laid("stills", found, kinds.StillSwapped(subject="A", file="../x")) == found


def test_offers_cuts_and_cautions_are_as_decided() -> None:
    """An offer gets the person's terms, a cutting line its size, a caution goes or comes in the person's words."""
    told = Anchor(start_ms=5000, end_ms=9000, heard="spend forty")
    offer = Offer(kind="dates", heard="spend forty", start_ms=5000, state="ask")
    set_ = kinds.OfferSet(
        anchor=told, offer="gift_over_threshold", threshold=Decimal(40), currency="GBP", ends_on=date(2026, 4, 30)
    )
    (found,) = laid("offers", (offer,), set_)
    assert (found.kind, found.threshold, found.ends_on, found.state) == (
        "gift_over_threshold",
        40,
        date(2026, 4, 30),
        "confirmed",
    )
    assert laid("offers", (offer,), kinds.OfferSet(anchor=told, offer="dates", removed=True)) == ()
    cut = Cut(material="card", width=Fraction(4), height=Fraction(5), unit="in")
    wider = cut.but(width=Fraction(9, 2))
    assert laid("cuts", (cut,), kinds.CutSet(was=cut, now=wider)) == (wider,)
    assert laid("cuts", (cut,), kinds.CutSet(was=cut)) == ()
    assert laid("cuts", (), kinds.CutSet(now=wider)) == (wider,)
    blade = Caution(hazard="blade", line="Mind it.", source="s", triggers_ms=(1,))
    own = kinds.CautionAdded(line="Keep the iron off the silk.")
    (line,) = laid("cautions", (blade,), kinds.CautionRemoved(hazard="blade"), own)
    assert (line.line, line.source) == ("Keep the iron off the silk.", "your own words")


def test_a_settled_finding_is_a_note_that_says_so() -> None:
    """What was looked at no longer asks for a look, but stays in the report with the answer."""
    finding = Finding(
        kind="contradiction", severity="error", message="Said 5, listed 4.50.", heard="five pounds", start_ms=7000
    )
    settled = kinds.FindingSettled(
        finding="contradiction", start_ms=7200, heard="Five pounds", answer="old price, I say so"
    )
    (found,) = laid("findings", (finding,), settled)
    assert (found.severity, found.message) == ("note", "Said 5, listed 4.50. Settled: old price, I say so.")
    assert laid("findings", (finding.but(start_ms=90_000),), settled)[0].severity == "error"


@pytest.mark.parametrize("heard", ["", "the glue"])
def test_an_answer_settles_one_finding_and_no_other_of_its_kind(heard: str) -> None:
    """Of two alike within a second the one that was asked about is settled, also where a new run has moved both."""
    base = {"kind": "unheard_speech", "severity": "warning", "message": "Listen.", "heard": heard}
    found = [Finding(**base, start_ms=start) for start in (9_000, 10_000, 11_000)]
    for moved in (0, 300, -300):
        edit = kinds.FindingSettled(finding="unheard_speech", start_ms=10_000 + moved, heard=heard)
        laid = edits.lay_over("findings", tuple(found), Edits((edit,)))
        assert [one.severity for one in laid] == ["warning", "note", "warning"]
    two = (Finding(**base, start_ms=10_000, code="A"), Finding(**base, start_ms=10_000, code="B"))
    edit = kinds.FindingSettled(finding="unheard_speech", start_ms=10_000, heard=heard, code="B")
    assert [one.severity for one in edits.lay_over("findings", two, Edits((edit,)))] == ["warning", "note"]


def test_put_back_and_struck_are_spans_of_the_document() -> None:
    """The later word about a stretch of talk stands."""
    document = Document(
        recording=Recording(source="a", sha256="0", duration_ms=9), transcript=transcript("Hello there")
    )
    back, out = kinds.PutBack(anchor=HERON), kinds.Struck(anchor=HERON)
    assert [span.start_ms for span in laid("document", document, back).put_back] == [6000]
    both = laid("document", document, back, out)
    assert (len(both.put_back), len(both.struck)) == (0, 1)


def test_undo_is_a_decision_that_can_be_undone() -> None:
    """An undo takes a decision back, and an undone undo brings it back."""
    edit = kinds.ChapterMerged(start_ms=60_000)
    undo = kinds.Undo(target=edit.id)
    assert Edits((edit, undo)).in_force == ()
    assert Edits((edit, undo, kinds.Undo(target=undo.id))).in_force == (edit,)


def test_the_file_gives_back_what_was_appended(tmp_path: Path) -> None:
    """Decisions survive the file, exactly and in order."""
    path = tmp_path / "edits.jsonl"
    made = [kinds.ChapterMerged(start_ms=n) for n in range(5)]
    for edit in made:
        last = edits.append(path, edit)
    assert edits.load(path) == last == Edits(tuple(made))
    assert edits.load(tmp_path / "none.jsonl") == Edits()


@pytest.fixture
def kept(tmp_path: Path) -> tuple[Path, tuple[Any, ...]]:
    """A file of nineteen decisions, and what they are."""
    path = tmp_path / "edits.jsonl"
    made = tuple(kinds.ChapterRenamed(start_ms=n, title="Böhm “x”\u2028deadbeef {y") for n in range(19))
    path.write_bytes(b"".join(map(edits.line, made)))
    return path, made


def test_a_flipped_bit_costs_one_line(kept: tuple[Path, tuple[Any, ...]]) -> None:
    """Whichever bit is flipped, at most the decision it lies in is lost; that is told, and nothing wrong is read."""
    path, made = kept
    whole = path.read_bytes()
    for at in range(0, len(whole), 3):
        path.write_bytes(whole[:at] + bytes([whole[at] ^ (1 << at % 8)]) + whole[at + 1 :])
        found = edits.load(path)
        assert len(found.made) >= 18, at
        assert [one for one in made if one in found.made] == list(found.made)
        if len(found.made) == 18:
            assert "damaged and what was decided there is lost; all other decisions stand." in found.damage


def test_a_file_cut_short_keeps_its_whole_lines(kept: tuple[Path, tuple[Any, ...]]) -> None:
    """At every cut the decisions before it stand, and a torn one is told with the number of its line."""
    path, made = kept
    whole = path.read_bytes()
    places = [n for n, sign in enumerate(whole) if sign == 10]
    for at in range(0, len(whole), 7):
        path.write_bytes(whole[:at])
        before = sum(place <= at for place in places)
        found = edits.load(path)
        assert found.made == made[:before]
        torn = at not in {0, *places, *(place + 1 for place in places)}
        assert ("is damaged" in found.damage) == torn
        assert found.damage.startswith(f"Line {before + 1} ") == torn


@pytest.mark.parametrize("by", ["a mark of the byte order", "other ends of lines", "both", "no end of the last line"])
def test_a_file_that_an_editor_has_saved_is_read(kept: tuple[Path, tuple[Any, ...]], by: str) -> None:
    """A byte-order mark, CR LF and a missing last line end cost nothing, and decisions can be added behind them."""
    path, made = kept
    whole = path.read_bytes()
    saved = {
        "a mark of the byte order": b"\xef\xbb\xbf" + whole,
        "other ends of lines": whole.replace(b"\n", b"\r\n"),
        "both": b"\xef\xbb\xbf" + whole.replace(b"\n", b"\r\n"),
        "no end of the last line": whole[:-1],
    }
    path.write_bytes(saved[by])
    assert edits.load(path) == Edits(made)
    more = kinds.ChapterMerged(start_ms=1)
    assert edits.append(path, more) == edits.load(path) == Edits((*made, more))


def test_appending_after_damage_loses_neither_old_nor_new(tmp_path: Path) -> None:
    """Behind a torn end the next decision is written where it can be read; the torn line stays where it is."""
    path = tmp_path / "edits.jsonl"
    first, second = kinds.ChapterMerged(start_ms=1), kinds.ChapterMerged(start_ms=2)
    edits.append(path, first)
    path.write_bytes(path.read_bytes() + b"1234 torn")
    assert edits.append(path, second) == edits.load(path)
    assert edits.load(path).made == (first, second)
    assert path.read_bytes() == edits.line(first) + b"1234 torn\n" + edits.line(second)


def test_the_warning_stays_until_it_was_looked_at(kept: tuple[Path, tuple[Any, ...]]) -> None:
    """Damage is told after every decision that follows, until the person has looked at it; new damage is told again."""
    path, made = kept
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"chapter", b"chap7er", 1))
    found = edits.append(path, kinds.ChapterMerged(start_ms=1))
    assert found.damage.startswith("Line 1 of edits.jsonl is damaged")
    assert found.made[:-1] == made[1:]
    seen = kinds.DamageSeen(lines=found.lost)
    quiet = edits.append(path, seen)
    assert (quiet.damage, quiet.lost) == ("", ())
    assert edits.load(path) == quiet
    with path.open("ab") as log:
        log.write(b"torn")
    assert edits.load(path).damage.startswith("Line 22 of edits.jsonl is damaged")
    assert edits.append(path, kinds.Undo(target=seen.id)).damage.startswith("Lines 1 and 22 of edits.jsonl are damaged")


def test_a_decision_that_does_not_fit_on_the_disk_leaves_no_half_line(
    kept: tuple[Path, tuple[Any, ...]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the disk refuses, the person is told and the file is as it was."""
    import os

    path, made = kept

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StorageError, match="No space left"):
        edits.append(path, kinds.ChapterMerged(start_ms=1))
    assert path.read_bytes() == b"".join(map(edits.line, made))


def test_a_decision_of_a_later_version_is_passed_over_and_kept(tmp_path: Path) -> None:
    """An older program says that it does not know a decision, and leaves it in the file."""
    import zlib

    path = tmp_path / "edits.jsonl"
    text = json.dumps({"kind": "from_the_future", "id": "x"}).encode()
    path.write_bytes(b"%08x %s\n" % (zlib.crc32(text), text))
    assert "another version" in edits.load(path).damage
    edits.append(path, kinds.ChapterMerged(start_ms=1))
    assert b"from_the_future" in path.read_bytes()
    assert len(edits.load(path).made) == 1


def test_versions_tell_what_was_decided_since() -> None:
    """Each state has a name, and what came after it can be told; an unknown name is told as such."""
    first, second = kinds.ChapterMerged(start_ms=1), kinds.ChapterMerged(start_ms=2)
    old = Edits((first,))
    new = Edits((first, second))
    assert new.since(old.version) == (second,)
    assert new.since("0") == (first, second)
    assert new.since("7-nonsense") is None
    assert new.since("x") is None


def scripted() -> list[Any]:
    """Fifty decisions of all kinds about a generated recording."""
    made: list[Any] = []
    for n in range(10):
        at = 10_000 * n
        anchor = Anchor(start_ms=at, end_ms=at + 1000, heard=f"item {n}")
        made += [
            kinds.MentionDecided(anchor=anchor, choice="code", code=f"C{n}"),
            kinds.MeasureSet(anchor=anchor.but(heard=f"{n} inches"), values=(Fraction(n + 1, 8),), unit="in"),
            kinds.ChapterRenamed(start_ms=at, title=f"Part {n}"),
            kinds.WordCorrected(anchor=anchor.but(end_ms=at + 400, heard="misheard"), shown=f"right{n}"),
            kinds.FindingSettled(finding="contradiction", start_ms=at, heard=f"item {n}", answer=f"yes {n}"),
        ]
    return made


@pytest.mark.parametrize(
    ("shift", "codes", "dropped"),
    [(0, "X", 0), (180, "X", 0), (-150, "Y", 0), (180, "Z", 3)],
    ids=["the same run again", "another recogniser", "another catalogue", "a run that misses every third item"],
)
def test_fifty_decisions_survive(shift: int, codes: str, dropped: int) -> None:
    """All 50 stand after a re-run, an upgrade with other times and ids, a new catalogue, and items no longer found."""
    made = Edits(tuple(scripted()))
    places = [max(0, 10_000 * n + shift) for n in range(10)]
    kept = [(n, at) for n, at in enumerate(places) if not dropped or n % dropped]
    mentions = tuple(mention(at, f"The item {n}", id=f"other-{at}", code=f"{codes}{n}") for n, at in kept)
    measures = tuple(measure(at, f"{n} inches", "5", "6") for n, at in kept)
    chapters = tuple(
        Chapter(start_ms=at if n else 0, title="Found") for n, at in enumerate(places) if n == 0 or (n, at) in kept
    )
    said = tuple(sentence("misheard words here", at, n) for n, at in enumerate(places))
    findings = tuple(
        Finding(kind="contradiction", severity="error", message="m", heard=f"item {n}", start_ms=at)
        for n, at in enumerate(places)
    )
    assert [one.code for one in edits.lay_over("mentions", mentions, made)] == [f"C{n}" for n in range(10)]
    assert [one.values[0] for one in edits.lay_over("measures", measures, made)] == [
        Fraction(n + 1, 8) for n in range(10)
    ]
    assert [one.title for one in edits.lay_over("chapters", chapters, made)] == [f"Part {n}" for n in range(10)]
    assert [one.text.split()[0] for one in edits.lay_over("sentences", said, made)] == [f"right{n}" for n in range(10)]
    assert [one.message[-7:] for one in edits.lay_over("findings", findings, made)] == [f" yes {n}." for n in range(10)]


def test_many_decisions_over_a_long_recording_all_hold() -> None:
    """200 decisions over 2 hours of words: each mends its own word, and the one for everywhere all that are alike."""
    said = tuple(sentence("some words that were said here today again", 4000 * n, n) for n in range(1800))
    made = tuple(
        kinds.WordCorrected(
            anchor=Anchor(start_ms=4000 * n, end_ms=4000 * n + 400, heard="some"), shown="Sum", everywhere=n == 150
        )
        for n in range(200)
    )
    alone = edits.lay_over("sentences", said, Edits(made[:150]))
    assert [one.text.split()[0] for one in alone] == ["Sum"] * 150 + ["some"] * 1650
    assert {one.text.split()[0] for one in edits.lay_over("sentences", said, Edits(made))} == {"Sum"}


def test_a_thickness_in_ounces_stays_one_when_its_value_is_set() -> None:
    """Ounces of leather that a person puts right are still a thickness, told in millimetres and not in grams."""
    heard = {"heard": "two ounce", "start_ms": 1000, "end_ms": 2000}
    told = {"id": "m1", "values": ("2",), "unit": "oz", "dimension": "thickness", "state": "ask"}
    said = Measure.model_validate(heard | told)
    edit = kinds.MeasureSet(anchor=Anchor.model_validate(heard), values=(Fraction(4),), unit="oz")
    (found,) = laid("measures", (said,), edit)
    assert (found.dimension, found.metric) == ("thickness", "about 1.5 mm")
