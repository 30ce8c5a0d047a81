"""What leaves the machine: only when asked for, announced first, and not while something is to be decided."""

from datetime import date
from pathlib import Path

import pytest

from studio import folio, micropub, pipeline, polish, sending
from studio.errors import BonefolderError, SettingsError
from studio.settings import PolishChoices, PublishingChoices, Settings

LIST = "code,name,price,currency\nH1,Heron Blue Ink,4.50,GBP\nR1,Robin Stamp,9.00,GBP\nD1,Dove Card,6.00,GBP\n"
CAPTIONS = """WEBVTT

00:00:01.000 --> 00:00:04.000
Hello everyone, welcome back to my table.

00:00:05.000 --> 00:00:09.000
First up, this is the Heron Blue Ink{price}.

00:00:10.000 --> 00:00:15.000
Cut the card at four and a quarter inches and fold it in half.
"""
SETTINGS = Settings(
    publishing=PublishingChoices(micropub_endpoint="https://site.example/micropub"),
    polish=PolishChoices(endpoint="https://model.example/v1", model="some-model"),
)


def made(folder: Path, price: str = "", settings: Settings = SETTINGS) -> Path:
    """Make a small folio; a price that differs from the catalogue's leaves something to decide."""
    (folder / "demo.vtt").write_text(CAPTIONS.replace("{price}", price))
    (folder / "list.csv").write_text(LIST)
    request = pipeline.Request(
        folder / "demo.vtt", folder / "out", folder / "list.csv", date(2026, 4, 14), settings=settings
    )
    return folio.make(request).folder


def test_a_draft_goes_out_when_nothing_is_to_be_decided(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The post is sent as it stands, to the endpoint of the settings."""
    sent: list[micropub.Entry] = []

    def send(entry: micropub.Entry, choices: PublishingChoices, _: object) -> str:
        sent.append(entry)
        return choices.micropub_endpoint + "/1"

    monkeypatch.setattr(micropub, "send", send)
    assert sending.published(made(tmp_path), lambda _: None) == "https://site.example/micropub/1"
    assert "Heron Blue Ink" in sent[0].html


def test_an_open_question_holds_the_draft_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While a price said differs from the catalogue nothing is sent, unless the person says so."""
    sent: list[object] = []
    monkeypatch.setattr(micropub, "send", lambda entry, *_: sent.append(entry) or "there")
    folder = made(tmp_path, ", it's six pounds fifty")
    with pytest.raises(BonefolderError, match=r"still wrong or to be decided\. Settle them"):
        sending.published(folder, lambda _: None)
    assert sent == []
    assert sending.published(folder, lambda _: None, anyway=True) == "there"
    assert len(sent) == 1


def test_a_polished_post_stands_beside_the_plain_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is sent is told first; a rewrite that changes a size is refused, the post stays."""
    folder = made(tmp_path)
    before = (folder / "post.md").read_bytes()
    told: list[str] = []

    monkeypatch.setattr(polish, "model", lambda _: lambda line: line.replace("4 1/4", "4 1/2"))
    result = sending.polish_folio(folder, told.append)
    assert "https://model.example/v1" in told[0]
    assert result.refused.total() == 1
    assert (folder / "post.md").read_bytes() == before
    assert "4 1/4" in (folder / "post.polished.md").read_text()


def test_without_an_endpoint_nothing_is_asked(tmp_path: Path) -> None:
    """The wording help is off until the person names a model."""
    with pytest.raises(SettingsError, match="No language model is set"):
        sending.polish_folio(made(tmp_path, settings=Settings()), lambda _: None)
