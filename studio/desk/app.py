"""The desk as a web application: what it knows between two requests, and its addresses."""

import contextlib
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from studio import edits, swap
from studio.desk.guard import HOSTS, Guard, Refused
from studio.desk.held import Held, Holder
from studio.desk.runs import Bench, Run
from studio.desk.shelf import NotHere, Shelf
from studio.errors import BonefolderError

_MAKING = frozenset({"make", "sample", "again"})


@dataclass
class Desk:
    """Everything that the desk knows between two requests."""

    shelf: Shelf
    token: str
    holder: Holder = field(default_factory=Holder)
    long: Bench = field(init=False)
    """Listens to recordings."""
    short: Bench = field(init=False)
    """Makes folios again after a decision, and copies that a browser plays."""

    def __post_init__(self) -> None:
        self.long = Bench(self._after)
        self.short = Bench(self._after)

    def held(self, request: Request) -> Held:
        """Return the folio that a request is about."""
        return self.holder.get(self.shelf.path("folio", request.path_params["id"]))

    def again(self, folder: Path) -> None:
        """Have a folio made again with what was decided; one that is at work is looked at again when it is done."""
        about = self.shelf.id_of(folder)
        if not self.at_work(about):
            self.short.add(about, {"do": "again", "folder": str(folder)})

    def at_work(self, about: str) -> bool:
        """Return whether the recording of a folio is being listened to."""
        run = self.long.latest(about)
        return run is not None and run.state in {"running", "waiting"}

    def look(self, held: Held) -> str:
        """Bring the files of a folio up to what was decided; return why that cannot be done, if it was tried."""
        run = self.short.latest(self.shelf.id_of(held.folder))
        if held.fresh:
            return ""
        if run is not None and run.state == "failed" and not run.result.get("busy"):
            return run.problem
        if run is None or run.state not in {"running", "waiting"}:
            self.again(held.folder)
        return ""

    def _after(self, run: Run) -> None:
        if run.state != "done" or run.told["do"] not in _MAKING:
            return
        folder = Path(run.told["folder"])
        if edits.load(folder / "edits.jsonl").version != swap.reached(folder):
            self.again(folder)


def application(root: Path, token: str) -> Starlette:
    """Return the application for the folios in a folder.

    Args:
        root: the folder; nothing outside it is served, and dropped files are put into it.
        token: what the page must send along with every request.
    """
    from studio.desk import answers, takeaway

    desk = Desk(Shelf(root), token)

    @contextlib.asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        yield
        await desk.long.close()
        await desk.short.close()

    checks = [Middleware(Guard, token=token), Middleware(TrustedHostMiddleware, allowed_hosts=HOSTS)]
    handlers: Any = {BonefolderError: _told, Refused: _refused, OSError: _broken}
    routes = [*answers.ROUTES, *takeaway.ROUTES]
    app = Starlette(routes=routes, middleware=checks, lifespan=lifespan, exception_handlers=handlers)
    app.state.desk = desk
    return app


def _told(_: Request, error: Exception) -> Response:
    assert isinstance(error, BonefolderError)
    status = 404 if isinstance(error, NotHere) else 400
    return JSONResponse({"problem": error.problem, "remedy": error.remedy}, status)


def _refused(_: Request, error: Exception) -> Response:
    assert isinstance(error, Refused)
    return JSONResponse({"problem": error.reason, "remedy": ""}, error.status)


def _broken(_: Request, error: Exception) -> Response:
    problem = f"The disk refused: {getattr(error, 'strerror', None) or error}."
    return JSONResponse({"problem": problem, "remedy": "Free some space, then try again."}, 500)
