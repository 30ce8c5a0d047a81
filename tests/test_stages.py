"""The table of stages: what a stage depends on is what it says, and only what depends on a change is made again."""

import ast
import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import _lru_cache_wrapper
from pathlib import Path
from typing import Any

import desk_folio
import pytest
from talks import names, read

from studio import cache, folio, pipeline, resources, timecode
from studio.model import Still
from studio.pipeline import Request, Stage

ROOT = Path(__file__).parent.parent
SPOKEN = """WEBVTT

00:00:01.000 --> 00:00:05.000
This is the Heron Blue Ink, four pounds fifty, one hundred sheets, eight and a half by eleven, on sale until May.

00:00:06.000 --> 00:00:11.000
Cut the Dove White Card to four by six inches, no, four by five, and it is completely safe for babies.

00:00:12.000 --> 00:00:18.000
Spend forty pounds before the end of April and you get ten percent off, with the code BIRDS.

00:00:19.000 --> 00:00:24.000
Call Mary on 07700 900123, you could earn two hundred pounds a week, the ink is twenty percent alcohol.
"""


def forget() -> None:
    """Empty everything that the program remembers of its data files in this process."""
    for module in [found for name, found in sys.modules.items() if name.split(".")[0] == "studio"]:
        for one in vars(module).values():
            if type(one) is _lru_cache_wrapper:
                one.cache_clear()


@pytest.fixture
def anew() -> Iterator[None]:
    """Nothing is remembered before and after the test."""
    forget()
    yield
    forget()


def requests(place: Path) -> Iterator[Request]:
    """Talks that between them bring every rule to work."""
    desk_folio.lay(place)
    (place / "more.vtt").write_text(SPOKEN)
    for source in ("birds.vtt", "more.vtt"):
        yield Request(place / source, place / source[:4], place / "birds.csv", date(2026, 4, 14))
    for name in names()[:2]:
        cues = [f"{timecode.vtt(one.start_ms)} --> {timecode.vtt(one.end_ms)}\n{one.text}\n"
                for one in read(name, marks=False).transcript.segments]  # fmt: skip
        (place / f"{name}.vtt").write_text("WEBVTT\n\n" + "\n".join(cues))
        yield Request(place / f"{name}.vtt", place / name, place / "birds.csv", date(2026, 4, 14))


READ_AT_IMPORT = """
import json, sys, traceback
from studio import resources
found, shared = {}, resources.shared
def spy(name):
    frames = [one for one in traceback.extract_stack() if one.name == "<module>" and "/studio/" in one.filename]
    found.setdefault(frames[-1].filename if frames else "", []).append(name)
    return shared(name)
resources.shared = spy
import studio.cli, studio.pipeline, studio.folio
json.dump(found, sys.stdout)
"""


def read_at_import() -> dict[Path, set[str]]:
    """Return which modules read which rule files while they are imported."""
    out = subprocess.run([sys.executable, "-c", READ_AT_IMPORT], capture_output=True, text=True, check=True, cwd=ROOT)
    return {Path(module): {bare(name) for name in read} for module, read in json.loads(out.stdout).items()}


def bare(name: str) -> str:
    """Return a rule file's name as stages declare it: without its ending, or the folder that it lies in."""
    return name.split("/")[0].removesuffix(".toml")


def modules_of(function: Any) -> set[Path]:
    """Return the modules that a stage's function is made of: its own, and all that they import of the program."""
    if function.__module__ == "studio.pipeline":
        used = [function.__globals__.get(name) for name in function.__code__.co_names]
        todo = [Path(str(one.__file__)) for one in used if str(getattr(one, "__name__", "")).startswith("studio.")]
    else:
        todo = [Path(str(sys.modules[function.__module__].__file__))]
    found: set[Path] = set()
    while todo:
        path = todo.pop()
        if path in found:
            continue
        found.add(path)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            wanted = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and node.module:
                wanted = [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
            todo += [Path(str(sys.modules[name].__file__)) for name in wanted
                     if name.startswith("studio.") and name in sys.modules]  # fmt: skip
    return found


def test_a_stage_reads_the_rule_files_that_it_declares_and_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, anew: None
) -> None:
    """Every stage is run with nothing remembered: what it reads of the rules, now or when imported, is its `reads`."""
    early = read_at_import()
    read: dict[str, set[str]] = {one.name: set() for one in pipeline.STAGES}
    heard: list[str] = []
    shared, fresh = resources.shared, Stage.fresh
    monkeypatch.setattr(resources, "shared", lambda name: (heard.append(bare(name)), shared(name))[1])

    def spied(one: Stage, values: Any, settings: Any) -> Any:
        for name in one.takes:
            values[name]
        forget()
        heard.clear()
        result = fresh(one, values, settings)
        read[one.name] |= set(heard)
        return result

    monkeypatch.setattr(Stage, "fresh", spied)
    for request in requests(tmp_path):
        pipeline.run(request)
    for one in pipeline.STAGES:
        for module in modules_of(one.run):
            read[one.name] |= early.get(module, set())
    same = {one.name: {other.name for other in pipeline.STAGES if other.function == one.function}
            for one in pipeline.STAGES}  # fmt: skip
    told = {one.name: sorted(set().union(*(read[name] for name in same[one.name]))) for one in pipeline.STAGES}
    assert {one.name: sorted(one.reads) for one in pipeline.STAGES} == told


