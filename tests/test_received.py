"""A folder or a folio that came from somebody else: it may hold anything, and nothing in it reaches outside."""

import json
import shutil
from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from threading import Thread

import pytest

from studio import asked, cache, folio, requests, sending, swap
from studio.errors import FolioDamaged, SettingsError
from studio.model import Still
from studio.pipeline import Request, silent
from studio.settings import HearingChoices, PublishingChoices, Settings

CAPTIONS = """WEBVTT

00:00:01.000 --> 00:00:04.000
Hello everyone, this is the Heron Blue Ink.

00:00:05.000 --> 00:00:09.000
Now cut the card at four and a quarter by five and a half inches.
"""
Outside = dict[str, bytes]


def request_in(folder: Path) -> Request:
    """Return the request of a small folio in a folder."""
    return Request(folder / "demo.vtt", folder / "out", folder / "list.csv", date(2026, 4, 14))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small folio with its recording and catalogue. Do not change it."""
    folder = tmp_path_factory.mktemp("made")
    (folder / "demo.vtt").write_text(CAPTIONS)
    (folder / "list.csv").write_text("code,name,price,currency\nH1,Heron Blue Ink,4.50,GBP\n")
    folio.make(request_in(folder))
    return folder


@pytest.fixture
def received(made: Path, tmp_path: Path) -> Path:
    """The same as it comes to somebody else: with the folio in `here`, and `outside` what nobody may touch."""
    shutil.copytree(made, tmp_path / "here")
    outside = tmp_path / "outside"
    (outside / "deep").mkdir(parents=True)
    for name in ("a.json", "b.jpg", "deep/c.txt", "post.md", "lock"):
        (outside / name).write_text(f"precious {name}")
    return tmp_path / "here"


def content(folder: Path) -> Outside:
    """Return every file below a folder with what it holds."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def linked(place: Path, target: Path) -> None:
    """Put a link in the place of whatever lies there."""
    if place.is_dir():
        shutil.rmtree(place)
    place.unlink(missing_ok=True)
    place.symlink_to(target)


LINKS = {
    ".work/next": "", ".work/stages": "", ".work/stills": "", ".work": "", "stills": "", "layouts": "", "deep": "deep",
    "post.md": "post.md", "folio.json": "a.json", "edits.jsonl": "post.md", ".edits.jsonl.lock": "lock",
    ".work/lock": "lock", ".work/manifest.json": "a.json", ".work/asked.json": "a.json", "notes/far": "deep/c.txt",
    ".work/inputs.json": "nowhere yet",
}  # fmt: skip
"""Place in the folio -> what it leads to, outside."""


@pytest.mark.parametrize("place", LINKS)
@pytest.mark.parametrize("command", ["make", "read"])
def test_a_link_that_leads_out_is_refused_and_nothing_behind_it_changes(
    received: Path, place: str, command: str
) -> None:
    """Wherever the link lies, making and reading end in two sentences that name it; what it leads to is as it was."""
    outside, folder = received.parent / "outside", received / "out"
    (folder / place).parent.mkdir(exist_ok=True)
    linked(folder / place, outside / LINKS[place])
    (received / "demo.vtt").write_text(CAPTIONS.replace("Hello", "Good evening"))
    before = content(outside)
    with pytest.raises(FolioDamaged, match=r"is a link that leads out of the folio.*Delete the link"):
        folio.make(request_in(received)) if command == "make" else folio.read(folder)
    assert content(outside) == before


def test_a_link_in_the_work_folder_is_refused_wherever_it_leads(received: Path) -> None:
    """One that stays inside where it lies would lead out from where a plan moves it to."""
    (received / "out" / ".work" / "next").mkdir(exist_ok=True)
    (received / "out" / ".work" / "next" / "post.md").symlink_to("../../supplies.csv")
    with pytest.raises(FolioDamaged, match="is a link"):
        folio.make(request_in(received))


def test_a_link_to_another_file_of_the_same_folio_is_fine(received: Path) -> None:
    """A person may link one file of a folio to another."""
    (received / "out" / "latest.md").symlink_to("post.md")
    folio.make(request_in(received))
    assert folio.read(received / "out") == folio.make(request_in(received)).document


def test_reading_finishes_no_plan(received: Path) -> None:
    """A folio with an unfinished plan is read as it stands; nothing is moved, written or removed."""
    work = received / "out" / ".work"
    cache.write(work / "next" / "post.md", b"from the plan")
    plan = {"made_from": "x", "files": {"post.md": cache.digest(b"from the plan")}, "inputs": []}
    (work / "plan.json").write_text(json.dumps({**plan, "moves": ["post.md"], "gone": ["supplies.csv"]}))
    before = content(received)
    folio.read(received / "out")
    assert content(received) == before


