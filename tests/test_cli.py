"""The commands."""

import json
import os
import subprocess
import sys
import tempfile
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


def limited(*args: str, folder: Path, size: int = 0) -> subprocess.CompletedProcess[str]:
    """Run the program where no file may grow beyond a size, and without the power of root to write everywhere."""
    code = "from studio.cli import main; main()"
    if size:
        code = f"import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({size}, {size})); {code}"
    weak = (
        "import ctypes, os, sys; [ctypes.CDLL(None).prctl(24, n) for n in (1, 2)]; os.execv(sys.argv[1], sys.argv[1:])"
    )
    command = [sys.executable, "-c", weak, sys.executable, "-c", code, *args]  # capabilities 1 and 2, prctl(2)
    return subprocess.run(command, capture_output=True, text=True, cwd=folder, check=False)


def assert_told(done: subprocess.CompletedProcess[str], *, code: int = 2) -> None:
    """See to it that a run ended with two sentences, and no word of the program's insides."""
    assert done.returncode == code, done.stderr
    assert "should not" not in done.stderr + done.stdout
    assert "Traceback" not in done.stderr
    assert len(done.stderr.strip().splitlines()) == 2
    assert all(line.endswith(".") for line in done.stderr.strip().splitlines())


@pytest.mark.parametrize(
    "args",
    [
        ("make", "demo.vtt", "--out", "list.csv"),
        ("make", "demo.vtt", "--out", "list.csv/folio"),
        ("make", "demo.vtt", "--out", "/proc/folio"),
        ("make", "demo.vtt", "--out", "x" * 300),
        ("make", "demo.vtt", "--out", "taken"),
        ("make", "x" * 5000),
        ("sample", "--out", "list.csv"),
        ("find", "blue", "nowhere"),
        ("find", "blue", "list.csv"),
        ("retired", "list.csv", "nowhere"),
        ("at", "0:02", "list.csv"),
        ("polish", "list.csv"),
        ("publish", "nowhere"),
        ("catalogue", "check", "taken"),
        ("captions", "check", "taken"),
        ("desk", "list.csv", "--no-browser"),
    ],
)
def test_what_the_system_refuses_is_told_in_two_sentences(tmp_path: Path, args: tuple[str, ...]) -> None:
    """A file where a folder is needed, a folder that is not there or may not be made: no crash text."""
    (tmp_path / "demo.vtt").write_text(CAPTIONS)
    (tmp_path / "list.csv").write_text("code,name\nH1,Heron Blue Ink\n")
    (tmp_path / "taken" / ".work" / "lock").mkdir(parents=True)
    assert_told(bonefolder(*args, folder=tmp_path), code=3 if args[0] == "captions" else 2)


@pytest.mark.parametrize("size", [1, 1_000, 6_000])
def test_a_full_disk_is_told_and_the_same_command_goes_on_afterwards(tmp_path: Path, size: int) -> None:
    """Where no file may grow any more the run ends in two sentences; with room the same command ends well."""
    (tmp_path / "demo.vtt").write_text(CAPTIONS)
    assert_told(limited("make", "demo.vtt", folder=tmp_path, size=size))
    assert bonefolder("make", "demo.vtt", folder=tmp_path).returncode in (0, 1)


@pytest.mark.skipif(sys.platform != "linux", reason="gives up root's power by a system call of Linux")
def test_a_folder_that_may_only_be_read_can_be_searched_and_not_filled() -> None:
    """Without the right to write, `make` says so, while `at` and `find` answer."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        (folder / "demo.vtt").write_text(CAPTIONS)
        bonefolder("make", "demo.vtt", folder=folder)
        for path in (folder, *folder.rglob("*")):
            path.chmod(0o555 if path.is_dir() else 0o444)
        try:
            assert_told(limited("make", "demo.vtt", folder=folder))
            assert_told(limited("make", "demo.vtt", "--out", "deep/folio", folder=folder))
            assert "Heron" in limited("find", "heron", ".", folder=folder).stdout
            assert "Heron" in limited("at", "0:02", "demo-folio", folder=folder).stdout
        finally:
            for path in (folder, *(one for one in folder.rglob("*") if one.is_dir())):
                path.chmod(0o755)


def test_the_settings_file_used_is_named(tmp_path: Path) -> None:
    """A settings file that lies beside the recording is named before anything is made with it."""
    (tmp_path / "demo.vtt").write_text(CAPTIONS)
    (tmp_path / "bonefolder.toml").write_text('[shop]\nname = "Here"\n')
    assert "Settings used: bonefolder.toml\n" in bonefolder("make", "demo.vtt", folder=tmp_path).stdout


def test_the_recording_is_never_written(tmp_path: Path) -> None:
    """Captions given as the source stay, also where the folder to fill is the one they lie in."""
    (tmp_path / "captions.vtt").write_text(CAPTIONS)
    (tmp_path / "supplies.csv").write_text("code,name\nH1,Heron Blue Ink\n")
    (tmp_path / "post.md").write_text("My own post.")
    for _ in range(2):
        done = bonefolder("make", "captions.vtt", "--out", ".", "--catalogue", "supplies.csv", folder=tmp_path)
        assert (tmp_path / "captions.vtt").read_text() == CAPTIONS
        assert (tmp_path / "supplies.csv").read_text() == "code,name\nH1,Heron Blue Ink\n"
        assert (tmp_path / "post.md").read_text() == "My own post."
        assert "Heron Blue Ink" in (tmp_path / "captions.new.vtt").read_text()
        (tmp_path / "captions.txt").write_text("something changes")
        (tmp_path / "bonefolder.toml").write_text('[shop]\nname = "Here"\n')
    assert "post.md is yours and is left as it is" in done.stdout


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
