"""What was asked for, kept inside the folio, so that it can be made again after a decision without asking anew."""

import json
from datetime import date
from pathlib import Path

from studio import cache
from studio.errors import FolioDamaged
from studio.pipeline import Progress, Request, silent
from studio.settings import Settings

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
    }
    text = json.dumps(told, indent=1).encode()
    path = request.work / _NAME
    if not path.exists() or path.read_bytes() != text:
        cache.write(path, text)


def again(folder: Path, progress: Progress = silent) -> Request:
    """Return the request that a folio was last made by.

    Raises:
        FolioDamaged: it was never made here, or what was kept cannot be read.
    """
    try:
        told = json.loads((folder / ".work" / _NAME).read_bytes())
        return Request(
            source=Path(told["source"]),
            folder=folder,
            catalogue=Path(told["catalogue"]) if told["catalogue"] else None,
            recorded_on=date.fromisoformat(told["recorded_on"]) if told["recorded_on"] else None,
            trimmed=told["trimmed"],
            settings=Settings.model_validate(told["settings"]),
            progress=progress,
        )
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise FolioDamaged(
            f"It is not known from which recording {folder.name} was made.",
            "Make it again from the recording; your decisions are kept.",
        ) from error
