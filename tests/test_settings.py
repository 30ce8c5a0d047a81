"""The person's choices."""

from pathlib import Path

import pytest

from studio import own_folder as sealing
from studio import settings
from studio.errors import SettingsError


def test_no_file_means_every_default() -> None:
    """The program works without a settings file."""
    assert settings.load(None) == settings.Settings()


def test_choices_are_read_from_one_file(tmp_path: Path) -> None:
    """Tables and nicknames of the file arrive, the rest stays default, a byte order mark does not matter."""
    file = tmp_path / "bonefolder.toml"
    file.write_text('\ufeff[names]\n"the wide tape" = "T12"\n[publishing]\njurisdiction = "US"\n', encoding="utf-8")
    found = settings.load(file)
    assert found.names == {"the wide tape": "T12"}
    assert (found.publishing.jurisdiction, found.publishing.units) == ("US", "in")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[publishing\n", "is not valid TOML"),
        ("[publishing]\ncurency = 'GBP'\n", r"publishing\.curency: Extra inputs"),
        ("[chapters]\ncount = 0\n", r"chapters\.count: .*greater than or equal to 1"),
        ("[[offers]]\nkind = 'half_price'\n", r"offers\.0\.kind"),
    ],
)
def test_a_wrong_file_names_the_entry(tmp_path: Path, text: str, message: str) -> None:
    """What is wrong is told with its place, in two sentences."""
    file = tmp_path / "bonefolder.toml"
    file.write_text(text)
    with pytest.raises(SettingsError, match=message):
        settings.load(file)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    """A settings file that was named but is not there is a known problem."""
    with pytest.raises(SettingsError, match="cannot be opened"):
        settings.load(tmp_path / "none.toml")


@pytest.mark.parametrize("told", ["", ".", "config"])
def test_the_own_folder_is_never_looked_for_in_the_current_one(monkeypatch: pytest.MonkeyPatch, told: str) -> None:
    """A relative configuration folder is not taken (XDG Base Directory Specification 0.8)."""
    monkeypatch.setenv("XDG_CONFIG_HOME", told)
    monkeypatch.setenv("HOME", "/home/someone")
    assert sealing.folder() == Path("/home/someone/.config/bonefolder")


def test_a_seal_is_known_again_and_no_other_is_taken(own_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same data has the same seal; changed data, another person's seal and an empty one are refused."""
    seal = sealing.seal(b"data")
    assert sealing.is_sealed(b"data", seal)
    assert (own_folder / "seal.key").stat().st_mode & 0o077 == 0
    for data, given in ((b"date", seal), (b"data", ""), (b"data", "é"), (b"data", None), (b"data", seal[:-1])):
        assert not sealing.is_sealed(data, given)
    monkeypatch.setenv("XDG_CONFIG_HOME", "/proc/none")
    assert sealing.seal(b"data") == ""
    assert not sealing.is_sealed(b"data", "")
