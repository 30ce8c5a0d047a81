"""What the page asks and tells: each address under `/api/` with its answer in JSON."""

import json
import time
from collections.abc import AsyncIterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from studio import archive, catalogue, edits, lookup, quantity, timecode
from studio import settings as choices
from studio.desk import uploads, views
from studio.desk.guard import Refused
from studio.desk.held import Held
from studio.desk.jobs import Job
from studio.desk.runs import Run
from studio.desk.shelf import Shelved
from studio.desk.state import Desk, desk_of
from studio.edits import EDIT
from studio.text import slug


async def _body(request: Request) -> dict[str, Any]:
    try:
        told = json.loads(await request.body())
    except (ValueError, RecursionError) as error:
        raise Refused(400, "That is no JSON.") from error
    if not isinstance(told, dict):
        raise Refused(400, "That is not what was asked for.")
    return told


# --- start -----------------------------------------------------------------------------------------------------------


async def shelf(request: Request) -> Response:
    """Tell what lies in the folder, what is remembered, and what is at work."""
    desk = desk_of(request)
    things = await run_in_threadpool(desk.shelf.things)
    kept = asdict(desk.shelf.remembered())
    told: dict[str, Any] = {"recording": [], "catalogue": [], "folio": []}
    for thing in things:
        told[thing.kind].append({"id": thing.id, "name": thing.name, **_facts(thing)})
    return JSONResponse({**told, "kept": kept, "folder": desk.shelf.root.name, "run": _run(desk, desk.long.current)})


def _facts(thing: Shelved) -> dict[str, Any]:
    facts = (thing.path / "folio.json" if thing.kind == "folio" else thing.path).stat()
    return {"size": facts.st_size, "changed": int(facts.st_mtime)}


def _run(desk: Desk, run: Run | None) -> dict[str, Any] | None:
    if run is None:
        return None
    return {
        "folio": run.about, "name": Path(run.told.source or "The sample").name, "state": run.state,
        "words": run.words(), "done": run.done, "total": run.total, "problem": run.problem, "remedy": run.remedy,
    }  # fmt: skip


async def upload(request: Request) -> Response:
    """Take a dropped file."""
    desk, given = desk_of(request), request.query_params
    told = request.headers.get("content-length", "")
    length = int(told) if told.isdigit() else None
    path = await uploads.take(desk.shelf.root, given.get("kind", ""), given.get("name", ""), length, _blocks(request))
    return JSONResponse({"id": desk.shelf.id_of(path), "name": path.name})


async def _blocks(request: Request) -> AsyncIterator[bytes]:
    async for block in request.stream():
        yield block


async def check(request: Request) -> Response:
    """Say what is wrong in a catalogue, row by row, and remember that it was chosen."""
    desk, told = desk_of(request), await _body(request)
    path = desk.shelf.path("catalogue", str(told.get("catalogue")))
    found = await run_in_threadpool(catalogue.load, path, choices.CatalogueChoices())
    desk.shelf.remember(catalogue=desk.shelf.id_of(path))
    complaints = [one.model_dump() for one in found.complaints[:200]]
    return JSONResponse({"products": len(found.products), "count": len(found.complaints), "complaints": complaints})


async def make(request: Request) -> Response:
    """Begin to make a folio, or go on with one that was stopped."""
    desk, told = desk_of(request), await _body(request)
    source = desk.shelf.path("recording", str(told.get("recording")))
    listed = desk.shelf.path("catalogue", told["catalogue"]) if told.get("catalogue") else None
    folder = source.parent / f"{slug(source.stem) or 'recording'}-folio"
    job = Job(
        "make", str(folder), str(source), catalogue=str(listed) if listed else None,
        recorded_on=_day(told.get("recorded_on")), names=desk.shelf.remembered().names,
    )  # fmt: skip
    if listed:
        desk.shelf.remember(catalogue=desk.shelf.id_of(listed))
    return JSONResponse(_run(desk, desk.long.add(desk.shelf.id_of(folder), job)))


def _day(told: Any) -> str | None:  # noqa: ANN401  (any JSON)
    from datetime import date

    try:
        return date.fromisoformat(told).isoformat() if told else None
    except (TypeError, ValueError) as error:
        raise Refused(400, "The day is written as 2026-04-14.") from error


async def sample(request: Request) -> Response:
    """Begin to make the folio of the sample recording."""
    desk = desk_of(request)
    folder = desk.shelf.root / "sample-folio"
    return JSONResponse(_run(desk, desk.long.add(desk.shelf.id_of(folder), Job("sample", str(folder)))))


async def progress(request: Request) -> Response:
    """Tell how far a run is."""
    desk = desk_of(request)
    return JSONResponse(_run(desk, desk.long.latest(request.path_params["id"])))


async def stop(request: Request) -> Response:
    """Stop a run; what was heard stays."""
    desk = desk_of(request)
    run = desk.long.latest(request.path_params["id"])
    if run is not None and run.state in {"running", "waiting"}:
        await desk.long.stop(run)
    return JSONResponse(_run(desk, run))


# --- one folio -------------------------------------------------------------------------------------------------------


async def folio(request: Request) -> Response:
    """Tell everything about a folio but its talk."""
    desk = desk_of(request)
    held = await run_in_threadpool(desk.held, request)
    return _whole(desk, held)


