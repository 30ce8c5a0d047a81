"""The one place that starts ffmpeg: the arguments that every input gets, the limits of the child, and its verdict."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import IO, Any

from studio.errors import DecoderCrashed, RecordingError, StorageError

CONTAINERS = "mov,matroska,avi,mpegts,wav,mp3,flac,ogg,aac,asf"
"""Containers that hold one recording in one file; playlists and manifests, which point at other files, are left out."""
MEMORY_LIMIT = 4 << 30
_LAUNCHER = """\
import os, sys, resource
memory, parent, command = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3:]
resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
if sys.platform == "linux":
    import ctypes
    ctypes.CDLL(None).prctl(1, 9)
    if os.getppid() != parent:
        sys.exit(1)
os.execv(command[0], command)
"""
"""Runs between this process and ffmpeg: caps the memory, and has the system kill the child when its parent dies."""


@dataclass(frozen=True)
class Outcome:
    """What a child left behind."""

    output: bytes
    messages: str
    """What ffmpeg wrote to its error stream."""


@cache
def program() -> str:
    """Return the path of ffmpeg: the one on PATH, else the one that comes with imageio-ffmpeg."""
    found = shutil.which("ffmpeg")
    if found:
        return found
    import imageio_ffmpeg

    return str(imageio_ffmpeg.get_ffmpeg_exe())


def literal(path: Path) -> str:
    """Return a name that ffmpeg can only take for one local file, whatever characters are in it."""
    return f"file:{path.absolute()}"


def safe_options() -> dict[str, str]:
    """Return the two options that keep ffmpeg and PyAV inside the one file they are given."""
    return {"protocol_whitelist": "file", "format_whitelist": CONTAINERS}


def media_args(path: Path) -> dict[str, str]:
    """Return the keyword arguments of `ffmpeg.input` for a file from outside; every call uses them."""
    return {"filename": literal(path), **safe_options()}


def run_ffmpeg(stream: Any, source: Path, *, seconds: float, output: IO[bytes] | None = None) -> Outcome:  # noqa: ANN401
    """Run an ffmpeg-python stream in a child process, and wait for it.

    Args:
        stream: what to do, as ffmpeg-python builds it.
        source: the file from outside, for the messages.
        seconds: time limit.
        output: where to put what ffmpeg writes to its standard output, instead of holding it.

    Raises:
        DecoderCrashed: the child was killed by a signal.
        RecordingError: ffmpeg refused the file, or took longer than the limit.
        StorageError: the disk is full.
    """
    import ffmpeg

    command = ffmpeg.compile(stream.global_args("-nostdin", "-hide_banner"), cmd=program(), overwrite_output=True)
    with tempfile.TemporaryFile() as messages:
        child = _start(command, output if output is not None else subprocess.PIPE, messages)
        try:
            data, _ = child.communicate(timeout=seconds)
        except subprocess.TimeoutExpired:
            raise RecordingError(
                f"{source.name} took longer than {seconds:.0f} s to decode.", "Convert it to MP4 and try again."
            ) from None
        finally:
            _kill(child)
        messages.seek(0)
        told = messages.read(1 << 20).decode("utf-8", "replace")
    _judge(child.returncode, source, told)
    return Outcome(data or b"", told)


def _start(command: list[str], output: int | IO[bytes], messages: IO[bytes]) -> subprocess.Popen[bytes]:
    if os.name == "posix":
        launcher = [sys.executable, "-I", "-S", "-c", _LAUNCHER, str(MEMORY_LIMIT), str(os.getpid())]
        command = [*launcher, *command]
    return subprocess.Popen(  # noqa: S603  (a list of arguments, no shell; names carry the file: prefix)
        command, stdin=subprocess.DEVNULL, stdout=output, stderr=messages, start_new_session=os.name == "posix"
    )


def _kill(child: subprocess.Popen[bytes]) -> None:
    if child.poll() is None:
        if os.name == "posix":
            os.killpg(child.pid, signal.SIGKILL)
        else:
            child.kill()
        child.communicate()


def _judge(code: int, source: Path, told: str) -> None:
    if code < 0:
        raise DecoderCrashed(
            f"The decoder crashed on {source.name}.", "The file is damaged; export it again or convert it to MP4."
        )
    if code > 0 and any(sign in told for sign in ("No space left on device", "File too large")):
        raise StorageError(
            f"The disk is too full for what is decoded from {source.name}.",
            "Free some space, then run the same command again.",
        )
    if code > 0:
        raise RecordingError(f"{source.name} cannot be decoded{_reason(told)}.", unreadable_remedy())


def unreadable_remedy() -> str:
    """Return what a person can do about a file that cannot be read."""
    return "Check that it plays elsewhere, copy it again from the camera, or convert it to MP4."


def _reason(told: str) -> str:
    known = {
        "moov atom not found": ": its end is missing, so it was not copied whole",
        "matches no streams": ": it holds no stream of that kind",
        "Cannot allocate memory": ": it asks for too much memory",
    }
    return next((reason for sign, reason in known.items() if sign in told), "")
