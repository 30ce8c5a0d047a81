"""What `import studio` gives to other programs."""

import importlib
import inspect
import re
import subprocess
import sys
import tempfile
import zipfile
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from test_pipeline import CAPTIONS, CATALOGUE

import studio
from studio import requests
from studio.errors import BonefolderError, RecordingError, SettingsError
from studio.model import Document
from studio.settings import PublishingChoices, Settings

ROOT = Path(__file__).parent.parent
DAY = date(2026, 4, 14)


@pytest.fixture
def talk(tmp_path: Path) -> Path:
    """Return a folder with a small caption file and its catalogue."""
    (tmp_path / "demo.vtt").write_text(CAPTIONS)
    (tmp_path / "list.csv").write_text(CATALOGUE)
    return tmp_path


# --- the names -------------------------------------------------------------------------------------------------------


def test_importing_the_package_loads_none_of_its_rooms() -> None:
    """Until a name is used, `import studio` has loaded no other module: none of the program's, none of anybody's."""
    code = "import sys, os; before = set(sys.modules); import studio; print(sorted(set(sys.modules) - before))"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "['studio']"


def test_every_name_is_there_and_documented() -> None:
    """Each name of `__all__` can be had, is told by `dir`, and has a docstring; a function tells what it gives."""
    assert set(studio.__all__) <= set(dir(studio))
    for name in studio.__all__:
        assert inspect.getdoc(getattr(studio, name)), name
    for call in (studio.make, studio.read_talk, studio.read_quantity):
        assert all(part in (inspect.getdoc(call) or "") for part in ("Args:", "Return"))
        assert all(f"\n    {one}: " in (inspect.getdoc(call) or "") for one in inspect.signature(call).parameters)


def test_a_name_that_is_not_there_is_no_attribute() -> None:
    """A misspelt name fails as it does for every module."""
    with pytest.raises(AttributeError, match="no attribute 'read_tlak'"):
        studio.read_tlak  # noqa: B018  # type: ignore[attr-defined]


def test_the_walks_name_rooms_that_are_there() -> None:
    """Every room that the three walks go through can be imported."""
    walks = (studio.__doc__ or "").split("Three walks")[1]
    named = set(re.findall(r"`([a-z_]+)`", walks))
    assert len(named) > 20
    for name in named:
        importlib.import_module(f"studio.{name}")
    assert [walks.count(f"\n\n**{head}") for head in ("A recording", "A catalogue row", "A decision")] == [1, 1, 1]


# --- make ------------------------------------------------------------------------------------------------------------


def test_make_does_what_the_command_does(talk: Path) -> None:
    """The same files come out as from `bonefolder make`, with names given as text or as paths."""
    made = studio.make(str(talk / "demo.vtt"), talk / "mine", str(talk / "list.csv"), recorded_on=DAY)
    typed = ["make", "demo.vtt", "--catalogue", "list.csv", "--recorded", "2026-04-14", "--out", "theirs"]
    main = [sys.executable, "-c", "from studio.cli import main; main()"]
    subprocess.run([*main, *typed], cwd=talk, capture_output=True, check=False)
    mine = {path.name: path.read_bytes() for path in made.folder.iterdir() if path.is_file()}
    theirs = {path.name: path.read_bytes() for path in (talk / "theirs").iterdir() if path.is_file()}
    assert mine == theirs
    assert len(mine) > 15
    assert isinstance(made, studio.Folio)
    assert [row.code for row in made.document.supplies] == ["H1"]


def test_make_takes_settings_as_they_are(talk: Path) -> None:
    """Settings given as an object count alone, whatever file lies beside the recording; a file given is read."""
    (talk / "bonefolder.toml").write_text('[shop]\nname = "Beside"\n')
    (talk / "own.toml").write_text('[publishing]\nunits = "cm"\n[catalogue]\nfile = "list.csv"\n')
    given = Settings(publishing=PublishingChoices(units="cm"))
    request = requests.request(talk / "demo.vtt", chosen=given)(lambda *_: None)
    assert (request.settings, request.settings_files) == (given, ())
    made = studio.make(talk / "demo.vtt", settings=talk / "own.toml", chapters=2)
    assert made.folder == talk / "demo-folio"
    assert made.document.catalogue is not None
    with pytest.raises(SettingsError):
        studio.make(talk / "demo.vtt", settings=talk / "none.toml")


def test_make_tells_its_progress_and_reads_what_was_trimmed(talk: Path) -> None:
    """What was cut out since moves the times; a folder that was made is read back as it is."""
    whole = studio.make(talk / "demo.vtt", talk / "a", talk / "list.csv")
    cut = studio.make(talk / "demo.vtt", talk / "b", talk / "list.csv", trimmed="cut 0:00-0:05")
    assert whole.document.supplies[0].first_shown_ms - cut.document.supplies[0].first_shown_ms == 5000
    assert studio.Folio.read(str(talk / "a")) == whole


# --- read_talk -------------------------------------------------------------------------------------------------------


