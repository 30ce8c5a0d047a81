"""Optional wording by a model: off by default, guarded, and honest about what it sends."""

import json
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import Any

import pytest
import small_document

from studio import polish, post
from studio.errors import SettingsError
from studio.settings import PolishChoices, Settings
from studio.writing.draft import draft


def the_draft() -> polish.Draft:
    """Return the draft of the small document."""
    return draft(small_document.document(), small_document.catalogue())


def test_it_is_off_unless_an_endpoint_is_named() -> None:
    """The defaults name no endpoint, and asking without one is refused."""
    assert Settings().polish.endpoint == ""
    with pytest.raises(SettingsError, match="Polishing is off"):
        polish.model(Settings().polish)


def test_a_rewrite_that_changes_a_fact_is_refused_and_counted() -> None:
    """A model that invents leaves every sentence as the rules wrote it."""
    before = the_draft()
    after = polish.polished(before, ("Heavy Card",), lambda said: said.replace("ten", "twenty") + " It is quite safe.")
    assert [line.text for line in after.draft.lines] == [line.text for line in before.lines]
    assert after.taken == 0
    assert sum(after.refused.values()) == len(before.lines)


def test_a_harmless_rewrite_is_taken_and_the_rules_own_text_is_kept_beside_it() -> None:
    """What passes the guard stands in the post; links move with their words; the first text is still there."""
    before = the_draft()
    after = polish.polished(
        before, ("Heavy Card",), lambda said: said.replace("and it is very stiff", "and it's very stiff")
    )
    line = next(one for one in after.draft.lines if "stiff" in one.text)
    assert after.taken == 1
    assert line.polished_from == "This is the Heavy Card, and it is very stiff."
    assert line.text[line.links[0].start : line.links[0].end] == "Heavy Card"


def test_a_model_that_says_nothing_changes_nothing() -> None:
    """An empty answer is a refusal."""
    before = the_draft()
    after = polish.polished(before, (), lambda _: "")
    assert after.draft.lines == before.lines
    assert after.refused["nothing came back"] == len(before.lines)


def test_the_notice_says_where_and_how_much() -> None:
    """Before anything is sent the person reads how many sentences go where."""
    said = polish.notice(PolishChoices(endpoint="https://model.example/v1", model="m"), the_draft())
    assert "https://model.example/v1" in said
    assert str(len(the_draft().lines)) in said


class Model(BaseHTTPRequestHandler):
    """An endpoint that gives each sentence back, and remembers what it was asked."""

    asked: list[dict[str, Any]] = []  # noqa: RUF012
    broken = False

    def do_POST(self) -> None:
        """Answer in the form of the chat interface."""
        body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        type(self).asked.append({"path": self.path, "key": self.headers.get("Authorization"), **body})
        text = body["messages"][-1]["content"]
        answer = b"no json" if self.broken else json.dumps({"choices": [{"message": {"content": text}}]}).encode()
        self.send_response(200)
        self.end_headers()
        self.wfile.write(answer)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def endpoint() -> Iterator[str]:
    """Run the endpoint, and return its address."""
    Model.asked.clear()
    Model.broken = False
    server = HTTPServer(("127.0.0.1", 0), Model)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/v1"
    server.shutdown()
    thread.join()
    server.server_close()


def test_one_sentence_and_the_instruction_are_sent(endpoint: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Temperature 0, the key from the environment, the instruction of `prompts/`, one sentence (chat completions)."""
    monkeypatch.setenv("BONEFOLDER_POLISH_KEY", "k")
    ask = polish.model(PolishChoices(endpoint=endpoint, model="some-model"))
    assert ask("Fold it.") == "Fold it."
    sent = Model.asked[0]
    assert sent["path"] == "/v1/chat/completions"
    assert sent["key"] == "Bearer k"
    assert sent["temperature"] == 0
    assert [message["role"] for message in sent["messages"]] == ["system", "user"]
    assert "exactly as it is" in sent["messages"][0]["content"]


def test_an_answer_in_another_form_is_told(endpoint: str) -> None:
    """An endpoint that answers something else ends in two plain sentences."""
    Model.broken = True
    with pytest.raises(SettingsError, match="did not answer as expected"):
        polish.model(PolishChoices(endpoint=endpoint, model="m"))("Fold it.")


@pytest.mark.parametrize("endpoint", ["http://model.example/v1", "ftp://model.example", "file:///etc/passwd", "//x"])
def test_no_sentence_goes_to_an_unsafe_address(endpoint: str) -> None:
    """Wording help is asked over https only, this machine apart."""
    with pytest.raises(SettingsError, match=r"no safe address.*https"):
        polish.model(PolishChoices(endpoint=endpoint, model="m"))


def test_a_polished_draft_becomes_a_post_that_still_tells_the_rules_text() -> None:
    """The post shows the new wording; the trace keeps the rules' own beside it."""
    after = polish.polished(the_draft(), ("Heavy Card",), lambda said: said.replace("and it is very", "and it's very"))
    files = post.files(small_document.edition().worded(after.draft))
    trace = json.loads(files["post.trace.json"])
    assert "and it's very stiff" in str(files["post.md"])
    assert [one["rules_text"] for one in trace["sentences"] if "rules_text" in one] == [
        "This is the Heavy Card, and it is very stiff."
    ]
