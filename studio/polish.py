"""Optional wording by a language model of the person's choosing: one sentence at a time, behind the guard."""

import json
import os
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from http import HTTPStatus

from studio import posting, resources, text
from studio.errors import SettingsError
from studio.settings import PolishChoices
from studio.writing import guard
from studio.writing.written import Draft, Line, Link, Section

KEY = "BONEFOLDER_POLISH_KEY"
"""The environment variable that holds the key; no setting can name another one."""
Ask = Callable[[str], str]
"""Takes a sentence, returns what the model makes of it."""


@dataclass(frozen=True)
class Polished:
    """A draft after polishing, and how it went."""

    draft: Draft
    taken: int
    refused: Counter[str]
    """Why rewrites were refused; the rule's own text stands there."""


def notice(choices: PolishChoices, draft: Draft) -> str:
    """Return what is said on screen before anything is sent."""
    return (
        f"{len(draft.lines)} sentences of the post are sent to {choices.endpoint}, one at a time, and nothing else: "
        "no sound, no picture, no catalogue."
    )


def polished(draft: Draft, names: Sequence[str], ask: Ask) -> Polished:
    """Offer every sentence to the model; keep the rule's text where the guard refuses what comes back.

    Args:
        draft: as the rules wrote it.
        names: product names, which must stay letter by letter.
        ask: the model.
    """
    refused: Counter[str] = Counter()
    taken = 0

    def offered(line: Line) -> Line:
        nonlocal taken
        if line.kind == "item":
            return line
        rewrite = text.one_line(ask(line.text))
        if rewrite == line.text:
            return line
        reason = "nothing came back" if not rewrite else guard.refuse(line.text, rewrite, names)
        if reason:
            refused[reason] += 1
            return line
        taken += 1
        return replace(line, text=rewrite, links=_found_again(line, rewrite), polished_from=line.text)

    intro = tuple(map(offered, draft.intro))
    sections = tuple(Section(one.title, one.start_ms, tuple(map(offered, one.lines))) for one in draft.sections)
    return Polished(replace(draft, intro=intro, sections=sections), taken, refused)


def _found_again(line: Line, rewrite: str) -> tuple[Link, ...]:
    """Return the links at the places that their words have in the rewrite; a link whose words are gone is dropped."""
    places = [(link, rewrite.find(line.text[link.start : link.end])) for link in line.links]
    return tuple(replace(link, start=at, end=at + link.end - link.start) for link, at in places if at >= 0)


def model(choices: PolishChoices) -> Ask:
    """Return the model behind an OpenAI-compatible endpoint; temperature 0, one sentence a call.

    Raises:
        SettingsError: no endpoint or model is named, it is not safe, or it does not answer.
    """
    if not choices.endpoint or not choices.model:
        raise SettingsError(
            "Polishing is off: no endpoint and model are named.", "Name both under [polish], or leave it off."
        )
    key = os.environ.get(KEY, "")
    address = choices.endpoint.rstrip("/") + "/chat/completions"
    if not posting.is_safe(address):
        raise SettingsError(
            f"{text.one_line(choices.endpoint)} is no safe address.", "Set endpoint under [polish]; it must be https."
        )
    instruction = resources.prompt("polish.txt").read_text(encoding="utf-8").strip()

    def ask(sentence: str) -> str:
        messages = [{"role": "system", "content": instruction}, {"role": "user", "content": sentence}]
        asked = {"model": choices.model, "temperature": 0, "messages": messages}
        answer = posting.post(address, json.dumps(asked, ensure_ascii=False), key)
        try:
            if answer.status != HTTPStatus.OK:
                raise ValueError(answer.status)
            return str(json.loads(answer.body)["choices"][0]["message"]["content"])
        except (ValueError, LookupError, TypeError, RecursionError) as error:
            raise SettingsError(
                f"The endpoint {choices.endpoint} did not answer as expected.", "Check [polish], or turn it off."
            ) from error

    return ask
