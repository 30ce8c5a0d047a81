"""The child process that does the work: it is told what to do on its input, line by line, and reports on its output."""

import os
import signal
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import IO, TYPE_CHECKING

from studio.desk.jobs import Job, WorkTold
from studio.errors import BonefolderError, FolioBusy, refused

if TYPE_CHECKING:
    from studio.pipeline import Request

Tell = Callable[[WorkTold], None]
_SILENT_S = 0.2


def main() -> None:
    """Do what each line of the input asks for, until it ends.

    A process that holds the speech model, or that is in an unknown state, does no more work and gives its memory back;
    it says so in its last report. It can be interrupted, also where what started the desk was deaf to that.
    """
    signal.signal(signal.SIGINT, signal.default_int_handler)
    tell = _teller()
    for line in sys.stdin:
        ended = _done(Job.of(line), tell)
        if "faster_whisper" in sys.modules:
            ended = replace(ended, last=True)
        tell(ended)
        if ended.last:
            return


def _done(job: Job, tell: Tell) -> WorkTold:
    """Do some work; return what ends it."""
    try:
        return _DO[job.do](job, tell)
    except BonefolderError as error:
        return _problem(error)
    except OSError as error:
        return replace(_problem(refused(error)), last=True)
    except Exception as error:
        problem = f"Something went wrong: {type(error).__name__}: {error}."
        return WorkTold("problem", problem=problem, remedy="Try it again.", last=True)


def _problem(error: BonefolderError) -> WorkTold:
    busy = isinstance(error, FolioBusy)
    return WorkTold("problem", problem=error.problem, remedy=error.remedy, busy=busy)


def _teller() -> Tell:
    """Return what writes a line; whatever a library prints goes where errors go."""
    out: IO[str] = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)

    def tell(told: WorkTold) -> None:
        out.write(told.line())
        out.flush()

    return tell


def _progress(tell: Tell) -> Callable[[str, int, int], None]:
    last = ("", 0.0)

    def progress(what: str, done: int, total: int) -> None:
        nonlocal last
        now = time.monotonic()
        if what != last[0] or now - last[1] >= _SILENT_S or done >= total:
            last = (what, now)
            tell(WorkTold("progress", what=what, done=done, total=total))

    return progress


def _make(job: Job, tell: Tell) -> WorkTold:
    from studio import requests
    from studio.pipeline import Request

    made_on = date.fromisoformat(job.recorded_on) if job.recorded_on else None
    catalogue = Path(job.catalogue) if job.catalogue else None
    request = requests.request(Path(job.source), catalogue, made_on, Path(job.folder))(_progress(tell))
    names = {**job.names, **request.settings.names}
    settings = request.settings.model_copy(update={"names": names})
    return _made(Request(**{**vars(request), "settings": settings}))


def _sample(job: Job, tell: Tell) -> WorkTold:
    from studio import requests

    return _made(requests.sample(Path(job.folder))(_progress(tell)))


def _again(job: Job, tell: Tell) -> WorkTold:
    from studio import asked

    return _made(asked.again(Path(job.folder), _progress(tell)))


def _made(request: "Request") -> WorkTold:
    from studio import folio

    folio.make(request)
    return WorkTold("done")


def _proxy(job: Job, _: Tell) -> WorkTold:
    from studio import media

    source = Path(job.source)
    if media.browser_plays(source):
        return WorkTold("done", plays=True)
    media.proxy(source, Path(job.target))
    return WorkTold("done")


def _chapters(job: Job, _: Tell) -> WorkTold:
    from studio import folio, media, swap

    folder = Path(job.folder)
    target = swap.place(folder, Path(job.target).name)
    media.with_chapters(Path(job.source), target, folio.read(folder).chapters)
    swap.note(folder, target)
    return WorkTold("done")


_DO: dict[str, Callable[[Job, Tell], WorkTold]] = {
    "make": _make, "sample": _sample, "again": _again, "proxy": _proxy, "chapters": _chapters,
}  # fmt: skip

if __name__ == "__main__":
    main()