def test_the_outputs_read_the_rule_files_that_they_declare_and_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, anew: None
) -> None:
    """A changed rule of writing makes the files anew, so that each rule file that writing reads is told."""
    heard: set[str] = set()
    shared = resources.shared
    for request in requests(tmp_path):
        results = pipeline.run(request)
        document, products = folio.finished(results, request), results.values["catalogue"]
        forget()
        with monkeypatch.context() as patch:
            patch.setattr(resources, "shared", lambda name: (heard.add(bare(name)), shared(name))[1])
            folio.outputs(document, products, request.settings)
    early = read_at_import()
    heard |= set().union(*(early.get(module, set()) for module in modules_of(folio.outputs)))
    assert sorted(folio.READS) == sorted(heard)


@pytest.fixture
def own_rules(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, anew: None) -> Path:
    """The rule files in a folder where they may be changed."""
    rules = tmp_path / "rules"
    shutil.copytree(ROOT / "shared", rules)
    monkeypatch.setattr(resources, "shared", lambda name: rules / name)
    forget()
    return rules


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the stages that were run, in order."""
    found: list[str] = []
    fresh = Stage.fresh
    spy = lambda one, values, settings: (found.append(one.name), fresh(one, values, settings))[1]  # noqa: E731
    monkeypatch.setattr(Stage, "fresh", spy)
    return found


@pytest.mark.parametrize("name", sorted({name for one in pipeline.STAGES for name in one.reads}))
def test_a_changed_rule_file_runs_only_the_stages_that_read_it(own_rules: Path, ran: list[str], name: str) -> None:
    """With a comment more in a rule file, just the stages that read it run: their results, and so all else, stay."""
    place = own_rules.parent
    desk_folio.lay(place)
    request = Request(place / "birds.vtt", place / "folio", place / "birds.csv", date(2026, 4, 14))
    first = folio.make(request)
    ran.clear()
    folio.make(request)
    assert ran == []
    with (own_rules / f"{name}.toml").open("a") as rules:
        rules.write("\n# another line\n")
    forget()
    again = folio.make(request)
    reading = {one.function for one in pipeline.STAGES if name in one.reads}
    assert {one.function for one in pipeline.STAGES if one.name in ran} == reading
    assert again.document == first.document


def test_what_a_changed_result_feeds_is_made_again(own_rules: Path, ran: list[str]) -> None:
    """Another line in the table of cautions changes the caution that is printed, and runs that one stage."""
    place = own_rules.parent
    desk_folio.lay(place)
    request = Request(place / "birds.vtt", place / "folio", place / "birds.csv", date(2026, 4, 14))
    first = folio.make(request)
    ran.clear()
    path = own_rules / "cautions.toml"
    line = first.document.cautions[0].line
    path.write_text(path.read_text().replace(line, "Mind the edge."))
    forget()
    assert folio.make(request).document.cautions[0].line == "Mind the edge."
    assert "Mind the edge." in (request.folder / "post.md").read_text()
    assert ran == ["cautions"]


def test_a_changed_rule_of_writing_makes_the_files_anew(own_rules: Path, ran: list[str]) -> None:
    """With a shorter line allowed no stage runs, and the captions are cut anew."""
    place = own_rules.parent
    desk_folio.lay(place)
    request = Request(place / "birds.vtt", place / "folio", place / "birds.csv", date(2026, 4, 14))
    folio.make(request)
    before = (request.folder / "captions.vtt").read_text()
    ran.clear()
    path = own_rules / "captions.toml"
    path.write_text(path.read_text().replace("figure = 42", "figure = 24", 1))
    forget()
    folio.make(request)
    assert ran == []
    assert (request.folder / "captions.vtt").read_text() != before


@pytest.mark.parametrize("by", ["cut short", "a bit", "empty", "the head", "other bytes", "gone"])
def test_a_damaged_result_is_made_again_and_nobody_is_told(tmp_path: Path, ran: list[str], by: str) -> None:
    """Whichever result is damaged, the same request gives the same files, without an error."""
    desk_folio.lay(tmp_path)
    request = Request(tmp_path / "birds.vtt", tmp_path / "folio", tmp_path / "birds.csv", date(2026, 4, 14))
    first = folio.make(request).folder
    whole = {path.name: path.read_bytes() for path in first.iterdir() if path.is_file()}
    for path in sorted((first / ".work" / "stages").iterdir()):
        data = path.read_bytes()
        flipped = data[:-3] + bytes([data[-3] ^ 1]) + data[-2:]
        path.write_bytes({"cut short": data[: len(data) // 2], "a bit": flipped, "empty": b"", "the head": data[9:],
                          "other bytes": b"\xff\xfe" * 90, "gone": b""}[by])  # fmt: skip
        if by == "gone":
            path.unlink()
        (first / "post.md").unlink()
        folio.make(request)
        assert {one.name: one.read_bytes() for one in first.iterdir() if one.is_file()} == whole
    assert ran.count("sentences") + ran.count("heard_sentences") >= 2


def test_a_row_that_nobody_named_reaches_few_stages(tmp_path: Path, ran: list[str]) -> None:
    """What takes only the rows named is not run again when another row has a new price, and the rows another place."""
    desk_folio.lay(tmp_path)
    request = Request(tmp_path / "birds.vtt", tmp_path / "folio", tmp_path / "birds.csv", date(2026, 4, 14))
    folio.make(request)
    ran.clear()
    listed = desk_folio.CATALOGUE.replace("\n", "\n,,,,,,\n", 1).replace("Grey Ink,ink,4.50", "Grey Ink,ink,4.75")
    (tmp_path / "birds.csv").write_text(listed)
    folio.make(request)
    assert not {"supplies", "chapters", "cuts", "cautions", "spellings", "starts", "sentences"} & set(ran)
    assert {"catalogue", "heard_mentions", "rows"} <= set(ran)


def test_what_tells_no_name_does_not_have_the_talk_read_again(tmp_path: Path, ran: list[str]) -> None:
    """A new link of a row that was shown reaches the supply list, and no name is looked for anew."""
    desk_folio.lay(tmp_path)
    request = Request(tmp_path / "birds.vtt", tmp_path / "folio", tmp_path / "birds.csv", date(2026, 4, 14))
    folio.make(request)
    ran.clear()
    listed = "# a line above\n" + desk_folio.CATALOGUE.replace("https://shop.example/h1", "https://shop.example/new")
    (tmp_path / "birds.csv").write_text(listed)
    document = folio.make(request).document
    assert "https://shop.example/new" in [row.url for row in document.supplies]
    assert not {"heard_mentions", "mentions", "unsure", "sentences"} & set(ran)


def test_a_picture_that_is_gone_is_made_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ran: list[str]) -> None:
    """A still whose file, or that of one to swap it for, is no longer there is taken again; else no stage runs."""

    def stills(request: Request, *_: Any) -> tuple[Still, ...]:
        for name in ("stills/hero-5.jpg", "stills/hero-9.jpg"):
            cache.write(request.work / name, b"picture")
        return (Still(file="stills/hero-5.jpg", at_ms=5, subject="hero", sharpness=50, others=("stills/hero-9.jpg",)),)

    table = tuple(replace(one, run=stills) if one.name == "stills" else one for one in pipeline.STAGES)
    monkeypatch.setattr(pipeline, "STAGES", table)
    desk_folio.lay(tmp_path)
    request = Request(tmp_path / "birds.vtt", tmp_path / "folio", tmp_path / "birds.csv", date(2026, 4, 14))
    folio.make(request)
    for place in (request.work, request.folder):
        for name in ("stills/hero-5.jpg", "stills/hero-9.jpg"):
            ran.clear()
            (place / name).unlink()
            folio.make(request)
            assert (place / name).read_bytes() == b"picture"
            assert ran == (["stills"] if place == request.work else [])
