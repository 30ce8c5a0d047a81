"""The child process that does the work: it is told what to do on its input, line by line, and reports on its output."""

import json
import os
import signal
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from studio.errors import BonefolderError, FolioBusy, refused

if TYPE_CHECKING:
    from studio.pipeline import Request

Report = Callable[..., None]
_SILENT_S = 0.2


def main() -> None:
    """Do what each line of the input asks for, until it ends.

    A process that holds the speech model, or that is in an unknown state, does no more work and gives its memory back;
    it says so in its last report. It can be interrupted, also where what started the desk was deaf to that.
    """
    signal.signal(signal.SIGINT, signal.default_int_handler)
    report = _reporter()
    for line in sys.stdin:
        told = json.loads(line)
        ended = _done(told, report)
        last = ended.pop("broken", False) or "faster_whisper" in sys.modules
        report(**ended, last=last)
        if last:
            return


def _done(told: dict[str, Any], report: Report) -> dict[str, Any]:
    """Do some work; return the report that ends it."""
    try:
        return {"kind": "done", **_DO[told["do"]](told, report)}
    except BonefolderError as error:
        busy = isinstance(error, FolioBusy)
        return {"kind": "problem", "problem": error.problem, "remedy": error.remedy, "busy": busy}
    except OSError as error:
        told_of = refused(error)
        return {"kind": "problem", "problem": told_of.problem, "remedy": told_of.remedy, "broken": True}
    except Exception as error:
        problem = f"Something went wrong: {type(error).__name__}: {error}."
        return {"kind": "problem", "problem": problem, "remedy": "Try it again.", "broken": True}


def _reporter() -> Report:
    """Return what writes a report; whatever a library prints goes where errors go."""
    out: IO[str] = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)

    def report(kind: str, **more: Any) -> None:  # noqa: ANN401  (any JSON)
        out.write(json.dumps({"kind": kind, **more}) + "\n")
        out.flush()

    return report


def _teller(report: Report) -> Callable[[str, int, int], None]:
    last = ("", 0.0)

    def tell(what: str, done: int, total: int) -> None:
        nonlocal last
        now = time.monotonic()
        if what != last[0] or now - last[1] >= _SILENT_S or done >= total:
            last = (what, now)
            report("progress", what=what, done=done, total=total)

    return tell


def _make(told: dict[str, Any], report: Report) -> dict[str, Any]:
    from studio import requests
    from studio.pipeline import Request

    made_on = date.fromisoformat(told["recorded_on"]) if told.get("recorded_on") else None
    catalogue = Path(told["catalogue"]) if told.get("catalogue") else None
    ask = requests.request(Path(told["source"]), catalogue, made_on, Path(told["folder"]), None, told.get("chapters"))
    request = ask(_teller(report))
    names = {**told.get("names", {}), **request.settings.names}
    settings = request.settings.model_copy(update={"names": names})
    return _made(Request(**{**vars(request), "settings": settings}))


def _sample(told: dict[str, Any], report: Report) -> dict[str, Any]:
    from studio import requests

    return _made(requests.sample(Path(told["folder"]))(_teller(report)))


def _again(told: dict[str, Any], report: Report) -> dict[str, Any]:
    from studio import asked

    return _made(asked.again(Path(told["folder"]), _teller(report)))


def _made(request: "Request") -> dict[str, Any]:
    from studio import folio

    return {"kept": list(folio.make(request).kept)}


def _proxy(told: dict[str, Any], _: Report) -> dict[str, Any]:
    from studio import media

    source, target = Path(told["source"]), Path(told["target"])
    if media.browser_plays(source):
        return {"plays": True}
    media.proxy(source, target)
    return {"plays": False}


def _chapters(told: dict[str, Any], _: Report) -> dict[str, Any]:
    from studio import folio, media, swap

    folder = Path(told["folder"])
    target = swap.place(folder, Path(told["target"]).name)
    media.with_chapters(Path(told["source"]), target, folio.read(folder).chapters)
    swap.note(folder, target)
    return {}


_DO: dict[str, Callable[[dict[str, Any], Report], dict[str, Any]]] = {
    "make": _make, "sample": _sample, "again": _again, "proxy": _proxy, "chapters": _chapters,
}  # fmt: skip

if __name__ == "__main__":
    main()
