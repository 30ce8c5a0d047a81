"""What is sent to an address of the person's own: https only, this machine apart, nothing followed, answers bounded."""

import time
from dataclasses import dataclass
from urllib.parse import urlsplit

from studio import text
from studio.errors import SettingsError

SECONDS = 30
"""An answer that has not come whole by then is given up."""
LARGEST = 1 << 20
"""Bytes of an answer that are read."""
_HERE = frozenset({"localhost", "127.0.0.1", "::1"})


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    location: str
    body: bytes


def is_safe(address: str) -> bool:
    """Return whether something may be sent to an address: over https, or to this machine itself."""
    try:
        parts = urlsplit(address)
        here = parts.hostname in _HERE
    except ValueError:
        return False
    return bool(parts.hostname) and (parts.scheme == "https" or (parts.scheme == "http" and here))


def post(address: str, told: str, token: str) -> Answer:
    """Send JSON to an address, and return what came back.

    Args:
        address: where to; it must be safe.
        told: what is sent, as JSON.
        token: sent along as a bearer token (RFC 6750) where there is one.

    Raises:
        SettingsError: the address is not safe, there was no answer in time, or it was too long.
    """
    import httpx2

    if not is_safe(address):
        raise SettingsError(f"{text.one_line(address)} is no safe address.", "Set one that begins with https://.")
    headers = {"Accept-Encoding": "identity", "Content-Type": "application/json"}
    headers |= {"Authorization": f"Bearer {token}"} if token else {}
    until = time.monotonic() + SECONDS
    try:
        with httpx2.stream(
            "POST", address, content=told.encode(), headers=headers, timeout=SECONDS, follow_redirects=False
        ) as answer:
            body = bytearray()
            for block in answer.iter_raw():
                body += block
                if len(body) > LARGEST or time.monotonic() > until:
                    raise _too_long(address)
            return Answer(answer.status_code, answer.headers.get("Location", ""), bytes(body))
    except (httpx2.HTTPError, httpx2.InvalidURL, UnicodeError) as error:
        raise SettingsError(
            f"{text.one_line(address)} did not answer.", "Check the address and your connection, then try again."
        ) from error


def _too_long(address: str) -> SettingsError:
    return SettingsError(
        f"The answer of {text.one_line(address)} was too long or too slow.", "Check that it is the right address."
    )
