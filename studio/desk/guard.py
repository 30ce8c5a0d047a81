"""Who may speak to the desk: this machine's own page only, with the token of this start, in bounded requests."""

import json
import secrets

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

HOSTS = ["127.0.0.1", "localhost"]
TOKEN_HEADER = "x-desk-token"  # noqa: S105  (the name of a header)
LARGEST_JSON = 1 << 20
POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self'; media-src 'self'; connect-src 'self'; "
    "frame-src 'self'; object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors {ancestors}"
)
_SAFE = {"GET", "HEAD"}
_UPLOAD = "/api/upload"


class Refused(Exception):
    """A request that is not served: the status and the reason."""

    def __init__(self, status: int, reason: str) -> None:
        super().__init__(reason)
        self.status, self.reason = status, reason


class Guard:
    """Checks every request before the application sees it, and gives every answer its protecting headers."""

    def __init__(self, app: ASGIApp, token: str) -> None:
        self._app, self._token = app, token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve a request, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        answer = _protected(send, scope["path"])
        try:
            let_in(scope, self._token)
            limited = receive if scope["path"] == _UPLOAD else _limited(receive, Headers(scope=scope))
            await self._app(scope, limited, answer)
        except Refused as refused:
            await _refuse(answer, refused)


def let_in(scope: Scope, token: str) -> None:
    """Check where a request comes from.

    Raises:
        Refused: another host's name, another site's page, no token, or another kind of content than JSON.
    """
    headers = Headers(scope=scope)
    if headers.get("host", "").rpartition(":")[0] not in HOSTS and headers.get("host", "") not in HOSTS:
        raise Refused(400, "This page is served to this machine only.")
    if headers.get("sec-fetch-site", "same-origin") not in {"same-origin", "none"}:
        raise Refused(403, "Another site's page may not ask for this.")
    if headers.get("origin", own := f"http://{headers.get('host', '')}") != own:
        raise Refused(403, "Another site's page may not ask for this.")
    changes, is_api = scope["method"] not in _SAFE, scope["path"].startswith("/api/")
    if (is_api or changes) and not secrets.compare_digest(headers.get(TOKEN_HEADER, "").encode(), token.encode()):
        raise Refused(403, "This page is from an earlier start. Load it again.")
    if changes:
        wanted = "application/octet-stream" if scope["path"] == _UPLOAD else "application/json"
        if headers.get("content-type", "").split(";")[0].strip().lower() != wanted:
            raise Refused(415, f"The content must be {wanted}.")


def _limited(receive: Receive, headers: Headers) -> Receive:
    """Return what receives a body that is refused once it is larger than a decision can be."""
    taken = 0
    told = headers.get("content-length", "0")
    if told.isdigit() and int(told) > LARGEST_JSON:
        raise Refused(413, "That is too much for one request.")

    async def some() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > LARGEST_JSON:
            raise Refused(413, "That is too much for one request.")
        return message

    return some


def _protected(send: Send, path: str) -> Send:
    ancestors = "'self'" if "/out/" in path else "'none'"

    async def answer(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            headers["content-security-policy"] = headers.get(
                "content-security-policy", POLICY.format(ancestors=ancestors)
            )
            headers["x-content-type-options"] = "nosniff"
            headers["referrer-policy"] = "no-referrer"
            headers["cross-origin-resource-policy"] = "same-origin"
            headers["cross-origin-opener-policy"] = "same-origin"
            headers.setdefault("cache-control", "no-store")
        await send(message)

    return answer


async def _refuse(send: Send, refused: Refused) -> None:
    body = json.dumps({"problem": refused.reason, "remedy": ""}).encode()
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": refused.status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
