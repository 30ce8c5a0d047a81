"""The ordered table of stages, run from a caption file: no sound, no model, the rest of the whole job."""

import errno
import json
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from itertools import count
from pathlib import Path
from types import ModuleType
from typing import Any

import jsonschema
import pytest

from studio import cache, folio, pipeline, questions, stills, transcript
from studio.edits import Edits, kinds, lay_over
from studio.errors import BonefolderError, FolioBusy, RecordingError
from studio.model import Still, Transcript, schema
from studio.stage import Memory

CAPTIONS = """WEBVTT

00:00:01.000 --> 00:00:05.000
Hello everyone, welcome back to my table.

00:00:06.000 --> 00:00:12.000
First up, this is the Heron Blue Ink, it's four pounds fifty.

00:00:13.000 --> 00:00:20.000
Now cut the card at four and a quarter by five and a half inches, and mind your fingers on the knife.

00:00:21.000 --> 00:00:26.000
Right, that's me, bye for now.
"""
CATALOGUE = "code,name,kind,price,currency,page\nH1,Heron Blue Ink,ink,4.50,GBP,3\nH2,Heron Grey Ink,ink,4.50,GBP,3\n"


@pytest.fixture
def request_(tmp_path: Path) -> pipeline.Request:
    """A small request that runs in well under a second."""
    (tmp_path / "demo.vtt").write_text(CAPTIONS)
    (tmp_path / "list.csv").write_text(CATALOGUE)
    return pipeline.Request(tmp_path / "demo.vtt", tmp_path / "out", tmp_path / "list.csv", date(2026, 4, 14))


def test_the_whole_folio_comes_out(request_: pipeline.Request) -> None:
    """Every file that the design names is there, and `folio.json` fits the published schema."""
    made = folio.make(request_)
    names = {path.name for path in made.folder.iterdir()}
    assert names >= {
        "folio.json", "post.md", "post.html", "description.txt", "chapters.txt", "chapters.vtt", "chapters.json",
        "captions.vtt", "captions.srt", "supplies.csv", "cutting.csv", "metadata.jsonld", "report.html",
    }  # fmt: skip
    stored = json.loads((made.folder / "folio.json").read_bytes())
    jsonschema.validate(stored, schema.schema())
    assert folio.read(made.folder) == made.document


def test_what_was_said_arrives_in_the_document(request_: pipeline.Request) -> None:
    """The item shown, the size and the caution of a small demo are all there, each with its time."""
    document = folio.make(request_).document
    assert [(row.code, row.price, row.first_shown_ms >= 6000) for row in document.supplies] == [("H1", 4.5, True)]
    assert [[str(v) for v in measure.values] for measure in document.measures if measure.unit == "in"] == [
        ["17/4", "11/2"]
    ]
    assert any(13000 <= at <= 20000 for caution in document.cautions for at in caution.triggers_ms)


def test_a_piece_is_drawn_on_the_sheet_that_the_catalogue_names(request_: pipeline.Request, tmp_path: Path) -> None:
    """The layout is a file that the page shows; when the catalogue states no size any more, it is gone again."""
    said = CAPTIONS.replace("Now cut the card", "Now cut the Dove White Card")
    (tmp_path / "demo.vtt").write_text(said)
    row = "D1,Dove White Card,card,6.00,GBP,5,12 sheets,{size}\nH1,Heron Blue Ink,ink,4.50,GBP,3,,\n"
    for size, drawn in (("8.5 x 11 in", ["1-dove-white-card.svg"]), ("", [])):
        (tmp_path / "list.csv").write_text("code,name,kind,price,currency,page,contents,size\n" + row.format(size=size))
        made = folio.make(request_)
        assert [path.name for path in (made.folder / "layouts").glob("*")] == drawn
        page = (made.folder / "post.html").read_text()
        assert ("layouts/1-dove-white-card.svg" in page) is bool(drawn)
        assert ("8 1/2 x 11 in,4,1" in (made.folder / "cutting.csv").read_text()) is bool(drawn)


def test_a_second_run_makes_nothing(request_: pipeline.Request, monkeypatch: pytest.MonkeyPatch) -> None:
    """With nothing changed no stage is run, no file is written and no heavy library is loaded."""
    first = folio.make(request_)
    before = {
        path: path.stat().st_mtime_ns for path in first.folder.rglob("*") if path.is_file() and path.name != "lock"
    }

    def never(*_: object) -> None:
        raise AssertionError("written again")

    monkeypatch.setattr(cache, "write", never)
    for name in [name for name in sys.modules if name.split(".")[0] in {"spacy", "jinja2", "av", "faster_whisper"}]:
        monkeypatch.setitem(sys.modules, name, ModuleType("not to be used"))
    again = folio.make(request_)
    after = {
        path: path.stat().st_mtime_ns for path in first.folder.rglob("*") if path.is_file() and path.name != "lock"
    }
    assert (again.document, after) == (first.document, before)


