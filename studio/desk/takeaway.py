"""The page itself, and what it shows and gives away: recordings, pictures, finished files, one zip of everything."""

import html
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, JSONResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from studio import captions, swap, timecode
from studio.desk import views
from studio.desk.held import Held
from studio.desk.jobs import Job
from studio.desk.shelf import NotHere
from studio.desk.state import Desk, desk_of
from studio.text import slug

PAGE = Path(__file__).parent / "page"
_SANDBOX = (
    "sandbox allow-same-origin; default-src 'none'; img-src 'self'; style-src 'unsafe-inline'; "
    "frame-ancestors 'self'; base-uri 'none'"
)
_GONE = ("There is no such file here any more.", "Load the page again.")


async def page(request: Request) -> Response:
    """Give the page, with the token of this start in it."""
    text = (PAGE / "index.html").read_text(encoding="utf-8")
    return HTMLResponse(text.replace("{{token}}", html.escape(desk_of(request).token)))


async def files(request: Request) -> Response:
    """Tell which files can be taken away."""
    held = await run_in_threadpool(desk_of(request).held, request)
    return JSONResponse(views.files_told(held))


async def out(request: Request) -> Response:
    """Give one finished file; only names that the folio itself lists are known, so no path can be asked for."""
    held = await run_in_threadpool(desk_of(request).held, request)
    name = request.path_params["name"]
    path = held.folder / name
    if name not in swap.digests(held.folder) or not _inside(path, held.folder):
        raise NotHere(*_GONE)
    kinds = {".md": "text/plain", ".txt": "text/plain", ".srt": "text/plain", ".jsonld": "application/json"}
    kind = kinds.get(path.suffix)
    return FileResponse(
        path, media_type=f"{kind}; charset=utf-8" if kind else None, headers={"content-security-policy": _SANDBOX}
    )


async def picture(request: Request) -> Response:
    """Give a picture by its id."""
    held = await run_in_threadpool(desk_of(request).held, request)
    name = views.picture_files(held.document).get(request.path_params["picture"])
    path = held.folder / (name or "")
    if name is None or not _inside(path, held.folder) or not path.is_file():
        raise NotHere(*_GONE)
    return FileResponse(path, headers={"cache-control": "private, max-age=60"})


async def playable(request: Request) -> Response:
    """Tell whether the recording can be played here; one that a browser cannot play gets a small copy, made once."""
    desk = desk_of(request)
    held = await run_in_threadpool(desk.held, request)
    state = _playable(desk, held)
    return JSONResponse({"state": state})


def _playable(desk: Desk, held: Held) -> str:
    """Return `plays`, `copy` (there is a small copy), `making`, `none` (nothing to play) or `failed`."""
    if held.source is None or not held.source.is_file() or not held.document.recording.has_sound:
        return "none"
    if (held.folder / ".work" / "proxy.mp4").is_file():
        return "copy"
    about = f"play {desk.shelf.id_of(held.folder)}"
    run = desk.short.latest(about)
    if run is None:
        target = str(held.folder / ".work" / "proxy.mp4")
        desk.short.add(about, Job("proxy", source=str(held.source), target=target))
        return "making"
    if run.state == "done":
        return "plays" if run.ended and run.ended.plays else "copy"
    return "failed" if run.state in {"failed", "stopped"} else "making"


async def recording(request: Request) -> Response:
    """Give the recording, or its small copy; parts of it on demand (RFC 9110, section 14)."""
    desk = desk_of(request)
    held = await run_in_threadpool(desk.held, request)
    copy = held.folder / ".work" / "proxy.mp4"
    path = copy if copy.is_file() else held.source
    if path is None or not path.is_file():
        raise NotHere("The recording is no longer where it was.", "Put it back, or make the folio again.")
    return FileResponse(path)


async def packed(request: Request) -> Response:
    """Give everything as one zip."""
    held = await run_in_threadpool(desk_of(request).held, request)
    path = await run_in_threadpool(_pack, held.folder)
    name = f"{slug(held.folder.name)}.zip"
    return FileResponse(path, filename=name, media_type="application/zip", background=BackgroundTask(path.unlink))


def _pack(folder: Path) -> Path:
    with tempfile.NamedTemporaryFile(suffix=".zip", delete=False) as stream:
        with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as pack:
            for name in (*sorted(swap.digests(folder)), "edits.jsonl"):
                if (folder / name).is_file() and _inside(folder / name, folder):
                    pack.write(folder / name, f"{folder.name}/{name}")
        return Path(stream.name)


async def copy_with_chapters(request: Request) -> Response:
    """Begin to make a copy of the recording with the chapters in it, or tell how far that is."""
    desk = desk_of(request)
    held = await run_in_threadpool(desk.held, request)
    about = f"chapters {desk.shelf.id_of(held.folder)}"
    run = desk.short.latest(about)
    if request.method == "POST":
        if held.source is None or not held.document.recording.has_sound:
            raise NotHere("There is no recording to copy.", "Make the folio from the recording itself.")
        target = held.folder / f"with-chapters{held.source.suffix}"
        told = Job("chapters", folder=str(held.folder), source=str(held.source), target=str(target))
        run = desk.short.add(about, told)
    return JSONResponse({"state": run.state if run else "none", "problem": run.problem if run else ""})


async def captions_checked(request: Request) -> Response:
    """Tell each breach of the caption rules in the captions as they were written."""
    held = await run_in_threadpool(desk_of(request).held, request)
    found = await run_in_threadpool(captions.check_file, held.folder / "captions.vtt")
    return JSONResponse(
        [{"at": timecode.clock(one.start_ms), "message": one.message, "rule": one.rule} for one in found]
    )


async def opened(request: Request) -> Response:
    """Open the folder of a folio in the file manager of this machine."""
    held = await run_in_threadpool(desk_of(request).held, request)
    program = {"darwin": "open", "win32": "explorer"}.get(sys.platform, "xdg-open")
    found = shutil.which(program)
    if found is None or (
        sys.platform == "linux" and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
    ):
        return JSONResponse({"folder": str(held.folder), "opened": False})
    subprocess.Popen([found, str(held.folder)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # noqa: S603
    return JSONResponse({"folder": str(held.folder), "opened": True})


def _inside(path: Path, folder: Path) -> bool:
    return path.resolve().is_relative_to(folder.resolve())


ROUTES = [
    Route("/", page),
    Route("/api/folio/{id}/files", files),
    Route("/api/folio/{id}/playable", playable),
    Route("/api/folio/{id}/open", opened, methods=["POST"]),
    Route("/api/folio/{id}/with-chapters", copy_with_chapters, methods=["GET", "POST"]),
    Route("/api/folio/{id}/captions", captions_checked),
    Route("/folio/{id}/out/{name:path}", out),
    Route("/folio/{id}/picture/{picture}", picture),
    Route("/folio/{id}/recording", recording),
    Route("/folio/{id}/zip", packed),
    Mount("/page", StaticFiles(directory=PAGE)),
]