def test_a_talk_is_understood_and_no_file_is_left(talk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`read_talk` gives what `make` knows, and neither writes beside the talk nor leaves a temporary folder."""
    (talk / "tmp").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(talk / "tmp"))
    before = sorted(path.name for path in talk.iterdir())
    read = studio.read_talk(talk / "demo.vtt", talk / "list.csv", recorded_on=DAY)
    assert sorted(path.name for path in talk.iterdir()) == before
    assert list((talk / "tmp").iterdir()) == []
    assert isinstance(read, Document)
    assert read == studio.make(talk / "demo.vtt", talk / "out", talk / "list.csv", recorded_on=DAY).document


def test_a_recording_is_read_without_its_pictures(monkeypatch: pytest.MonkeyPatch, clip: Path) -> None:
    """Of a recording with a picture no still is chosen: the time goes into the talk alone."""
    from studio import stills, transcript
    from studio.model import Transcript

    def never(*_: object) -> None:
        raise AssertionError("a picture was looked at")

    monkeypatch.setattr(stills, "stills", never)
    monkeypatch.setattr(transcript, "hear", lambda *_: Transcript(language="en", recogniser="none"))
    read = studio.read_talk(clip)
    assert read.recording.has_picture
    assert read.stills == ()


@pytest.mark.parametrize("call", ["make", "read_talk"])
def test_a_talk_that_is_not_there_is_refused(tmp_path: Path, call: str) -> None:
    """A wrong name is a `BonefolderError` with two sentences, and nothing is made."""
    with pytest.raises(studio.BonefolderError, match=r"There is no file .*none\.vtt\. Check the name") as refusal:
        getattr(studio, call)(tmp_path / "none.vtt")
    assert isinstance(refusal.value, RecordingError)
    assert studio.BonefolderError is BonefolderError
    assert list(tmp_path.iterdir()) == []


# --- read_quantity ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "heard", "values", "unit", "dimension"),
    [
        ("Cut it at four and a quarter by five and a half inches.", "four and a quarter by five and a half inches",
         (Fraction(17, 4), Fraction(11, 2)), "in", "size"),
        ("Add 300 grams of it.", "300 grams", (Fraction(300),), "g", "mass"),
        ("It costs £4.50.", "£4.50", (Fraction(9, 2),), "GBP", "currency"),
        ("Leave it six or seven minutes.", "six or seven minutes", (Fraction(6), Fraction(7)), "min", "time_range"),
        ("A grain of 0.1-5 mm.", "0.1-5 mm", (Fraction(1, 10), Fraction(5)), "mm", "length_range"),
        ("Five, no, six inches.", "six inches", (Fraction(6),), "in", "length"),
        ("We meet at 19:30.", "19:30", ("19:30",), "", "clock"),
    ],
)  # fmt: skip
def test_amounts_are_exact_and_have_their_place(
    text: str, heard: str, values: tuple[Fraction | str, ...], unit: str, dimension: str
) -> None:
    """A value is an exact fraction, with its unit, its dimension and the characters it was read from."""
    (found,) = studio.read_quantity(text)
    assert (found.values, found.unit, found.dimension) == (values, unit, dimension)
    assert heard in found.heard == text[found.start : found.end]


def test_about_is_told_and_nothing_is_read_from_nothing() -> None:
    """An amount said with "about" is approximate; a text without amounts gives none."""
    assert [one.approximate for one in studio.read_quantity("about two inches, then 3 cm")] == [True, False]
    assert studio.read_quantity("") == studio.read_quantity("Press it flat.") == ()


def test_the_page_of_the_library_tells_every_name(tmp_path: Path) -> None:
    """The page made from the docstrings has a section for each name and for each argument, and none for a room."""
    page = subprocess.run([sys.executable, "-m", "pdoc", "-d", "google", "-o", str(tmp_path), "studio"],
                          capture_output=True, text=True, check=True)  # fmt: skip
    assert "Warn" not in page.stderr
    told = (tmp_path / "studio.html").read_text(encoding="utf-8")
    assert set(re.findall(r'<section id="([^".]+)"', told)) == set(studio.__all__)
    assert all(f"<strong>{one}:</strong>" in told for one in inspect.signature(studio.make).parameters)
    assert [path.name for path in tmp_path.rglob("*.html") if path.name not in ("index.html", "studio.html")] == []


# --- what is shipped -------------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_the_wheel_tells_that_it_is_typed_and_carries_its_data(tmp_path: Path) -> None:
    """A wheel built with pip holds `py.typed`, the API, the rule files, the prompts and the sample."""
    build = [sys.executable, "-m", "pip", "wheel", str(ROOT), "--no-deps", "--no-build-isolation", "-q", "-w"]
    subprocess.run([*build, str(tmp_path)], check=True, capture_output=True, timeout=300)
    (wheel,) = tmp_path.glob("bonefolder-*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {"studio/py.typed", "studio/__init__.py", "studio/api.py", "studio/stored.py"} <= names
    assert {"studio/_data/shared/units.toml", "studio/_data/sample_media/recording.mp4"} <= names
    assert any(name.startswith("studio/_data/prompts/") for name in names)
    assert not any(name.startswith("tests/") for name in names)
