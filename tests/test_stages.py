"""The table of stages: what a stage depends on is what it says, and only what depends on a change is made again."""

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from functools import _lru_cache_wrapper
from pathlib import Path
from typing import Any

import desk_folio
import pytest
from talks import names, read

from studio import folio, pipeline, resources, timecode
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
