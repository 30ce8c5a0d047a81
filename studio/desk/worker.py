"""The child process that does the work: it is told what to do on its input, line by line, and reports on its output."""

import json
import os
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from studio.errors import BonefolderError, FolioBusy

if TYPE_CHECKING:
    from studio.pipeline import Request

Report = Callable[..., None]
_SILENT_S = 0.2


def main() -> None:
    """Do what each line of the input asks for, until it ends."""
    report = _reporter()
    for line in sys.stdin:
        told = json.loads(line)
        try:
            _DO[told["do"]](told, report)
        except FolioBusy as error:
            report("problem", problem=error.problem, remedy=error.remedy, busy=True)
        except BonefolderError as error:
            report("problem", problem=error.problem, remedy=error.remedy)
        except Exception as error:
            report("problem", problem=f"Something went wrong: {type(error).__name__}: {error}.", remedy="Try it again.")
        if "faster_whisper" in sys.modules:
            return  # the speech model's memory is given back


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


def _make(told: dict[str, Any], report: Report) -> None:
    from studio import requests
    from studio.pipeline import Request

    made_on = date.fromisoformat(told["recorded_on"]) if told.get("recorded_on") else None
    catalogue = Path(told["catalogue"]) if told.get("catalogue") else None
    ask = requests.request(Path(told["source"]), catalogue, made_on, Path(told["folder"]), None, told.get("chapters"))
    request = ask(_teller(report))
    names = {**told.get("names", {}), **request.settings.names}
    settings = request.settings.model_copy(update={"names": names})
    _report_made(Request(**{**vars(request), "settings": settings}), report)


def _sample(told: dict[str, Any], report: Report) -> None:
    from studio import requests

    _report_made(requests.sample(Path(told["folder"]))(_teller(report)), report)


def _again(told: dict[str, Any], report: Report) -> None:
    from studio import asked

    _report_made(asked.again(Path(told["folder"]), _teller(report)), report)


def _report_made(request: "Request", report: Report) -> None:
    """Make a folio, and tell which state of the decisions it was made with."""
    from studio import edits, folio

    reached = edits.load(request.folder / "edits.jsonl").version
    made = folio.make(request)
    report("done", kept=list(made.kept), reached=reached)


def _proxy(told: dict[str, Any], report: Report) -> None:
    from studio import media

    source, target = Path(told["source"]), Path(told["target"])
    if media.browser_plays(source):
        report("done", plays=True)
        return
    media.proxy(source, target)
    report("done", plays=False)


_DO: dict[str, Callable[[dict[str, Any], Report], None]] = {
    "make": _make, "sample": _sample, "again": _again, "proxy": _proxy,
}  # fmt: skip

if __name__ == "__main__":
    main()
