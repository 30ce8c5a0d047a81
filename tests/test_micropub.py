"""A draft sent to a site by Micropub, against a server on this machine."""

import json
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import Any

import pytest
import small_document

from studio import micropub, post, posting
from studio.errors import SettingsError
from studio.settings import PublishingChoices

TOKEN = "a-token-for-the-test"


class Site(BaseHTTPRequestHandler):
    """A site that takes drafts at /micropub, refuses at /refuse, and moves elsewhere at /moved."""

    got: list[dict[str, Any]] = []  # noqa: RUF012
    sent = 0

    def do_POST(self) -> None:
        """Answer as Micropub says: 201 with the place of the draft."""
        body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        allowed = self.headers.get("Authorization") == f"Bearer {TOKEN}"
        type(self).got.append({"path": self.path, "body": body, "allowed": allowed})
        places = {
            "/micropub": (201, "/drafts/1"),
            "/moved": (302, "/elsewhere"),
            "/bad": (201, "javascript:alert(1)"),
            "/none": (201, ""),
        }
        status, location = places.get(self.path, (403, ""))
        if self.path in {"/endless", "/drip"}:
            self.flood()
            return
        self.send_response(status if allowed else 401)
        if location:
            self.send_header("Location", location)
        self.end_headers()

    def flood(self) -> None:
        """Answer without an end: as fast as it goes, or a byte at a time."""
        self.send_response(201)
        self.end_headers()
        type(self).sent, block = 0, b"x" * (1 << 16) if self.path == "/endless" else b"x"
        with suppress(OSError):
            while type(self).sent < 1 << 28:
                type(self).sent += self.wfile.write(block)
                time.sleep(0 if len(block) > 1 else 0.05)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def site(monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """Run the site, and return its address."""
    Site.got.clear()
    monkeypatch.setenv("BONEFOLDER_MICROPUB_TOKEN", TOKEN)
    server = HTTPServer(("127.0.0.1", 0), Site)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


def entry() -> micropub.Entry:
    """Return the entry of the small document."""
    settings = small_document.settings()
    facts = small_document.edition().facts
    return micropub.entry(facts, post.article(post.markdown(facts, settings)), post.summary(facts))


def test_a_draft_is_created_and_its_place_returned(site: str) -> None:
    """201 with a Location gives the address of the draft; it is announced before it is sent (Micropub, section 3.3)."""
    told: list[str] = []
    place = micropub.send(entry(), PublishingChoices(micropub_endpoint=f"{site}/micropub"), told.append)
    assert place == f"{site}/drafts/1"
    assert site in told[0]
    sent = Site.got[0]["body"]
    assert sent["type"] == ["h-entry"]
    assert sent["properties"]["post-status"] == ["draft"]
    assert sent["properties"]["name"] == ["How to make a folded card"]
    assert "<h2>What I used</h2>" in sent["properties"]["content"][0]["html"]
    assert TOKEN not in json.dumps(sent)


@pytest.mark.parametrize("path", ["/refuse", "/moved", "/bad", "/none"])
def test_any_other_answer_is_told_and_nothing_is_followed(site: str, path: str) -> None:
    """A refusal, a redirect, a place that is no web address, no place at all: one message, one request."""
    with pytest.raises(SettingsError, match="refused the draft"):
        micropub.send(entry(), PublishingChoices(micropub_endpoint=site + path), lambda _: None)
    assert len(Site.got) == 1


def test_a_wrong_token_is_told(site: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """401 tells to check the token, and does not print it."""
    monkeypatch.setenv("BONEFOLDER_MICROPUB_TOKEN", "wrong-secret")
    with pytest.raises(SettingsError, match="401") as told:
        micropub.send(entry(), PublishingChoices(micropub_endpoint=f"{site}/micropub"), lambda _: None)
    assert "wrong-secret" not in str(told.value)


@pytest.mark.parametrize("endpoint", ["", "http://site.example/micropub", "ftp://site.example/x", "file:///etc/passwd"])
def test_nothing_is_sent_to_an_unsafe_address(endpoint: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without an endpoint, or with one that is not https (this machine apart), nothing is sent or announced."""
    monkeypatch.setenv("BONEFOLDER_MICROPUB_TOKEN", TOKEN)
    told: list[str] = []
    with pytest.raises(SettingsError, match="No safe address"):
        micropub.send(entry(), PublishingChoices(micropub_endpoint=endpoint), told.append)
    assert told == []


def test_without_a_token_nothing_is_sent(site: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The token comes from the environment alone; without one the site hears nothing."""
    monkeypatch.delenv("BONEFOLDER_MICROPUB_TOKEN")
    with pytest.raises(SettingsError, match="no token"):
        micropub.send(entry(), PublishingChoices(micropub_endpoint=f"{site}/micropub"), lambda _: None)
    assert Site.got == []


@pytest.mark.parametrize("path", ["/endless", "/drip"])
def test_an_answer_without_an_end_is_given_up(site: str, monkeypatch: pytest.MonkeyPatch, path: str) -> None:
    """No more than a bounded answer is read, and after the time is up no block more."""
    monkeypatch.setattr(posting, "SECONDS", 1)
    with pytest.raises(SettingsError, match="too long or too slow"):
        micropub.send(entry(), PublishingChoices(micropub_endpoint=site + path), lambda _: None)
    assert Site.sent <= 64 * (posting.LARGEST if path == "/endless" else 1)


def test_a_site_that_is_not_there_is_told() -> None:
    """A refused connection ends in two plain sentences."""
    import os

    os.environ["BONEFOLDER_MICROPUB_TOKEN"] = TOKEN
    try:
        with pytest.raises(SettingsError, match="did not answer"):
            micropub.send(entry(), PublishingChoices(micropub_endpoint="http://127.0.0.1:9/micropub"), lambda _: None)
    finally:
        del os.environ["BONEFOLDER_MICROPUB_TOKEN"]