def test_a_run_finishes_the_plan_of_the_run_before(received: Path) -> None:
    """What an interrupted run has left is carried out by the next run, which ends with the files of today."""
    post = (received / "out" / "post.md").read_bytes()
    work = received / "out" / ".work"
    cache.write(work / "next" / "post.md", b"from the plan")
    plan = {"made_from": "x", "files": {"post.md": cache.digest(b"from the plan")}, "inputs": []}
    (work / "plan.json").write_text(json.dumps(plan))
    folio.make(request_in(received))
    assert not swap.unfinished(received / "out")
    assert (received / "out" / "post.md").read_bytes() == post


NAMES = ("../../../outside/post.md", "/etc/hostname", "a/../../x", ".work/lock", "C:x", "a\\..\\b", "")


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("where", ["plan", "manifest", "picture"])
def test_no_name_read_from_a_folio_leaves_it(received: Path, name: str, where: str) -> None:
    """A name in the plan, in the manifest or of a picture that leads elsewhere: nothing is read or touched there."""
    outside, work = received.parent / "outside", received / "out" / ".work"
    before = content(outside)
    if where == "plan":
        (work / "plan.json").write_text(json.dumps({"made_from": "x", "files": {name: "0"}, "inputs": []}))
    if where == "manifest":
        digest = cache.file_digest(outside / "post.md")
        (work / "manifest.json").write_text(json.dumps({"made_from": "x", "files": {name: digest}}))
    if where == "picture":
        _picture_called(work, name)
    with suppress(FolioDamaged):
        folio.make(request_in(received))
    assert content(outside) == before
    assert b"precious" not in b"".join(content(received / "out").values())


def _picture_called(work: Path, name: str) -> None:
    """Have the kept result of the stage that chooses pictures name one."""
    (kept,) = work.glob("stages/_stills-*.result")
    key = kept.stem.removeprefix("_stills-")
    still = Still(file=name, at_ms=0, subject="hero", sharpness=50.0)
    cache.Cache(kept.parent).save("_stills", key, (still,), tuple[Still, ...])
    assert cache.Cache(kept.parent).load("_stills", key, tuple[Still, ...])


# --- settings --------------------------------------------------------------------------------------------------------

FOREIGN = {
    "hearing.model": '[hearing]\nmodel = "large-v3"\n',
    "publishing.micropub_endpoint": '[publishing]\nmicropub_endpoint = "https://far.example/micropub"\n',
    "publishing.templates": '[publishing]\ntemplates = "own"\n',
    "polish.endpoint": '[polish]\nendpoint = "https://far.example/v1"\n',
    "polish.model": '[polish]\nmodel = "some-model"\n',
    "catalogue": '[catalogue]\nfile = "../outside/a.json"\n',
}
"""Entry -> a settings file that sets it."""


@pytest.mark.parametrize("entry", FOREIGN)
@pytest.mark.parametrize("place", ["beside the recording", "in the current folder"])
def test_a_settings_file_that_nobody_has_named_may_not_set_it(
    received: Path, monkeypatch: pytest.MonkeyPatch, entry: str, place: str
) -> None:
    """Addresses, models, templates and files elsewhere are refused by name, with the file and the remedy."""
    folder = received if place == "beside the recording" else received.parent / "elsewhere"
    folder.mkdir(exist_ok=True)
    monkeypatch.chdir(folder)
    (folder / "bonefolder.toml").write_text(FOREIGN[entry])
    with pytest.raises(SettingsError, match=rf"bonefolder\.toml.* may not .*{entry}.*--settings"):
        requests.request(received / "demo.vtt")


@pytest.mark.parametrize("entry", FOREIGN)
def test_a_settings_file_that_the_person_named_may_set_it(received: Path, own_folder: Path, entry: str) -> None:
    """`--settings` and the file in the person's own configuration folder may set everything."""
    named, own = received / "mine.toml", own_folder / "bonefolder.toml"
    named.write_text(FOREIGN[entry])
    given = requests.request(received / "demo.vtt", chosen=named)(silent)
    own_folder.mkdir(exist_ok=True)
    own.write_text(FOREIGN[entry].replace("../outside", str(received.parent / "outside")))
    try:
        found = requests.request(received / "demo.vtt")(silent)
    finally:
        own.unlink()
    assert (given.settings_files, found.settings_files) == ((named,), (own,))
    assert given.settings != Settings() != found.settings
    if entry == "catalogue":
        assert given.catalogue == found.catalogue == received.parent / "outside" / "a.json"


def test_what_belongs_to_the_recording_may_stand_beside_it(received: Path, own_folder: Path) -> None:
    """Names, shop, offers and a catalogue in the same folder are taken, over those of the person's own folder."""
    (received / "bonefolder.toml").write_text(
        '[catalogue]\nfile = "list.csv"\n[names]\n"blue one" = "H1"\n[shop]\nname = "Here"\nurl = "https://a.example"\n'
    )
    own_folder.mkdir(exist_ok=True)
    own = own_folder / "bonefolder.toml"
    own.write_text('[shop]\nname = "Own"\nauthor = "Me"\n[hearing]\nmodel = "small"\n')
    try:
        made = requests.request(received / "demo.vtt")(silent)
    finally:
        own.unlink()
    assert made.catalogue == received / "list.csv"
    assert made.settings.names == {"blue one": "H1"}
    assert (made.settings.shop.name, made.settings.shop.author) == ("Here", "Me")
    assert made.settings.hearing.model == "small"
    assert made.settings_files == (own, received / "bonefolder.toml")


