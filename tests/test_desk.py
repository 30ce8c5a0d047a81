"""The desk without a browser: who may ask, what is kept, what is never lost."""

import json
import random
import resource
import shutil
import socket
import time
import zipfile
from collections.abc import AsyncIterator, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import anyio
import desk_folio
import pytest
from length import whole_or
from starlette.testclient import TestClient

from studio import asked, desk, edits, folio, pipeline, swap
from studio.desk import app, jobs, uploads
from studio.desk import shelf as shelf_of
from studio.desk.guard import Refused
from studio.desk.held import Holder
from studio.edits import Anchor, Edits, kinds
from studio.errors import BonefolderError, FolioDamaged
from studio.model import Finding, Mention
from studio.pipeline import Request
from studio.stage import Memory

TOKEN = "token-of-this-start"
BASE = "http://127.0.0.1:8123"
OWN = {"x-desk-token": TOKEN, "content-type": "application/json"}


def apart(work: Any, *given: Any) -> Any:
    """Run an asynchronous function in a thread of its own, whatever runs in this one."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(anyio.run, work, *given).result()


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with captions, catalogue and folio. Do not change it."""
    root = tmp_path_factory.mktemp("made")
    desk_folio.make(root)
    return root


@pytest.fixture
def root(made: Path, tmp_path: Path) -> Path:
    """A copy of it that may be changed."""
    return desk_folio.copied(made, tmp_path / "root")


@pytest.fixture
def client(root: Path) -> Iterator[TestClient]:
    """The desk for that folder, as its own page sees it."""
    with TestClient(app.application(root, TOKEN), base_url=BASE, headers={"x-desk-token": TOKEN}) as client:
        yield client


def shelf(client: TestClient) -> Any:
    """What lies in the folder."""
    return client.get("/api/shelf").json()


def folio_id(client: TestClient) -> str:
    """The id of the folio."""
    return str(shelf(client)["folio"][0]["id"])


def decide(client: TestClient, name: str, edit: dict[str, Any], version: str) -> Any:
    """Send a decision."""
    return client.post(f"/api/folio/{name}/edits", json=edit, headers={"if-match": f'"{version}"'})


def wait_fresh(client: TestClient, name: str, seconds: float = 60) -> None:
    """Wait until the files hold what was decided."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        told = client.get(f"/api/folio/{name}/state").json()
        assert not told["trouble"], told["trouble"]
        if told["fresh"]:
            return
        time.sleep(0.1)
    raise AssertionError("the files were not written anew")


# --- who may ask -----------------------------------------------------------------------------------------------------

FORMS = [
    {"origin": "http://evil.example"},
    {"origin": "null"},
    {"origin": "http://127.0.0.1:9999"},
    {"sec-fetch-site": "cross-site"},
    {"sec-fetch-site": "same-site"},
    {"host": "evil.example"},
    {"host": "127.0.0.1.evil.example"},
    {"host": "localhost:80@evil.example"},
    {"host": "192.168.1.7:8123"},
    {"content-type": "text/plain"},
    {"content-type": "application/x-www-form-urlencoded"},
    {"x-desk-token": "guessed"},
]
"""Twelve ways in which another site's page could ask (notes of the trade: OWASP CSRF cheat sheet, from memory)."""


@pytest.mark.parametrize("form", FORMS, ids=lambda form: "-".join(map(str, form.items())))
def test_another_site_has_no_effect(client: TestClient, root: Path, form: dict[str, str]) -> None:
    """A request that another site's page could send is refused and changes nothing."""
    name = folio_id(client)
    before = {path: path.stat().st_mtime_ns for path in root.rglob("*") if path.is_file()}
    edit = json.dumps({"kind": "chapter_merged", "start_ms": 12_500})
    headers = {**OWN, "if-match": '"0"', **form}
    for path, body in ((f"/api/folio/{name}/edits", edit), ("/api/sample", "{}"), ("/api/make", "{}")):
        answer = client.post(path, content=body, headers=headers)
        assert answer.status_code in {400, 403, 415}, answer.text
    assert {path: path.stat().st_mtime_ns for path in root.rglob("*") if path.is_file()} == before
    assert client.app.state.desk.long.runs == []  # type: ignore[attr-defined]


def test_without_the_token_nothing_is_told(client: TestClient) -> None:
    """Every address under /api/ needs the token, reading included."""
    for path in ("/api/shelf", f"/api/folio/{folio_id(client)}", "/api/read?words=two+inches"):
        assert client.get(path, headers={"x-desk-token": ""}).status_code == 403
        assert client.get(path).status_code == 200


def test_every_answer_is_protected(client: TestClient) -> None:
    """Page, data, files, pictures and refusals carry the policy without inline script, and the other headers."""
    name = folio_id(client)
    paths = ["/", "/page/desk.css", "/page/main.js", "/api/shelf", f"/api/folio/{name}", f"/folio/{name}/zip",
             f"/folio/{name}/out/post.html", "/nothing", "/api/nothing"]  # fmt: skip
    for path in paths:
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "base-uri 'none'" in policy, path
        assert "frame-ancestors" in policy, path
        assert "unsafe-inline" not in policy.replace("style-src 'unsafe-inline'", ""), path
        assert headers["x-content-type-options"] == "nosniff", path
        assert headers["referrer-policy"] == "no-referrer", path
    assert "frame-ancestors 'none'" in client.get("/").headers["content-security-policy"]
    assert "sandbox" in client.get(f"/folio/{name}/out/post.html").headers["content-security-policy"]


