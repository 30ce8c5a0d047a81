"""Run by the tests of what leaves the machine: one command of the program in a network that holds nothing but itself.

    python tests/alone.py make RECORDING FOLDER
    python tests/alone.py desk FOLDER

`desk` starts the desk, has the first recording in the folder heard from its page, and stops it.
"""

import contextlib
import fcntl
import json
import re
import socket
import struct
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from typing import Any

PROGRAM = [sys.executable, "-c", "from studio.cli import main; main()"]
LINGERING = [sys.executable, "-c", "import atexit, time; atexit.register(time.sleep, 15)\n" + PROGRAM[-1]]
"""The program, but its process stays for a while: a library may wait before it reports (onnxruntime: 9 s)."""
_GET_FLAGS, _SET_FLAGS, _UP = 0x8913, 0x8914, 1
"""SIOCGIFFLAGS, SIOCSIFFLAGS, IFF_UP: netdevice(7)."""


def raise_loopback() -> None:
    """Switch on the loopback address, which a new network has switched off; where it is on, nothing changes."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking, contextlib.suppress(OSError):
        told = fcntl.ioctl(asking, _GET_FLAGS, struct.pack("16sH14x", b"lo", 0))
        flags = struct.unpack("16sH14x", told)[1]
        fcntl.ioctl(asking, _SET_FLAGS, struct.pack("16sH14x", b"lo", flags | _UP))


def make(recording: str, folder: str) -> None:
    """Make a folio from a recording; something to look at (1) is no failure."""
    done = subprocess.run([*LINGERING, "make", recording, "--out", folder], check=False, timeout=500)
    assert done.returncode in {0, 1}


def desk(folder: str) -> None:
    """Have a recording heard at the desk."""
    serving = subprocess.Popen([*PROGRAM, "desk", folder, "--no-browser"], stdout=subprocess.PIPE, text=True)
    try:
        assert serving.stdout is not None
        address = serving.stdout.readline().split()[-1]
        page = urllib.request.urlopen(address).read().decode()
        token = re.search(r'token[^>]*?content="([^"]+)"', page)
        assert token, "the page holds no token"
        _heard(address, token[1])
    finally:
        serving.terminate()
        serving.wait(timeout=30)


def _heard(address: str, token: str) -> None:
    recording = _asked(address + "api/shelf", token)["recording"][0]["id"]
    run = _asked(address + "api/make", token, {"recording": recording})
    while run["state"] in {"running", "waiting"}:
        time.sleep(0.5)
        run = _asked(address + "api/run/" + run["folio"], token)
    assert run["state"] == "done", run
    assert _asked(address + "api/folio/" + run["folio"], token)


def _asked(url: str, token: str, body: dict[str, Any] | None = None) -> Any:
    headers = {"x-desk-token": token, "content-type": "application/json"}
    asking = urllib.request.Request(url, json.dumps(body).encode() if body else None, headers)
    return json.load(urllib.request.urlopen(asking, timeout=60))


if __name__ == "__main__":
    raise_loopback()
    {"make": make, "desk": desk}[sys.argv[1]](*sys.argv[2:])
    print("done", Path(sys.argv[-1]).name)