def _whole(desk: Desk, held: Held, status: int = 200, **more: Any) -> Response:  # noqa: ANN401
    trouble = desk.look(held)
    about = desk.shelf.id_of(held.folder)
    told = {"id": about, "name": held.folder.name, "trouble": trouble, **views.whole(held), **more}
    ready = BackgroundTask(desk.holder.warm, held)
    return JSONResponse(told, status, headers={"etag": f'"{held.decided.version}"'}, background=ready)


async def state(request: Request) -> Response:
    """Tell whether the files of a folio hold everything that was decided; where they do not, they soon will."""
    desk = desk_of(request)
    held = await run_in_threadpool(desk.held, request)
    trouble = desk.look(held)
    return JSONResponse({"version": held.decided.version, "fresh": held.fresh, "trouble": trouble})


async def talk(request: Request) -> Response:
    """Tell the sentences of a folio."""
    held = await run_in_threadpool(desk_of(request).held, request)
    return JSONResponse(views.sentences_told(held.document))


async def decide(request: Request) -> Response:
    """Take a decision: 409 where the same thing was decided since the page was read, and both are kept."""
    desk = desk_of(request)
    held = await run_in_threadpool(desk.held, request)
    seen = request.headers.get("if-match", "").strip('"')
    if not seen:
        raise Refused(428, "It was not told which state of the decisions the page has seen.")
    try:
        edit = EDIT.validate_json(await request.body())
    except ValidationError as error:
        raise Refused(422, f"That is no decision: {error.errors()[0]['msg']}.") from error
    began = time.perf_counter()
    written, stands = desk.holder.decide(held, edit, seen)
    names = edits.names_kept(held.decided)
    if stands and names:
        desk.shelf.remember(names=names)
    desk.again(held.folder)
    took = round((time.perf_counter() - began) * 1000)
    return _whole(desk, held, 200 if stands else 409, written=written.id, took_ms=took)


async def history(request: Request) -> Response:
    """Tell every decision, the latest first."""
    held = await run_in_threadpool(desk_of(request).held, request)
    return JSONResponse(views.decisions_told(held))


async def left_out(request: Request) -> Response:
    """Tell what was said and is not in the post, and why."""
    held = await run_in_threadpool(desk_of(request).held, request)
    return JSONResponse(await run_in_threadpool(views.left_out_told, held))


async def products(request: Request) -> Response:
    """Tell the rows of the catalogue that hold some words."""
    held = await run_in_threadpool(desk_of(request).held, request)
    found = lookup.products(held.products, request.query_params.get("words", ""))
    return JSONResponse([views.product(row, held.document) for row in found])


async def ask(request: Request) -> Response:
    """Answer what was on the table at a time, or when something was."""
    held = await run_in_threadpool(desk_of(request).held, request)
    found = await run_in_threadpool(lookup.ask, held.document, request.query_params.get("words", "")[:500])
    return JSONResponse([views.moment(one, held.document) for one in found])


# --- all folios ------------------------------------------------------------------------------------------------------


async def find(request: Request) -> Response:
    """Search everything that was said and shown in all folios."""
    desk = desk_of(request)
    hits = await run_in_threadpool(archive.find, desk.shelf.root, request.query_params.get("words", "")[:500])
    rows = [
        {"folio": desk.shelf.id_of(hit.folder), "source": hit.source, "at": timecode.clock(hit.at_ms), "text": hit.text}
        for hit in hits
    ]  # fmt: skip
    return JSONResponse(rows)


async def retired(request: Request) -> Response:
    """List what older folios show that a catalogue no longer sells."""
    desk = desk_of(request)
    path = desk.shelf.path("catalogue", request.query_params.get("catalogue", ""))
    rows = await run_in_threadpool(catalogue.load, path, choices.CatalogueChoices())
    day = choices.PublishingChoices().today()
    stale = await run_in_threadpool(archive.retired, desk.shelf.root, rows, day)
    told = [
        {"folio": desk.shelf.id_of(one.folder), "source": one.source, "at": timecode.clock(one.at_ms), "code": one.code,
         "name": one.name, "why": one.why, "substitute": one.substitute}
        for one in stale
    ]  # fmt: skip
    return JSONResponse(told)


async def read(request: Request) -> Response:
    """Show how a spoken size, weight or price is understood."""
    rows = quantity.explain(request.query_params.get("words", "")[:500])
    return JSONResponse([{key: str(value) for key, value in row.items()} for row in rows])


ROUTES = [
    Route("/api/shelf", shelf),
    Route("/api/upload", upload, methods=["POST"]),
    Route("/api/check", check, methods=["POST"]),
    Route("/api/make", make, methods=["POST"]),
    Route("/api/sample", sample, methods=["POST"]),
    Route("/api/run/{id}", progress),
    Route("/api/run/{id}/stop", stop, methods=["POST"]),
    Route("/api/find", find),
    Route("/api/retired", retired),
    Route("/api/read", read),
    Route("/api/folio/{id}", folio),
    Route("/api/folio/{id}/state", state),
    Route("/api/folio/{id}/talk", talk),
    Route("/api/folio/{id}/edits", decide, methods=["POST"]),
    Route("/api/folio/{id}/history", history),
    Route("/api/folio/{id}/left-out", left_out),
    Route("/api/folio/{id}/products", products),
    Route("/api/folio/{id}/ask", ask),
]