@pytest.mark.parametrize(
    "name",
    ["../birds.csv", "..%2fbirds.csv", "%2e%2e/birds.csv", ".work/asked.json", "/etc/passwd", "%00", "edits.jsonl",
     "folio.json/../../birds.csv", "%5c..%5cbirds.csv"],
)  # fmt: skip
def test_no_path_can_be_asked_for(client: TestClient, name: str) -> None:
    """Only names that the folio itself lists are given away."""
    answer = client.get(f"/folio/{folio_id(client)}/out/{name}")
    assert answer.status_code == 404
    assert "H1" not in answer.text


def test_a_link_out_of_the_folder_is_refused(client: TestClient, root: Path, tmp_path: Path) -> None:
    """A link to elsewhere is not given, packed or listed; a folio that is opened with one in it is refused in words."""
    (tmp_path / "secret.txt").write_text("secret")
    (tmp_path / "secret.csv").write_text("code,name\n1,secret\n")
    name = folio_id(client)
    assert client.get(f"/api/folio/{name}").status_code == 200
    page = root / "birds-folio" / "post.md"
    page.unlink()
    page.symlink_to(tmp_path / "secret.txt")
    (root / "more.csv").symlink_to(tmp_path / "secret.csv")
    assert client.get(f"/folio/{name}/out/post.md").status_code == 404
    packed = zipfile.ZipFile(BytesIO(client.get(f"/folio/{name}/zip").content))
    assert "birds-folio/post.md" not in packed.namelist()
    assert "more.csv" not in [one["name"] for one in shelf(client)["catalogue"]]
    with pytest.raises(FolioDamaged, match="a link that leads out"):
        Holder().get(root / "birds-folio")


@pytest.mark.parametrize("body", ["[" * 200_000, "{", "null", "[1]", '{"kind": "nothing"}', "\x00", "x" * 2_000_000])
def test_nonsense_is_refused_in_words(client: TestClient, body: str) -> None:
    """Deeply nested, broken, foreign and oversized bodies are refused with a sentence, never with a crash."""
    name = folio_id(client)
    for path in (f"/api/folio/{name}/edits", "/api/make", "/api/check"):
        answer = client.post(path, content=body, headers={**OWN, "if-match": '"0"'})
        assert 400 <= answer.status_code < 500
        assert answer.json()["problem"].endswith(".")


def test_the_desk_listens_on_this_machine_only() -> None:
    """The port cannot be reached on another address, not even this machine's own; a taken port is told in words."""
    listener = desk._listener(0)
    try:
        host, port = listener.getsockname()
        assert host == "127.0.0.1"
        with pytest.raises(BonefolderError, match="is taken"):
            desk._listener(port)
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection(("127.0.0.2", port), 1)
        socket.create_connection(("127.0.0.1", port), 1).close()
    finally:
        listener.close()


# --- dropped files ---------------------------------------------------------------------------------------------------


async def _zeros(count: int, size: int) -> AsyncIterator[bytes]:
    block = bytes(size)
    for _ in range(count):
        yield block


def drop(client: TestClient, kind: str, name: str, data: bytes, **more: str) -> Any:
    """Drop a file on the page."""
    headers = {"x-desk-token": TOKEN, "content-type": "application/octet-stream", **more}
    return client.post("/api/upload", params={"kind": kind, "name": name}, content=data, headers=headers)


@pytest.mark.parametrize(
    ("name", "kept"),
    [("talk.vtt", "talk.vtt"), ("../../talk.vtt", "talk.vtt"), ("C:\\a\\talk.VTT", "talk.vtt"),
     ("birds.vtt", "birds 1.vtt"),
     ("-y.vtt", "y.vtt"), (".hidden.vtt", "hidden.vtt"), ("a\nb\u202e;$(x).vtt", "a b;$(x).vtt")],
)  # fmt: skip
def test_a_dropped_file_gets_a_harmless_name(client: TestClient, root: Path, name: str, kept: str) -> None:
    """It lies in the folder under the last part of its name, and never over another file."""
    old = (root / "birds.vtt").read_bytes()
    answer = drop(client, "recording", name, b"WEBVTT\n")
    assert answer.json()["name"] == kept
    assert (root / kept).read_bytes() == b"WEBVTT\n"
    assert (root / "birds.vtt").read_bytes() == old
    assert answer.json()["id"] in [one["id"] for one in shelf(client)["recording"]]


@pytest.mark.parametrize(
    ("kind", "name", "status"),
    [("recording", "virus.exe", 415), ("catalogue", "talk.mp4", 415), ("folio", "x.json", 400), ("recording", "", 415)],
)
def test_other_files_are_refused(client: TestClient, root: Path, kind: str, name: str, status: int) -> None:
    """Only recordings, captions and catalogues are taken."""
    before = sorted(root.iterdir())
    assert drop(client, kind, name, b"x").status_code == status
    assert sorted(root.iterdir()) == before


