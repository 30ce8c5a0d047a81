"""The house: reading order, and which room alone may name which library."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

STUDIO = Path(__file__).parent.parent / "studio"
ROOMS = {
    "av": {"media"}, "ffmpeg": {"media"}, "imageio_ffmpeg": {"media"}, "PIL": {"media"},
    "python_calamine": {"sheets"}, "csv": {"sheets", "tables"}, "faster_whisper": {"hearing"},
    "spacy": {"language"}, "rapidfuzz": {"mentions"}, "jellyfish": {"mentions"}, "ahocorasick_rs": {"mentions"},
    "webvtt": {"caption_files"}, "jinja2": {"templating", "desk"}, "markdown_it": {"page_html"},
    "nh3": {"page_html"}, "httpx2": {"posting"}, "typer": {"cli"}, "rich": {"cli"}, "starlette": {"desk"},
    "uvicorn": {"desk"}, "sqlite3": {"archive"}, "tomllib": {"settings", "resources"}, "babel": {"quantity"},
}  # fmt: skip
"""Library -> the rooms that may name it."""
TO_BE_REPLACED = {"mentions"}
"""Rooms that make way for the learned reader; what they call things is not mended any more."""


LOOSE = {
    "studio.resources:table",
    *(f"studio.reader.examples:{name}" for name in ("digest", "examples", "read", "write")),
    *(f"studio.reader.weighing:{name}" for name in ("learnt", "report", "tables")),
    *(f"studio.reader.{room}:report" for room in ("judging", "training")),
}
"""A rule file as it was read, which `rule_files` gives its types; and what training packs and reports for itself."""


def modules() -> list[Path]:
    """Return every module of the program."""
    return sorted(STUDIO.rglob("*.py"))


def imported(module: Path) -> set[str]:
    """Return the top names of all that a module imports, inside functions too."""
    names = set()
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module.split(".")[0])
    return names


@pytest.mark.parametrize("module", modules(), ids=lambda path: str(path.relative_to(STUDIO)))
def test_a_library_is_named_only_in_its_room(module: Path) -> None:
    """Each outside library can be exchanged in one place."""
    room = module.relative_to(STUDIO).parts[0].removesuffix(".py")
    strangers = {name for name in imported(module) if name in ROOMS and room not in ROOMS[name]}
    assert not strangers


def _name(module: Path) -> str:
    return ".".join(module.relative_to(STUDIO.parent).with_suffix("").parts).removesuffix(".__init__")


def _asked_for(module: Path, known: set[str]) -> set[str]:
    """Return the modules of the program that one names, inside functions too.

    What the package itself tells a type checker alone does not count: it hands those names out when they are asked for.
    """
    named = set()
    read = ast.parse(module.read_text(encoding="utf-8"))
    told = [one for one in read.body if isinstance(one, ast.If) and ast.unparse(one.test) == "TYPE_CHECKING"]
    left_out = {id(node) for one in told for node in ast.walk(one)} if module == STUDIO / "__init__.py" else set()
    for node in (one for one in ast.walk(read) if id(one) not in left_out):
        if isinstance(node, ast.Import):
            named |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            whole = {f"{node.module}.{alias.name}" for alias in node.names}
            named |= {name if name in known else node.module for name in whole}
    return named & known


def test_no_module_needs_itself_by_way_of_others() -> None:
    """There is no circle of imports anywhere, not even of imports inside functions."""
    known = {_name(module) for module in modules()}
    left = {_name(module): _asked_for(module, known) for module in modules()}
    while free := {name for name, needs in left.items() if not needs & left.keys()}:
        left = {name: needs for name, needs in left.items() if name not in free}
    assert {name: needs & left.keys() for name, needs in left.items()} == {}


def test_a_class_has_one_meaning() -> None:
    """No two modules define a class of the same name, so that a name says what is meant everywhere."""
    homes: dict[str, list[str]] = {}
    for module in (one for one in modules() if one.parent.name not in TO_BE_REPLACED):
        for node in ast.parse(module.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                homes.setdefault(node.name, []).append(_name(module))
    assert {name: places for name, places in homes.items() if len(places) > 1} == {}


def test_no_loose_dictionary_passes_between_modules() -> None:
    """What a public function takes or gives has a type of its own; a dictionary of anything is nobody's promise."""
    loose = {
        f"{_name(module)}:{node.name}"
        for module in modules()
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and not node.name.startswith("_")
        for part in [node.returns, *(one.annotation for one in ast.walk(node.args) if isinstance(one, ast.arg))]
        if part is not None and "dict[str, Any]" in ast.unparse(part)
    }
    assert loose <= LOOSE


@pytest.mark.parametrize("module", modules(), ids=lambda path: str(path.relative_to(STUDIO)))
def test_a_module_opens_with_its_purpose_and_stays_short(module: Path) -> None:
    """The first docstring line says what a module is for; no module is longer than 350 lines."""
    source = module.read_text(encoding="utf-8")
    assert ast.get_docstring(ast.parse(source))
    assert source.count("\n") <= 350


def test_no_function_is_longer_than_sixty_lines() -> None:
    """A function fits on a screen, and half of them in eight lines."""
    lengths = {}
    for module in modules():
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                body = node.body[1:] if ast.get_docstring(node) else node.body
                lines = (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0
                lengths[f"{module.name}:{node.name}"] = lines
    ordered = sorted(lengths.values())
    assert {name: n for name, n in lengths.items() if n > 60} == {}
    assert ordered[len(ordered) // 2] <= 8
    assert ordered[len(ordered) * 9 // 10] <= 30


def test_starting_up_loads_nothing_heavy() -> None:
    """The help of the program appears without the recogniser, spaCy, ffmpeg, numpy or templates being loaded."""
    heavy = "faster_whisper spacy av numpy ffmpeg jinja2 markdown_it pydantic starlette"
    code = f"import sys, studio.cli; print([m for m in '{heavy}'.split() if m in sys.modules])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
