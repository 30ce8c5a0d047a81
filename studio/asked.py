"""What was asked for, kept inside the folio, so that it can be made again after a decision without asking anew.

It carries a seal that only this person's program can make. What came from somebody else has none: it may name no
recording or catalogue elsewhere, and none of the settings that a person alone may choose.
"""

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from studio import cache, own_folder
from studio import settings as choices
from studio.errors import FolioDamaged
from studio.pipeline import Progress, Request, silent

_NAME = "asked.json"


def keep(request: Request) -> None:
    """Write down what was asked for; nothing is written where that stands there already.

    Raises:
        StorageError: the disk refused.
    """
    told = {
        "source": str(request.source.absolute()),
        "catalogue": str(request.catalogue.absolute()) if request.catalogue else None,
        "recorded_on": request.recorded_on.isoformat() if request.recorded_on else None,
        "trimmed": request.trimmed,
        "settings": request.settings.model_dump(mode="json"),
        "settings_files": [str(path.absolute()) for path in request.settings_files],
    }
    text = json.dumps({**told, "seal": own_folder.seal(_canonical(told))}, indent=1).encode()
    path = request.work / _NAME
    if not path.exists() or path.read_bytes() != text:
        cache.write(path, text)


def again(folder: Path, progress: Progress = silent) -> Request:
    """Return the request that a folio was last made by.

    Raises:
        FolioDamaged: it was never made here, what was kept cannot be read, or it came from somebody else and names
            files that do not lie beside the folio.
    """
    try:
        told = json.loads((folder / ".work" / _NAME).read_bytes())
        sealed = own_folder.is_sealed(_canonical(told), told.pop("seal", ""))
        request = Request(
            source=Path(told["source"]),
            folder=folder,
            catalogue=Path(told["catalogue"]) if told["catalogue"] else None,
            recorded_on=date.fromisoformat(told["recorded_on"]) if told["recorded_on"] else None,
            trimmed=told["trimmed"],
            settings=choices.kept(told["settings"], private=sealed),
            settings_files=tuple(map(Path, told.get("settings_files", ()))) if sealed else (),
            progress=progress,
        )
        strange = [] if sealed else [path for path in request.inputs if not _beside(path, folder)]
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise _unknown(folder) from error
    if strange:
        raise _unknown(folder, f", and {strange[0]} is not taken from it: it was made somewhere else")
    return request


def _canonical(told: Mapping[str, object]) -> bytes:
    return json.dumps({name: told[name] for name in told if name != "seal"}, sort_keys=True).encode()


def _beside(path: Path, folder: Path) -> bool:
    """Return whether a file lies in the folder that the folio lies in, or below it."""
    return path.resolve().is_relative_to(folder.resolve().parent)


def _unknown(folder: Path, why: str = "") -> FolioDamaged:
    return FolioDamaged(
        f"It is not known from which recording {folder.name} was made{why}.",
        "Make it again from the recording; your decisions are kept.",
    )
