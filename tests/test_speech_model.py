"""Where the speech model is found, and how the embedded one is put together, checked and mended."""

import hashlib
import sys
from pathlib import Path

import pytest

from studio.errors import ModelMissing, StorageError
from studio.hearing import speech_model

NEEDED = ("config.json", "model.bin", "tokenizer.json", "vocabulary.json")


@pytest.fixture
def packages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two small data packages in the place of the real ones, and an empty cache folder; returns the cache folder."""
    halves = {"whisper_test_1": b"first ", "whisper_test_2": b"second"}
    for number, (name, half) in enumerate(halves.items(), start=1):
        data = tmp_path / "packages" / name / "data"
        data.mkdir(parents=True)
        (data.parent / "__init__.py").write_text("raise SystemExit('data packages are never run')\n")
        (data / f"model.bin.part{number}").write_bytes(half)
    for name in set(NEEDED) - {"model.bin"}:
        (data / name).write_text(name)
    files = {
        name: hashlib.sha256(b"first second" if name == "model.bin" else name.encode()).hexdigest() for name in NEEDED
    }
    monkeypatch.setattr(speech_model, "_EMBEDDED_FILES", files)
    monkeypatch.setattr(speech_model, "_PACKAGES", tuple(halves))
    monkeypatch.syspath_prepend(str(tmp_path / "packages"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache" / "bonefolder"


def complete(folder: Path) -> Path:
    """Make a folder with the four files of a model."""
    folder.mkdir()
    for name in NEEDED:
        (folder / name).write_text(name)
    return folder


def test_the_embedded_model_is_joined_once_and_found_again(packages: Path) -> None:
    """The parts become one file in the user's cache folder, the small files beside it; the packages are not run."""
    found = speech_model.find_model("")
    assert found.folder.parent == packages
    assert (found.folder / "model.bin").read_bytes() == b"first second"
    assert sorted(path.name for path in found.folder.iterdir()) == sorted(NEEDED)
    made = (found.folder / "model.bin").stat().st_mtime_ns
    assert (speech_model.find_model("").folder / "model.bin").stat().st_mtime_ns == made
    assert [path.name for path in packages.iterdir()] == [found.folder.name]


@pytest.mark.parametrize("name", NEEDED)
@pytest.mark.parametrize("damage", ["changed", "cut", "gone"])
def test_a_damaged_copy_is_built_again(packages: Path, name: str, damage: str) -> None:
    """A file that is changed, cut short or missing is noticed at the next use, and mended from the packages."""
    broken = speech_model.find_model("").folder / name
    whole = broken.read_bytes()
    if damage == "gone":
        broken.unlink()
    else:
        broken.write_bytes(whole[:-1] if damage == "cut" else whole[:-1] + b"!")
    assert (speech_model.find_model("").folder / name).read_bytes() == whole
    assert len(list(packages.iterdir())) == 1


def test_damaged_packages_are_told_and_leave_nothing(packages: Path, tmp_path: Path) -> None:
    """Parts that do not add up to the known checksum are refused, and no half model stays behind."""
    (tmp_path / "packages" / "whisper_test_1" / "data" / "model.bin.part1").write_bytes(b"other ")
    with pytest.raises(ModelMissing, match=r"damaged.*pip install"):
        speech_model.find_model("")
    assert list(packages.iterdir()) == []


def test_without_the_packages_the_person_is_told_what_to_install(
    packages: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A missing model is one sentence, and the command that brings it."""
    monkeypatch.setattr(speech_model, "_PACKAGES", ("whisper_test_9",))
    with pytest.raises(ModelMissing, match=r"no speech model.*bonefolder\[embedded\]"):
        speech_model.find_model("")
    assert not packages.exists()


def test_a_cache_folder_that_cannot_be_written_is_told(
    packages: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The remedy names the variable that moves the folder."""
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    with pytest.raises(StorageError, match="XDG_CACHE_HOME"):
        speech_model.find_model("")


def test_a_folder_that_is_named_is_taken_as_it_is(packages: Path, tmp_path: Path) -> None:
    """A model folder of the person's goes before the embedded one, and its weights name it in the result."""
    found = speech_model.find_model(str(complete(tmp_path / "mine")))
    assert found.folder == tmp_path / "mine"
    assert found.identity == "mine sha256:" + hashlib.sha256(b"model.bin").hexdigest()
    assert not packages.exists()


@pytest.mark.parametrize("missing", NEEDED)
def test_a_folder_without_one_of_its_files_is_refused_by_name(tmp_path: Path, missing: str) -> None:
    """The missing file is told at once, before the recogniser would look for it on the network."""
    folder = complete(tmp_path / "mine")
    (folder / missing).unlink()
    with pytest.raises(ModelMissing, match=missing):
        speech_model.find_model(str(folder))


def test_a_folder_that_is_not_there_is_never_taken_for_a_name_on_the_network(tmp_path: Path) -> None:
    """A wrong path is told as such, absolute or relative."""
    for path in (str(tmp_path / "none"), "models/none", "./none"):
        with pytest.raises(ModelMissing, match="no folder"):
            speech_model.find_model(path)


def test_an_unknown_size_is_told_with_the_sizes_there_are() -> None:
    """A misspelt size name lists the right ones."""
    with pytest.raises(ModelMissing, match=r"'smal' is no folder.*small"):
        speech_model.find_model("smal")


def test_a_size_that_cannot_be_fetched_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a network the person hears that the model could not be fetched, within a few seconds."""
    monkeypatch.setenv("HF_HUB_CACHE", str(tmp_path))
    import huggingface_hub.constants

    monkeypatch.setattr(huggingface_hub.constants, "HF_HUB_CACHE", str(tmp_path))
    with pytest.raises(ModelMissing, match="could not be fetched"):
        speech_model.find_model("tiny")


@pytest.mark.skipif(sys.platform != "linux", reason="the folder of this system")
def test_the_cache_folder_is_the_users(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """XDG_CACHE_HOME where it is set, else ~/.cache (XDG Base Directory Specification)."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert speech_model.cache_folder() == tmp_path / "bonefolder"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    assert speech_model.cache_folder() == tmp_path / "home" / ".cache" / "bonefolder"