@pytest.mark.parametrize(
    "text", ['[publishing]\nmicropub_token_variable = "HOME"\n', '[polish]\nkey_variable = "HOME"\n']
)
def test_no_settings_file_can_name_a_variable_whose_value_is_sent(received: Path, text: str) -> None:
    """The variables that hold the token and the key have fixed names; an entry that names another one is refused."""
    (received / "mine.toml").write_text(text)
    with pytest.raises(SettingsError, match="variable"):
        requests.request(received / "demo.vtt", chosen=received / "mine.toml")


class Listening(BaseHTTPRequestHandler):
    """Takes whatever is sent, and remembers its headers."""

    got: list[str] = []  # noqa: RUF012

    def do_POST(self) -> None:
        """Answer as a site would."""
        type(self).got.append(str(self.headers))
        self.send_response(201)
        self.send_header("Location", "/1")
        self.end_headers()

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def listener() -> Iterator[str]:
    """Run a server that must hear nothing, and return its address."""
    Listening.got.clear()
    with HTTPServer(("127.0.0.1", 0), Listening) as server:
        Thread(target=server.serve_forever, args=(0.02,), daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


def test_a_received_folio_sends_nothing_anywhere(
    received: Path, listener: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An address and a variable that a received folio names are not taken from it, whatever is sent."""
    monkeypatch.setenv("SOME_SECRET", "s3cret")
    monkeypatch.setenv("BONEFOLDER_MICROPUB_TOKEN", "t0ken")
    kept = received / "out" / ".work" / "asked.json"
    told = json.loads(kept.read_text().replace(str(received.parent.parent), "/nowhere"))
    told |= {"source": str(received / "demo.vtt"), "catalogue": str(received / "list.csv")}
    told["settings"]["publishing"] |= {"micropub_endpoint": listener, "micropub_token_variable": "SOME_SECRET"}
    told["settings"]["polish"] = {"endpoint": listener, "model": "m", "key_variable": "SOME_SECRET"}
    kept.write_text(json.dumps(told))
    with pytest.raises(SettingsError, match="No safe address"):
        sending.published(received / "out", lambda _: None, anyway=True)
    kept.write_text(json.dumps(told))
    with pytest.raises(SettingsError, match="No language model"):
        sending.polish_folio(received / "out", lambda _: None)
    assert Listening.got == []


@pytest.mark.parametrize("part", ["source", "catalogue"])
def test_a_received_folio_names_no_file_elsewhere(received: Path, part: str) -> None:
    """A recording or a catalogue that does not lie beside the folio is not read, and the folio says so."""
    kept = received / "out" / ".work" / "asked.json"
    told = json.loads(kept.read_text())
    told |= {"source": str(received / "demo.vtt"), "catalogue": str(received / "list.csv")}
    told[part] = str(received.parent / "outside" / "a.json")
    kept.write_text(json.dumps(told))
    with pytest.raises(FolioDamaged, match=r"outside/a\.json is not taken from it"):
        asked.again(received / "out")


def test_the_persons_own_folio_is_made_again_with_everything_that_was_asked_for(tmp_path: Path, made: Path) -> None:
    """A recording elsewhere, a model and an address that the person named stand, while nobody changed them."""
    settings = Settings(
        hearing=HearingChoices(model="small"), publishing=PublishingChoices(micropub_endpoint="https://my.example/m")
    )
    wanted = Request(made / "demo.vtt", tmp_path / "deep" / "out", settings=settings)
    folio.make(wanted)
    assert asked.again(wanted.folder) == wanted
    kept = wanted.work / "asked.json"
    kept.write_text(kept.read_text().replace("my.example", "far.example"))
    with pytest.raises(FolioDamaged, match="made somewhere else"):
        asked.again(wanted.folder)


def test_an_address_given_later_is_taken_for_what_is_sent(
    received: Path, listener: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`publish FOLDER --settings FILE` sends to the address in that file, and says which file it was."""
    monkeypatch.setenv("BONEFOLDER_MICROPUB_TOKEN", "t0ken")
    folio.make(request_in(received))
    named, told = received / "mine.toml", list[str]()
    named.write_text(f'[publishing]\nmicropub_endpoint = "{listener}/m"\n')
    assert sending.published(received / "out", told.append, named, anyway=True) == f"{listener}/1"
    assert told[0] == f"Settings used: {named}"
    assert "Bearer t0ken" in Listening.got[0]