def test_a_file_without_room_is_refused_at_once(
    client: TestClient, root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Free space is looked at before anything is written; a file that is too large is refused by its length."""
    usage = shutil.disk_usage(root)
    monkeypatch.setattr(uploads.shutil, "disk_usage", lambda _: usage._replace(free=1000))
    assert drop(client, "recording", "a.mp4", b"x" * 2000).status_code == 507
    assert drop(client, "catalogue", "a.csv", b"x", **{"content-length": str(1 << 40)}).status_code == 413
    assert not list(root.glob(".incoming*"))


def test_half_a_file_is_not_kept(root: Path) -> None:
    """A drop that breaks off leaves nothing behind, and neither does one that brings more than was told."""
    for told in (3000, 1000):
        with pytest.raises(Refused, match="did not arrive whole"):
            apart(uploads.take, root, "recording", "half.mp4", told, _zeros(2, 1000))
    assert not list(root.glob("half*"))
    assert not list(root.glob(".incoming*"))


@pytest.mark.slow
@pytest.mark.if_possible
def test_two_gigabytes_pass_through_little_memory(tmp_path: Path) -> None:
    """A recording of 2 GB (short: 200 MB) is written as it comes in; memory grows by less than 50 MB."""
    megabytes = whole_or(2048, 200)
    if shutil.disk_usage(tmp_path).free < (megabytes * 3 << 19):
        pytest.skip(f"there is no room for {megabytes} MB and half as much again")
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    path = apart(uploads.take, tmp_path, "recording", "long.mp4", megabytes << 20, _zeros(megabytes, 1 << 20))
    assert path.stat().st_size == megabytes << 20
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 50_000
    path.unlink()


# --- the work --------------------------------------------------------------------------------------------------------


def wait_done(client: TestClient, name: str, seconds: float = 90) -> Any:
    """Wait for a run."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        run = client.get(f"/api/run/{name}").json()
        if run["state"] not in {"running", "waiting"}:
            return run
        time.sleep(0.1)
    raise AssertionError("the run did not end")


def test_a_folio_is_made_decided_upon_and_taken_away(tmp_path: Path) -> None:
    """From two files to the zip: made in a child process, a word mended, and mended in every file that shows it."""
    desk_folio.lay(tmp_path)
    with TestClient(app.application(tmp_path, TOKEN), base_url=BASE, headers={"x-desk-token": TOKEN}) as client:
        there = shelf(client)
        told = {"recording": there["recording"][0]["id"], "catalogue": there["catalogue"][0]["id"]}
        run = client.post("/api/make", json={**told, "recorded_on": "2026-04-14"}).json()
        assert wait_done(client, run["folio"])["state"] == "done"
        name = run["folio"]
        whole = client.get(f"/api/folio/{name}").json()
        assert whole["fresh"]
        anchor = {"start_ms": 6000, "end_ms": 12_000, "heard": "Hairy"}
        edit = {"kind": "word_corrected", "anchor": anchor, "shown": "Heron", "everywhere": True}
        answer = decide(client, name, edit, whole["version"])
        assert answer.status_code == 200
        assert any("Heron Blue" in line[2] for line in client.get(f"/api/folio/{name}/talk").json())
        wait_fresh(client, name)
        assert "H1" in [row["code"] for row in client.get(f"/api/folio/{name}").json()["supplies"]]
        packed = zipfile.ZipFile(BytesIO(client.get(f"/folio/{name}/zip").content))
        for file in ("captions.vtt", "captions.srt", "post.md", "description.txt", "transcript.html"):
            text = packed.read(f"birds-folio/{file}").decode()
            assert "Hairy" not in text, file
        assert "Heron Blue Ink" in packed.read("birds-folio/captions.vtt").decode().replace("\n", " ")
        assert shelf(client)["kept"]["catalogue"] == told["catalogue"]


def test_a_bad_recording_is_told_in_two_sentences(client: TestClient, root: Path) -> None:
    """What the decoder cannot read ends the run with a problem and a remedy; the desk goes on."""
    (root / "broken.mp4").write_bytes(b"no film")
    broken = next(one for one in shelf(client)["recording"] if one["name"] == "broken.mp4")
    run = client.post("/api/make", json={"recording": broken["id"]}).json()
    ended = wait_done(client, run["folio"])
    assert ended["state"] == "failed"
    assert ended["problem"]
    assert ended["remedy"]
    assert client.get("/api/shelf").status_code == 200


def test_work_that_breaks_does_not_break_the_next(client: TestClient, root: Path) -> None:
    """After an unforeseen error the person is told, and the next piece of work is done by a process of its own."""
    bench = client.app.state.desk.short  # type: ignore[attr-defined]
    name = folio_id(client)
    asked_ = root / "birds-folio" / ".work" / "asked.json"
    told = json.loads(asked_.read_text())
    asked_.write_text(json.dumps({**told, "source": "/" + "x" * 5000}))
    version = decide(client, name, {"kind": "supply_set", "item": "D1", "quantity": 2}, "0").json()["version"]
    while bench.current:
        time.sleep(0.05)
    assert client.get(f"/api/folio/{name}/state").json()["trouble"]
    asked_.write_text(json.dumps(told))
    decide(client, name, {"kind": "supply_set", "item": "H1", "quantity": 3}, version)
    wait_fresh(client, name)


def test_a_stopped_run_can_go_on(client: TestClient, root: Path) -> None:
    """A run that is stopped says so, and the same request afterwards makes the folio."""
    talk = next(one for one in shelf(client)["recording"] if one["name"] == "birds.vtt")
    shutil.rmtree(root / "birds-folio")
    run = client.post("/api/make", json={"recording": talk["id"]}).json()
    stopped = client.post(f"/api/run/{run['folio']}/stop", json={}).json()
    assert stopped["state"] == "stopped"
    run = client.post("/api/make", json={"recording": talk["id"]}).json()
    assert wait_done(client, run["folio"])["state"] == "done"
    assert (root / "birds-folio" / "post.md").exists()


def test_a_catalogue_is_checked_row_by_row(client: TestClient, root: Path) -> None:
    """Complaints name the row and the remedy; the choice is remembered."""
    (root / "bad.csv").write_text("code,name,price\nA1,Ink,4.50\nA1,Ink again,4.50\nA2,Pen,cheap\n")
    bad = next(one for one in shelf(client)["catalogue"] if one["name"] == "bad.csv")
    told = client.post("/api/check", json={"catalogue": bad["id"]}).json()
    assert told["count"] >= 2
    assert {one["row"] for one in told["complaints"]} >= {3, 4}
    assert all(one["remedy"] for one in told["complaints"])
    assert shelf(client)["kept"]["catalogue"] == bad["id"]


# --- decisions -------------------------------------------------------------------------------------------------------


def test_the_riskiest_question_comes_first(client: TestClient) -> None:
    """What is wrong comes before what is to be decided, and that before what is to be checked."""
    asked_ = client.get(f"/api/folio/{folio_id(client)}").json()["questions"]
    weights = [{"error": 0, "ask": 1, "warning": 2}[one["severity"]] for one in asked_]
    assert len(weights) > 1
    assert weights == sorted(weights)


@pytest.fixture
def unsure(client: TestClient, root: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """The folio as the page sees it, with one item of which it is not sure; no run comes in between."""
    monkeypatch.setattr(app.Desk, "again", lambda *_: None)
    held = client.app.state.desk.holder.get(root / "birds-folio")  # type: ignore[attr-defined]
    dove = Mention(id="m9", code="D1", heard="the dove card", start_ms=13_500, end_ms=14_500, role="shown", state="ask",
                   confidence=0.5, runners_up=("D2",))  # fmt: skip
    asking = Finding(kind="ambiguous_item", severity="ask", message="Which?", heard="dove card", start_ms=13_600)
    sure = {"state": "confirmed"}
    others = tuple(one.but(**sure) for one in held.document.mentions if one.code not in {"D1", "D2"})
    rows = tuple(row.but(**sure) for row in held.document.supplies if row.code not in {"D1", "D2"})
    found = (asking, *(one for one in held.document.findings if one.kind != "ambiguous_item"))
    held.document = held.document.but(mentions=(*others, dove), supplies=rows, findings=found)
    nothing_kept = replace(held.request, folder=root / "nowhere")
    _, held.desk = pipeline.opened(nothing_kept, Memory(), held.document)
    whole: dict[str, Any] = client.get(f"/api/folio/{folio_id(client)}").json()
    return whole


def test_an_answer_settles_its_question(client: TestClient, unsure: dict[str, Any]) -> None:
    """The question is gone from the very answer, the row is on the supply list, and undo brings both back."""
    items = [one for one in unsure["questions"] if one["about"] == "item"]
    assert [[row["code"] for row in one["choices"]] for one in items] == [["D1", "D2"]]
    assert "ambiguous_item" not in str(unsure["questions"])
    edit = {"kind": "mention_decided", "anchor": items[0]["anchor"], "choice": "code", "code": "D2"}
    after = decide(client, unsure["id"], edit, unsure["version"]).json()
    assert items[0]["key"] not in [one["key"] for one in after["questions"]]
    assert "D2" in [row["code"] for row in after["supplies"]]
    later = decide(client, unsure["id"], {"kind": "supply_set", "item": "H1", "quantity": 4}, after["version"]).json()
    back = decide(client, unsure["id"], {"kind": "undo", "target": after["written"]}, later["version"]).json()
    assert [one["key"] for one in back["questions"]] == [one["key"] for one in unsure["questions"]]
    assert [row["quantity"] for row in back["supplies"] if row["code"] == "H1"] == [4]


def test_an_answer_removes_its_own_question_and_no_other_of_its_kind(
    client: TestClient, root: Path, unsure: dict[str, Any]
) -> None:
    """Two names that are unsure within half a second are two questions; one answer leaves the other one open."""
    held = client.app.state.desk.holder.get(root / "birds-folio")  # type: ignore[attr-defined]
    dove = next(one for one in held.document.mentions if one.id == "m9")
    near = dove.but(id="m10", code="H1", heard="the heron", runners_up=("H2",), start_ms=14_600, end_ms=14_900)
    held.document = held.document.but(mentions=(*held.document.mentions, near))
    _, held.desk = pipeline.opened(replace(held.request, folder=root / "nowhere"), Memory(), held.document)
    whole = client.get(f"/api/folio/{unsure['id']}").json()
    first, second = (one for one in whole["questions"] if one["about"] == "item")
    edit = {"kind": "mention_decided", "anchor": first["anchor"], "choice": "code", "code": "D2"}
    after = decide(client, unsure["id"], edit, whole["version"]).json()
    left = [one["key"] for one in after["questions"]]
    assert first["key"] not in left
    assert second["key"] in left
    assert set(left) >= {one["key"] for one in whole["questions"]} - {first["key"]}


def test_a_nickname_is_kept_for_the_next_recording(client: TestClient, unsure: dict[str, Any]) -> None:
    """“Always this” is remembered by the desk for every recording that follows."""
    item = next(one for one in unsure["questions"] if one["about"] == "item")
    edit = {"kind": "mention_decided", "anchor": item["anchor"], "choice": "code", "code": "D1", "always": True}
    decide(client, unsure["id"], edit, unsure["version"])
    assert shelf(client)["kept"]["names"] == {"dove card": "D1"}


def test_two_tabs_that_disagree_are_told(client: TestClient, root: Path) -> None:
    """The later answer about the same thing gets 409 and is kept aside; about another thing both stand."""
    name = folio_id(client)
    version = client.get(f"/api/folio/{name}").json()["version"]
    first = decide(client, name, {"kind": "supply_set", "item": "H1", "quantity": 2}, version)
    other = decide(client, name, {"kind": "supply_set", "item": "D1", "quantity": 5}, version)
    second = decide(client, name, {"kind": "supply_set", "item": "H1", "quantity": 3}, version)
    assert [first.status_code, other.status_code, second.status_code] == [200, 200, 409]
    kept = edits.load(root / "birds-folio" / "edits.jsonl")
    assert [edit.quantity for edit in kept.in_force] == [2, 5]  # type: ignore[union-attr]
    assert [edit.kind for edit in kept.made] == ["supply_set", "supply_set", "set_aside"]
    past = client.get(f"/api/folio/{name}/history").json()
    assert past[0]["aside"]["quantity"] == 3
    mine = decide(client, name, {**past[0]["aside"], "id": "abc"}, second.json()["version"])
    assert mine.status_code == 200
    assert client.post(f"/api/folio/{name}/edits", json={"kind": "chapter_merged", "start_ms": 1}).status_code == 428


@pytest.mark.slow
def test_a_hundred_interleavings_lose_nothing(made: Path, tmp_path: Path) -> None:
    """Two tabs decide in any order, with runs between: each decision stands or is set aside (short: ten orders)."""
    chance = random.Random(7)
    folder = tmp_path / "birds-folio"
    shutil.copytree(made / "birds-folio", folder)
    for round_ in range(whole_or(100, 10)):
        (folder / "edits.jsonl").unlink(missing_ok=True)
        holder = Holder()
        seen = dict.fromkeys("ab", "0")
        sent: list[str] = []
        for step in range(6):
            tab = chance.choice("ab")
            held = holder.get(folder)
            edit = kinds.SupplySet(id=f"{round_}-{step}", item=chance.choice(["H1", "D1", "D2"]), quantity=step + 1)
            holder.decide(held, edit, seen[tab])
            sent.append(edit.id)
            if chance.random() < 0.5:
                seen[tab] = held.decided.version
            if chance.random() < 0.05:
                folio.make(asked.again(folder))
        kept = edits.load(folder / "edits.jsonl")
        there = [edit.decision.id if isinstance(edit, edits.SetAside) else edit.id for edit in kept.made]
        assert there == sent
        standing = {edit.item: edit.quantity for edit in kept.in_force if isinstance(edit, kinds.SupplySet)}
        shown = {row.code: row.quantity for row in holder.get(folder).document.supplies}
        assert all(shown[code] == n for code, n in standing.items() if code in shown)


ANSWERS: list[Any] = [
    kinds.ChapterRenamed(start_ms=0, title="Hello"),
    kinds.CautionAdded(line="Keep the ink off the cloth."),
    kinds.MeasureSet(anchor=Anchor(start_ms=20_500, end_ms=24_000, heard="an eighth"), removed=True),
    kinds.WordCorrected(anchor=Anchor(start_ms=6000, end_ms=12_000, heard="lovely"), shown="good"),
    kinds.FindingSettled(finding="private_detail", start_ms=31_000, heard="07700 900123", answer="a shop"),
    kinds.SuppliesOrdered(items=("D1", "D2", "H1")),
    kinds.PutBack(anchor=Anchor(start_ms=1000, end_ms=5000, heard="Hello everyone")),
    kinds.MentionDecided(anchor=Anchor(start_ms=13_500, end_ms=14_500, heard="dove card"), choice="code", code="D1"),
    kinds.MentionDecided(anchor=Anchor(start_ms=27_600, end_ms=28_600, heard="Robin Stamp"), choice="none"),
    kinds.MeasureSet(anchor=Anchor(start_ms=20_500, end_ms=24_000, heard="an eighth"), values=("3", "5"), unit="in"),
    kinds.SupplySet(item="H1", removed=True),
    kinds.ChaptersCounted(count=2),
]  # fmt: skip


@pytest.mark.parametrize("edit", ANSWERS, ids=lambda edit: str(edit.kind))
def test_what_the_page_shows_at_once_is_what_the_run_finds(root: Path, edit: Any) -> None:
    """A decision laid over the document in memory gives the same document as making the whole folio again."""
    folder = root / "birds-folio"
    holder = Holder()
    held = holder.get(folder)
    holder.decide(held, edit, held.decided.version)
    assert held.document == folio.make(asked.again(folder)).document


def test_what_follows_from_many_decisions_is_what_the_run_finds(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One after the other and one taken back: the page shows what a run makes, opens no recording, writes nothing."""
    folder = root / "birds-folio"
    holder = Holder()
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    ran: list[str] = []
    fresh = pipeline.Stage.fresh
    with monkeypatch.context() as patch:
        spy = lambda one, *given: (ran.append(one.name), fresh(one, *given))[1]  # noqa: E731
        patch.setattr(pipeline.Stage, "fresh", spy)
        for edit in (*ANSWERS, kinds.Undo(target=ANSWERS[-3].id)):
            held = holder.get(folder)
            holder.decide(held, edit, held.decided.version)
        shown = holder.get(folder).document
    assert "measures" in ran
    assert not {one.name for one in pipeline.STAGES if one.slow} & set(ran)
    after = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file() and "edits.jsonl" not in path.name}
    assert after == {path: data for path, data in before.items() if "edits.jsonl" not in path.name}
    assert shown == folio.make(asked.again(folder)).document
    assert Holder().get(folder).document == shown


def test_a_damaged_log_is_told_on_the_page(client: TestClient, root: Path) -> None:
    """A bad line costs that line alone; the page says so until the person has looked at it."""
    name = folio_id(client)
    first = decide(client, name, {"kind": "supply_set", "item": "D1", "quantity": 2}, "0").json()
    wait_fresh(client, name)
    with (root / "birds-folio" / "edits.jsonl").open("ab") as log:
        log.write(b"torn")
    whole = client.get(f"/api/folio/{name}").json()
    assert "Line 2 of edits.jsonl is damaged" in whole["damage"]
    after = decide(client, name, {"kind": "supply_set", "item": "H1", "quantity": 3}, first["version"]).json()
    assert after["damage"] == whole["damage"]
    seen = decide(client, name, {"kind": "damage_seen", "lines": after["lost"]}, after["version"]).json()
    assert seen["damage"] == ""
    assert (
        client.get(f"/api/folio/{name}/history").json()[0]["words"] == "Looked at what was damaged among your decisions"
    )
    kept = edits.load(root / "birds-folio" / "edits.jsonl").in_force
    assert [edit.quantity for edit in kept if isinstance(edit, kinds.SupplySet)] == [2, 3]


TIMINGS = ["before the run", "while it listens", "while it writes", "just after it"]


@pytest.mark.parametrize("timing", TIMINGS)
def test_a_decision_taken_while_a_run_is_on_reaches_the_files(
    root: Path, monkeypatch: pytest.MonkeyPatch, timing: str
) -> None:
    """Whenever it falls, a desk started afterwards knows that the files lack it, and its first look brings them up."""
    folder = root / "birds-folio"
    edit = kinds.ChapterRenamed(start_ms=0, title="Hello from the hedge")
    add = lambda: edits.append(folder / "edits.jsonl", edit)  # noqa: E731
    folder.joinpath("captions.vtt").unlink()
    with monkeypatch.context() as patch:
        run, write = pipeline.run, swap.write
        if timing == "before the run":
            add()
        elif timing == "while it listens":
            patch.setattr(pipeline, "run", lambda request: (add(), run(request))[1])
        elif timing == "while it writes":
            patch.setattr(swap, "write", lambda *given: (add(), write(*given))[1])
        else:
            patch.setattr(swap, "write", lambda *given: (write(*given), add())[0])
        folio.make(asked.again(folder))
    assert Holder().get(folder).fresh == (timing == "before the run")
    with TestClient(app.application(root, TOKEN), base_url=BASE, headers={"x-desk-token": TOKEN}) as client:
        name = folio_id(client)
        assert client.get(f"/api/folio/{name}").json()["chapters"][0]["title"] == edit.title
        wait_fresh(client, name)
    assert edit.title in (folder / "chapters.txt").read_text()


def test_a_decision_that_changes_no_file_is_reached_too(client: TestClient, root: Path) -> None:
    """What is set aside changes nothing; the files are still known to be made with it, and are not written again."""
    name = folio_id(client)
    decide(client, name, {"kind": "supply_set", "item": "H1", "quantity": 2}, "0")
    wait_fresh(client, name)
    written = (root / "birds-folio" / "post.md").stat().st_mtime_ns
    assert decide(client, name, {"kind": "supply_set", "item": "H1", "quantity": 3}, "0").status_code == 409
    wait_fresh(client, name)
    assert swap.reached(root / "birds-folio") == edits.load(root / "birds-folio" / "edits.jsonl").version
    assert (root / "birds-folio" / "post.md").stat().st_mtime_ns == written


def test_a_decision_made_while_another_program_is_at_work_waits_for_it(client: TestClient, root: Path) -> None:
    """A folder that another run holds is no failure: it is looked at again until it is free."""
    name = folio_id(client)
    with folio.locked(root / "birds-folio"):
        decide(client, name, {"kind": "supply_set", "item": "H1", "quantity": 2}, "0")
        for _ in range(20):
            told = client.get(f"/api/folio/{name}/state").json()
            assert (told["fresh"], told["trouble"]) == (False, "")
            time.sleep(0.1)
    wait_fresh(client, name)


def test_a_decision_made_elsewhere_is_seen(client: TestClient, root: Path) -> None:
    """A decision written by another window of the program is shown at the next look, and reaches the files."""
    name = folio_id(client)
    client.get(f"/api/folio/{name}")
    edits.append(root / "birds-folio" / "edits.jsonl", kinds.ChapterRenamed(start_ms=0, title="Hello elsewhere"))
    assert client.get(f"/api/folio/{name}").json()["chapters"][0]["title"] == "Hello elsewhere"
    wait_fresh(client, name)
    assert "Hello elsewhere" in (root / "birds-folio" / "chapters.txt").read_text()


def test_the_last_decision_that_stands_is_told(client: TestClient) -> None:
    """Whoever opens the page knows what would be taken back: the last one that stands, then the one before it."""
    name = folio_id(client)
    assert client.get(f"/api/folio/{name}").json()["last"] is None
    first = decide(client, name, {"kind": "supply_set", "item": "H1", "quantity": 2}, "0").json()
    second = decide(client, name, {"kind": "supply_set", "item": "D1", "quantity": 3}, first["version"]).json()
    assert second["last"]["id"] == second["written"]
    back = decide(client, name, {"kind": "undo", "target": second["written"]}, second["version"]).json()
    assert back["last"] == first["last"]


def test_the_door_opens_with_a_name_and_closes_for_new_questions(client: TestClient, root: Path) -> None:
    """Publishing is blocked with reasons; a person's word opens it for just what was open then."""
    name = folio_id(client)
    whole = client.get(f"/api/folio/{name}").json()
    door = whole["gate"]
    assert not door["free"]
    word = {"kind": "publish_anyway", "name": "Wren", "reason": "checked on paper", "open": door["open"]}
    opened = decide(client, name, word, whole["version"]).json()["gate"]
    assert (opened["free"], opened["word"]["name"]) == (True, "Wren")
    less = {**word, "open": door["open"][1:]}
    closed = decide(client, name, less, client.get(f"/api/folio/{name}").json()["version"]).json()["gate"]
    assert not closed["free"]


def test_asking_for_a_time_gives_what_was_on_the_table(client: TestClient) -> None:
    """A time gives the moment; a time behind the end is told; words find their moments."""
    name = folio_id(client)
    (moment,) = client.get(f"/api/folio/{name}/ask", params={"words": "0:16?"}).json()
    assert "four and a quarter" in moment["said"]
    assert client.get(f"/api/folio/{name}/ask", params={"words": "59:00"}).json()["remedy"] == "It ends at 0:40."
    assert "Robin" in client.get(f"/api/folio/{name}/ask", params={"words": "robin stamp"}).json()[0]["said"]
    assert client.get("/api/find", params={"words": "robin stamp"}).json()[0]["folio"] == name


def test_a_folio_made_elsewhere_is_shown_all_the_same(tmp_path: Path, made: Path) -> None:
    """Without knowing the recording the page shows everything and says what is missing."""
    shutil.copytree(made / "birds-folio", tmp_path / "birds-folio")
    (tmp_path / "birds-folio" / ".work" / "asked.json").unlink()
    held = Holder().get(tmp_path / "birds-folio")
    assert "not known from which recording" in held.problem
    assert held.decided == Edits()


def test_a_folio_made_elsewhere_keeps_its_chapters_and_can_have_them_counted(tmp_path: Path, made: Path) -> None:
    """Without the results of its run the chapters begin where they did, until another number of them is wanted."""
    folder = tmp_path / "birds-folio"
    shutil.copytree(made / "birds-folio", folder, ignore=shutil.ignore_patterns("asked.json", "stages"))
    holder = Holder()
    held = holder.get(folder)
    begun = [chapter.start_ms for chapter in held.document.chapters]
    anchor = Anchor(start_ms=13_500, end_ms=14_500, heard="dove card")
    holder.decide(held, kinds.MentionDecided(anchor=anchor, choice="code", code="D1"), held.decided.version)
    assert [chapter.start_ms for chapter in held.document.chapters] == begun
    assert len(begun) != 2
    holder.decide(held, kinds.ChaptersCounted(count=2), held.decided.version)
    assert len(held.document.chapters) == 2


def test_the_request_is_kept_inside_the_folio(root: Path) -> None:
    """A folio is made again from the same source, catalogue, day and settings."""
    request = asked.again(root / "birds-folio")
    assert request == Request(**vars(request))
    assert (request.source.name, request.catalogue.name, str(request.recorded_on)) == (  # type: ignore[union-attr]
        "birds.vtt", "birds.csv", "2026-04-14",
    )  # fmt: skip
    assert request.source.is_absolute()


# --- the recording ---------------------------------------------------------------------------------------------------


@pytest.fixture
def with_recording(root: Path, ffmpeg: Any) -> Path:
    """The folio as if it had been made from a recording that no browser plays: MPEG-4 part 2 in AVI."""
    film = root / "birds.avi"
    ffmpeg("-f", "lavfi", "-i", "testsrc2=d=2:s=160x120:r=10", "-f", "lavfi", "-i", "sine=d=2", "-c:v", "mpeg4", film)
    folder = root / "birds-folio"
    document = folio.read(folder)
    heard = document.but(recording=document.recording.but(source="birds.avi", has_sound=True, has_picture=True))
    (folder / "folio.json").write_text(heard.model_dump_json())
    path = folder / ".work" / "asked.json"
    path.write_text(json.dumps({**json.loads(path.read_text()), "source": str(film)}))
    return root


def test_a_recording_no_browser_plays_gets_a_copy(client: TestClient, with_recording: Path) -> None:
    """The copy is made once, in a child process; parts of it are given on demand (RFC 9110, section 14)."""
    name = folio_id(client)
    states = [client.get(f"/api/folio/{name}/playable").json()["state"]]
    while states[-1] == "making" and len(states) < 600:
        time.sleep(0.1)
        states.append(client.get(f"/api/folio/{name}/playable").json()["state"])
    assert (states[0], states[-1]) == ("making", "copy")
    part = client.get(f"/folio/{name}/recording", headers={"range": "bytes=4-7"})
    assert (part.status_code, part.content) == (206, b"ftyp")
    assert part.headers["content-type"] == "video/mp4"
    assert not (with_recording / "birds-folio" / "proxy.mp4").exists()


def test_a_copy_with_chapters_is_made(client: TestClient, with_recording: Path) -> None:
    """The copy lies in the folder; the recording itself is left alone."""
    name = folio_id(client)
    before = (with_recording / "birds.avi").read_bytes()
    told = client.post(f"/api/folio/{name}/with-chapters", json={}).json()
    while told["state"] in {"waiting", "running"}:
        time.sleep(0.1)
        told = client.get(f"/api/folio/{name}/with-chapters").json()
    assert (told["state"], told["problem"]) == ("done", "")
    assert (with_recording / "birds-folio" / "with-chapters.avi").stat().st_size > 1000
    assert (with_recording / "birds.avi").read_bytes() == before


def test_captions_are_checked_on_the_page(client: TestClient, root: Path) -> None:
    """A breach of a caption rule is told with its time."""
    name = folio_id(client)
    (root / "birds-folio" / "captions.vtt").write_text(f"WEBVTT\n\n00:00:01.000 --> 00:00:01.500\n{'word ' * 40}\n")
    found = client.get(f"/api/folio/{name}/captions").json()
    assert found
    assert found[0]["at"] == "0:01"


def test_a_recording_that_was_moved_is_told(client: TestClient, with_recording: Path) -> None:
    """Without the recording everything else works, and the page says that there is nothing to play."""
    (with_recording / "birds.avi").unlink()
    name = folio_id(client)
    assert client.get(f"/api/folio/{name}/playable").json() == {"state": "none"}
    assert "no longer where it was" in client.get(f"/folio/{name}/recording").json()["problem"]


def test_only_what_the_browser_must_ask_for_needs_no_token(client: TestClient) -> None:
    """Pages, pictures and recordings are asked for by the browser itself, so they are bound to this site alone."""
    name = folio_id(client)
    for path in (f"/folio/{name}/recording", f"/folio/{name}/zip", f"/folio/{name}/out/post.html"):
        assert client.get(path, headers={"sec-fetch-site": "cross-site"}).status_code == 403


def test_what_the_child_is_told_comes_back_whole() -> None:
    """A job and a report are the same behind the line of JSON that carries them."""
    job = jobs.Job("make", "/f", "/a.mp4", catalogue="/c.csv", recorded_on="2026-04-14", names={"dove": "D1"})
    assert jobs.Job.of(job.line()) == job
    told = jobs.WorkTold("problem", problem="No.", remedy="Yes.", busy=True, last=True)
    assert jobs.WorkTold.of(told.line()) == told


def test_what_is_remembered_is_read_only_as_what_it_should_be(root: Path) -> None:
    """A file of another shape costs what it held, never the desk."""
    held = shelf_of.Shelf(root)
    held.remember(catalogue="c1")
    held.remember(names={"dove": "D1"})
    assert held.remembered() == shelf_of.Remembered("c1", {"dove": "D1"})
    for spoilt in ("[]", "{", '{"names": 3}', "null"):
        (root / ".bonefolder-desk.json").write_text(spoilt)
        assert held.remembered() == shelf_of.Remembered()