def test_a_catalogue_edit_redoes_only_what_follows(request_: pipeline.Request, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new price reaches the supply list while the recording is not heard again."""
    folio.make(request_)
    assert request_.catalogue is not None
    request_.catalogue.write_text(CATALOGUE.replace("H1,Heron Blue Ink,ink,4.50", "H1,Heron Blue Ink,ink,4.95"))
    ran: list[str] = []
    fresh = pipeline.Stage.fresh

    def spy(stage: pipeline.Stage, *rest: Any) -> Any:
        ran.append(stage.name)
        return fresh(stage, *rest)

    monkeypatch.setattr(pipeline.Stage, "fresh", spy)
    document = folio.make(request_).document
    assert str(document.supplies[0].price) == "4.95"
    assert not {"recording", "heard", "heard_sentences", "sentences", "corrections"} & set(ran)


def test_two_runs_are_byte_for_byte_the_same(request_: pipeline.Request, tmp_path: Path) -> None:
    """The same inputs give the same files."""
    first = folio.make(request_).folder
    second = folio.make(pipeline.Request(**{**vars(request_), "folder": tmp_path / "again"})).folder
    for path in first.iterdir():
        if path.is_file():
            assert path.read_bytes() == (second / path.name).read_bytes(), path.name


def test_without_a_catalogue_the_rest_still_works(request_: pipeline.Request) -> None:
    """Captions, chapters, sizes and cautions need no catalogue; nothing is linked to a row."""
    document = folio.make(pipeline.Request(**{**vars(request_), "catalogue": None})).document
    assert document.catalogue is None
    assert {mention.code for mention in document.mentions} <= {None}
    assert len(document.chapters) >= 1
    assert any(measure.unit == "in" for measure in document.measures)


def test_silence_gives_empty_lists_and_says_so(request_: pipeline.Request, monkeypatch: pytest.MonkeyPatch) -> None:
    """A recording without a word invents nothing, and the post says that no speech was found."""
    nothing = Transcript(language="en", recogniser="none")
    monkeypatch.setattr(transcript, "read_captions", lambda _: nothing)
    made = folio.make(request_)
    document = made.document
    assert (document.mentions, document.supplies, document.measures, document.offers) == ((), (), (), ())
    assert "no speech" in (made.folder / "post.md").read_text().lower()


def test_a_busy_folder_is_refused(request_: pipeline.Request) -> None:
    """While one run holds the folder, another is told so at once."""
    with folio.locked(request_.folder), pytest.raises(FolioBusy, match="Another run is at work on out"):
        folio.make(request_)


def test_a_missing_recording_makes_no_folder(request_: pipeline.Request, tmp_path: Path) -> None:
    """A wrong name is told and nothing is left behind."""
    wrong = pipeline.Request(tmp_path / "none.mp4", tmp_path / "none")
    with pytest.raises(RecordingError, match="There is no file"):
        folio.make(wrong)
    assert not (tmp_path / "none").exists()


def test_a_weak_picture_is_asked_about_until_it_is_settled(request_: pipeline.Request) -> None:
    """It is a finding of the document and a question, a note once the person let it stay, and gone with another one."""
    still = Still(file="stills/a.jpg", at_ms=7000, subject="H1", sharpness=2.0, state="ask", others=("stills/b.jpg",))
    results = pipeline.run(request_)
    weak = stills.weak_stills([still], results.values["supplies"])
    let = Edits((kinds.FindingSettled(finding="weak_still", start_ms=7000),))
    told = []
    for laid in (weak, lay_over("weak_stills", weak, let)):
        values = {**results.values, "stills": (still,), "weak_stills": laid}
        document = pipeline.Results(values, {}).document()
        asked = questions.questions(document, results.values["catalogue"])
        told.append([one.severity for one in document.findings if one.kind == "weak_still"])
        told.append([one.text for one in asked if one.anchor.start_ms == 7000 and one.about == "finding"])
    assert told[0] == ["ask"]
    assert told[1] == [weak[0].message]
    assert told[2:] == [["note"], []]
    open_ = pipeline.Results({**results.values, "stills": (still,), "weak_stills": weak}, {}).document()
    swapped = Edits((kinds.StillSwapped(subject="H1", file="stills/b.jpg"),))
    _, desk = pipeline.opened(replace(request_, folder=request_.folder / "nowhere"), Memory(), open_)
    after = pipeline.through(replace(request_, decided=swapped), desk).document()
    assert [one.kind for one in after.findings] == [one.kind for one in open_.findings if one.kind != "weak_still"]


def test_every_stage_takes_only_what_came_before() -> None:
    """The table can be read from top to bottom."""
    there = {"source", "catalogue_file", "recorded_on"}
    for stage in pipeline.STAGES:
        assert set(stage.takes) <= there, stage.name
        there.add(stage.name)


def _refusing(real: Callable[..., Any], steps: Iterator[int], first: int, last: int) -> Callable[..., Any]:
    """Return a call of the system that refuses from one step on the disk to another."""

    def call(*args: Any, **more: Any) -> Any:
        if first <= next(steps) <= last:
            raise OSError(errno.ENOSPC, "No space left on device", str(args[0]))
        return real(*args, **more)

    return call


DISK = ("mkdir", "open", "fsync", "replace", "unlink", "rmdir", "chmod")


@pytest.mark.parametrize("lasting", [False, True], ids=["once", "from then on"])
def test_a_disk_that_refuses_at_any_step_is_told_and_the_next_run_is_whole(
    request_: pipeline.Request, monkeypatch: pytest.MonkeyPatch, lasting: bool
) -> None:
    """At every seventeenth step on the disk: a refusal ends in words, and the same request afterwards in all files."""
    whole = folio.make(request_).folder
    expected = {path.name: path.read_bytes() for path in whole.iterdir() if path.is_file()}
    for fault in range(1, 4000, 17):
        shutil.rmtree(whole)
        steps, refused = count(1), False
        with monkeypatch.context() as patch:
            for name in DISK:
                patch.setattr(os, name, _refusing(getattr(os, name), steps, fault, 4000 if lasting else fault))
            try:
                folio.make(request_)
            except BonefolderError as error:
                refused = error.exit_code == 2
        folio.make(request_)
        assert {path.name: path.read_bytes() for path in whole.iterdir() if path.is_file()} == expected
        if not refused and next(steps) <= fault:
            break
    assert fault > 200
