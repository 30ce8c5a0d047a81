"""The desk: one local page where the maker settles what is unsure and takes the result away; no logic of its own.

guard      who may speak to it
shelf      recordings, catalogues and folios in the folder, by id
uploads    a dropped file written to disk
jobs       what is told to the child processes that do the work, and what they tell
runs       those processes; worker is what runs in them
held       a folio in memory, with decisions laid over at once
state      what is known between two requests
views      a folio as JSON
answers    the addresses under /api/; takeaway: files, pictures, recordings, the page
app        the application
"""

import secrets
import socket
import threading
import webbrowser
from pathlib import Path

from studio.errors import BonefolderError

ADDRESS = "127.0.0.1"


def serve(folder: Path, port: int = 0, browser: bool = True) -> None:
    """Serve the desk for a folder on this machine only, until it is stopped.

    Args:
        folder: where the folios are, or one folio.
        port: the port; 0 takes a free one.
        browser: whether to open the page.

    Raises:
        BonefolderError: there is no such folder, or the port is taken.
    """
    import uvicorn

    from studio.desk.app import application

    if not folder.is_dir():
        raise BonefolderError(f"There is no folder {folder}.", "Make it first, or check its name.")
    listener = _listener(port)
    address = f"http://{ADDRESS}:{listener.getsockname()[1]}/"
    print(f"The desk is open at {address}\nLeave this window open; Ctrl+C closes the desk.", flush=True)
    if browser:
        threading.Timer(0.5, webbrowser.open, (address,)).start()
    config = uvicorn.Config(
        application(folder, secrets.token_urlsafe(32)), log_level="warning", timeout_graceful_shutdown=2,
        server_header=False, access_log=False,
    )  # fmt: skip
    uvicorn.Server(config).run(sockets=[listener])


def _listener(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((ADDRESS, port))
        listener.listen()
    except OSError as error:
        listener.close()
        raise BonefolderError(f"Port {port} is taken.", "Choose another with --port, or leave it out.") from error
    return listener
