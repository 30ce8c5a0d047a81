"""The commands."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from studio import cli

README = Path(__file__).parent.parent / "README.md"
CAPTIONS = "WEBVTT\n\n00:01.000 --> 00:04.000\nThis is the Heron Blue Ink.\n\n00:05.000 --> 00:08.000\nBye for now.\n"


def bonefolder(*args: str, folder: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run the program as a person would."""
    command = [sys.executable, "-c", "from studio.cli import main; main()", *args]
    return subprocess.run(command, capture_output=True, text=True, cwd=folder, check=False)


def commands() -> list[str]:
    """Return every command, with its group."""
    top = typer.main.get_command(cli.app)
    names = []
    for name, command in top.commands.items():  # type: ignore[attr-defined]
        names += [f"{name} {sub}" for sub in getattr(command, "commands", {})] or [name]
    return names


@pytest.mark.parametrize("command", commands())
def test_every_command_is_documented_and_explains_itself(command: str) -> None:
    """The README shows each command, and its help is a sentence in the person's words."""
    assert f"bonefolder {command}" in README.read_text(encoding="utf-8")
    shown = CliRunner().invoke(cli.app, [*command.split(), "--help"])
    assert shown.exit_code == 0
    assert len(shown.output) > 100


def test_make_ends_with_a_folio_and_an_exit_code(tmp_path: Path) -> None:
    """A caption file and a catalogue give a folio; the last line says where it is."""
    (tmp_path / "demo.vtt").write_text(CAPTIONS)
    (tmp_path / "list.csv").write_text("code,name\nH1,Heron Blue Ink\n")
    done = bonefolder("make", "demo.vtt", "--catalogue", "list.csv", "--recorded", "2026-04-14", folder=tmp_path)
    assert done.returncode in (0, 1), done.stderr
    assert "Made: demo-folio" in done.stdout
    folio = json.loads((tmp_path / "demo-folio" / "folio.json").read_text())
    assert [row["code"] for row in folio["supplies"]] == ["H1"]


@pytest.mark.parametrize(
    ("args", "code", "message"),
    [
        (("make", "none.mp4"), 3, "There is no file none.mp4. Check the name and the folder."),
        (("make", "list.csv"), 3, "list.csv"),
        (("make", "demo.vtt", "--settings", "none.toml"), 2, "The settings file none.toml cannot be opened."),
        (("make", "demo.vtt", "--catalogue", "none.csv"), 2, "none.csv"),
        (("at", "6:20", "nowhere"), 2, "nowhere holds no folio that can be read."),
    ],
)
def test_bad_input_is_two_sentences_and_no_traceback(
    tmp_path: Path, args: tuple[str, ...], code: int, message: str
) -> None:
    """A known problem has its exit code and says what is wrong; nothing of Python is shown."""
    (tmp_path / "demo.vtt").write_text(CAPTIONS)
    (tmp_path / "list.csv").write_text("code,name\nH1,Heron Blue Ink\n")
    done = bonefolder(*args, folder=tmp_path)
    assert done.returncode == code, done.stderr
    assert message in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr


def test_the_schema_is_json(tmp_path: Path) -> None:
    """`schema` prints a JSON Schema that names every part of the document."""
    shown = json.loads(bonefolder("schema", folder=tmp_path).stdout)
    parts = "recording transcript mentions supplies measures cuts chapters offers findings cautions"
    assert set(shown["properties"]) >= set(parts.split())


def test_read_shows_how_a_phrase_is_understood(tmp_path: Path) -> None:
    """A size said in words is shown as exact values."""
    shown = bonefolder("read", "four and a quarter by five and a half inches", folder=tmp_path).stdout
    assert "4 1/4" in shown
    assert "5 1/2" in shown


def test_catalogue_check_prints_a_table(tmp_path: Path) -> None:
    """Each complaint stands in the table with its row, and the exit code says that there is something to look at."""
    (tmp_path / "list.csv").write_text("code,name,price\nH1,Heron Blue Ink,4.50\nH1,Heron Grey Ink,abc\n")
    done = bonefolder("catalogue", "check", "list.csv", folder=tmp_path)
    assert done.returncode == 1
    assert "3" in done.stdout
    assert "products can be used" in done.stdout


def test_control_characters_never_reach_the_terminal(tmp_path: Path) -> None:
    """Escape sequences in a catalogue are not printed."""
    (tmp_path / "list.csv").write_text("code,name,price\nH1,\x1b[31mRed\x1b[0m,x\x1b]0;owned\x07\n")
    done = bonefolder("catalogue", "check", "list.csv", folder=tmp_path)
    assert "\x1b" not in done.stdout + done.stderr


def test_times_move_with_a_trimmed_recording(tmp_path: Path) -> None:
    """What was cut out since is gone, and everything after it is earlier by its length."""
    (tmp_path / "demo.vtt").write_text(CAPTIONS)
    bonefolder("make", "demo.vtt", "--retime", "cut 0:00-0:04", folder=tmp_path)
    captions = (tmp_path / "demo-folio" / "captions.vtt").read_text()
    assert "Heron" not in captions
    assert "00:00:01.000 --> " in captions


def test_a_fault_of_the_program_is_told_without_a_traceback(tmp_path: Path) -> None:
    """Even what nobody foresaw ends in words; what to report is printed only when asked for."""
    code = "import studio.cli as c; c.app = lambda: 1 / 0; c.main()"
    for trace in ("", "1"):
        env = {**os.environ, "BONEFOLDER_TRACE": trace}
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, check=False)
        assert ("Traceback" in done.stderr) == bool(trace)
        assert "division by zero" in done.stderr
