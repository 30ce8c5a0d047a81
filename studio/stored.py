"""`folio.json` read back: as this version writes it, as the version before did, or as a newer one does.

A file of an older form goes through one step for each version in between. What this version does not know is kept
under `unknown`; a file that is of a newer form throughout is told from a damaged one.
"""

import json
from collections.abc import Callable
from typing import Any

from pydantic import ValidationError

from studio.errors import FolioNewer
from studio.model import SCHEMA_VERSION, Document, Unknown

Told = dict[str, Any]


def _from_1(told: Told) -> Told:
    """Version 2 tells which program wrote the file, and keeps what it does not know."""
    return {**told, "made_by": ""}


STEPS: dict[int, Callable[[Told], Told]] = {1: _from_1}
"""Version -> what makes a file of it one of the next version."""


def read(data: bytes) -> Document:
    """Return the document that a `folio.json` holds.

    Args:
        data: the whole file, as JSON in UTF-8.

    Raises:
        FolioNewer: a newer version wrote it, in a form that this one cannot read.
        ValueError: it holds no document.
    """
    try:
        return Document.model_validate_json(data)
    except ValidationError:
        told = json.loads(data)
    version = told.get("schema_version") if isinstance(told, dict) else None
    if not isinstance(version, int) or version < 1:
        raise ValueError("It does not tell which version it is.")
    for step in range(version, SCHEMA_VERSION):
        told = STEPS[step](told)
    newer = [Unknown(place="schema_version", value=str(version))] if version > SCHEMA_VERSION else []
    try:
        return _fitted({**told, "schema_version": SCHEMA_VERSION}, newer)
    except ValidationError as error:
        if newer:
            raise FolioNewer(
                f"This folio was written by {_program(told)}, and this version cannot read it.",
                "Bring bonefolder up to date, or make it again from the recording; your decisions are kept.",
            ) from error
        raise


def told_of(document: Document) -> str:
    """Return in one sentence what a newer version wrote that is not known here; empty where all is known."""
    if not document.unknown:
        return ""
    places = ", ".join(one.place for one in document.unknown[:3])
    more = f" and {len(document.unknown) - 3} more" if len(document.unknown) > 3 else ""
    return f"This folio was written by a newer version of bonefolder; {places}{more} is kept, but not used here."


def _program(told: Told) -> str:
    return str(told.get("made_by") or "a newer version of bonefolder")[:80]


def _fitted(told: Told, kept: list[Unknown]) -> Document:
    """Return the document, with every field that is not known taken out and kept."""
    try:
        document = Document.model_validate_json(json.dumps(told))
    except ValidationError as error:
        strange = [one["loc"] for one in error.errors() if one["type"] == "extra_forbidden"]
        if not strange:
            raise
        kept = [*kept, *(Unknown(place=".".join(map(str, loc)), value=_taken(told, loc)) for loc in strange)]
        document = Document.model_validate_json(json.dumps(told))
    return document.model_copy(update={"unknown": (*document.unknown, *kept)})


def _taken(told: Any, place: tuple[int | str, ...]) -> str:  # noqa: ANN401  (whatever JSON holds)
    *way, last = place
    for step in way:
        told = told[step]
    return json.dumps(told.pop(last), ensure_ascii=False)
