"""A draft sent to the person's own site by Micropub (W3C Recommendation of 23 May 2017); only when asked to."""

import os
from collections.abc import Callable
from typing import Any
from urllib.parse import urljoin, urlsplit

from studio import text
from studio.errors import SettingsError
from studio.settings import PublishingChoices

SECONDS = 30
_CREATED = frozenset({201, 202})


def entry(known: dict[str, Any], body: str, summary: str) -> dict[str, Any]:
    """Return the post as a microformats 2 entry in JSON (Micropub, section 3.3.2), marked as a draft.

    Args:
        known: the facts of the post.
        body: the article in HTML.
        summary: one or two sentences.
    """
    return {
        "type": ["h-entry"],
        "properties": {
            "name": [known["title"]],
            "content": [{"html": body}],
            "summary": [summary],
            "category": sorted({row["kind"] for row in known["supplies"] if row["kind"]}),
            "mp-slug": [known["slug"]],
            "post-status": ["draft"],
        },
    }


def send(posted: dict[str, Any], choices: PublishingChoices, tell: Callable[[str], None]) -> str:
    """Send the entry, and return the address at which the draft was made.

    Args:
        posted: the entry.
        choices: the endpoint, and the name of the variable that holds the token.
        tell: is told what goes where before anything is sent.

    Raises:
        SettingsError: no endpoint or token, an endpoint without https, or an answer that is not Micropub's 201 or 202.
    """
    import httpx2

    endpoint, token = choices.micropub_endpoint, os.environ.get(choices.micropub_token_variable, "")
    _check(endpoint, token, choices.micropub_token_variable)
    tell(f"The post is sent to {text.one_line(endpoint)} as a draft; pictures are not sent.")
    try:
        answer = httpx2.post(
            endpoint, json=posted, headers={"Authorization": f"Bearer {token}"}, timeout=SECONDS, follow_redirects=False
        )
    except httpx2.HTTPError as error:
        raise SettingsError(
            "The site did not answer.", "Check the endpoint and your connection, then try again."
        ) from error
    location = text.link(urljoin(endpoint, answer.headers.get("Location", "")))
    if answer.status_code not in _CREATED or not answer.headers.get("Location") or not location:
        raise SettingsError(f"The site refused the draft ({answer.status_code}).", "Check the token and its rights.")
    return location


def _check(endpoint: str, token: str, variable: str) -> None:
    parts = urlsplit(endpoint)
    local = parts.hostname in {"localhost", "127.0.0.1", "::1"}
    if not endpoint or not (parts.scheme == "https" or (parts.scheme == "http" and local)):
        raise SettingsError(
            "No safe address to publish to is set.", "Set micropub_endpoint under [publishing]; it must be https."
        )
    if not token:
        raise SettingsError("There is no token to publish with.", f"Put it into the environment variable {variable}.")
