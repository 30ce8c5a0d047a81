"""A draft sent to the person's own site by Micropub (W3C Recommendation of 23 May 2017); only when asked to."""

import json
import os
from collections.abc import Callable
from dataclasses import dataclass
from urllib.parse import urljoin

from studio import posting, text
from studio.errors import SettingsError
from studio.settings import PublishingChoices
from studio.writing.facts import Facts

TOKEN = "BONEFOLDER_MICROPUB_TOKEN"  # noqa: S105
"""The environment variable that holds the token; no setting can name another one."""
_CREATED = frozenset({201, 202})


@dataclass(frozen=True)
class Entry:
    """A post on its way to the site."""

    title: str
    html: str
    """The article."""
    summary: str
    categories: tuple[str, ...]
    slug: str


def entry(facts: Facts, body: str, summary: str) -> Entry:
    """Return the post as an entry.

    Args:
        facts: the facts of the post.
        body: the article in HTML.
        summary: one or two sentences.
    """
    return Entry(facts.title, body, summary, tuple(facts.kinds), facts.slug)


def as_json(posted: Entry) -> str:
    """Return an entry in microformats 2 (Micropub, section 3.3.2), marked as a draft."""
    properties = {
        "name": [posted.title],
        "content": [{"html": posted.html}],
        "summary": [posted.summary],
        "category": posted.categories,
        "mp-slug": [posted.slug],
        "post-status": ["draft"],
    }
    return json.dumps({"type": ["h-entry"], "properties": properties}, ensure_ascii=False)


def send(posted: Entry, choices: PublishingChoices, tell: Callable[[str], None]) -> str:
    """Send the entry, and return the address at which the draft was made.

    Args:
        posted: the entry.
        choices: the endpoint.
        tell: is told what goes where before anything is sent.

    Raises:
        SettingsError: no endpoint or token, an endpoint without https, or an answer that is not Micropub's 201 or 202.
    """
    endpoint, token = choices.micropub_endpoint, os.environ.get(TOKEN, "")
    _check(endpoint, token)
    tell(f"The post is sent to {text.one_line(endpoint)} as a draft; pictures are not sent.")
    answer = posting.post(endpoint, as_json(posted), token)
    location = text.link(urljoin(endpoint, answer.location))
    if answer.status not in _CREATED or not answer.location or not location:
        raise SettingsError(f"The site refused the draft ({answer.status}).", "Check the token and its rights.")
    return location


def _check(endpoint: str, token: str) -> None:
    if not posting.is_safe(endpoint):
        raise SettingsError(
            "No safe address to publish to is set.", "Set micropub_endpoint under [publishing]; it must be https."
        )
    if not token:
        raise SettingsError("There is no token to publish with.", f"Put it into the environment variable {TOKEN}.")
