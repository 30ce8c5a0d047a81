"""The desk as a web application: its addresses, who is let in, and how what goes wrong is told."""

import contextlib
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from studio.desk import answers, takeaway
from studio.desk.guard import HOSTS, Guard, Refused
from studio.desk.shelf import NotHere, Shelf
from studio.desk.state import Desk
from studio.errors import BonefolderError


def application(root: Path, token: str) -> Starlette:
    """Return the application for the folios in a folder.

    Args:
        root: the folder; nothing outside it is served, and dropped files are put into it.
        token: what the page must send along with every request.
    """
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
