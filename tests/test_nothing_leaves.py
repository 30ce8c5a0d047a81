"""Nothing leaves the machine, native code included: commands are run under a tracer, in a network without a way out."""

import ipaddress
import os
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
CLIPS = ROOT / "tests" / "fixtures" / "librivox"
ALONE = ["unshare", "--net", "--map-root-user"]
TRACE = ["strace", "-f", "-qq", "--seccomp-bpf", "-e", "trace=network", "-e", "signal=none"]
QUIET = re.compile("ORT_|HF_|DO_NOT_TRACK|XDG_|PYTHONPATH")
"""What the program has to set by itself, and where a library would keep what it knows about this machine."""
_AIMED = re.compile(r"\b(?:connect|sendto|sendmsg|sendmmsg)\(.*?sa_family=AF_INET")
_TO = re.compile(r'htons\((\d+)\).*?(?:inet_addr\("|inet_pton\(AF_INET6, ")([^"]+)"')


def aimed_outside(trace: str) -> list[str]:
    """Return the calls that are aimed at another machine, or that ask for a name: port 53, wherever it is."""
    found = []
    for line in filter(_AIMED.search, trace.splitlines()):
        aim = _TO.search(line)
        if not aim or aim[1] == "53" or not ipaddress.ip_address(aim[2]).is_loopback:
            found.append(line)
    return found


def test_a_call_to_another_machine_is_seen_in_a_trace() -> None:
    """A look-up of a name and a connection outside are told; this machine's own addresses and sockets are not."""
    outside = [
        '7 connect(8, {sa_family=AF_INET, sin_port=htons(53), sin_addr=inet_addr("127.0.0.53")}, 16) = 0',
        '7 connect(8, {sa_family=AF_INET, sin_port=htons(443), sin_addr=inet_addr("192.0.2.1")}, 16) = -1 ENETUNREACH',
        '7 sendto(3, "x", 1, 0, {sa_family=AF_INET6, sin6_port=htons(443), inet_pton(AF_INET6, "2001:db8::1", &a)}, 28',
    ]
    inside = [
        '7 connect(8, {sa_family=AF_INET, sin_port=htons(8123), sin_addr=inet_addr("127.0.0.1")}, 16) = 0',
        '7 connect(8, {sa_family=AF_UNIX, sun_path="/var/run/nscd/socket"}, 110) = -1 ENOENT',
        '7 bind(8, {sa_family=AF_INET, sin_port=htons(0), sin_addr=inet_addr("127.0.0.1")}, 16) = 0',
        '7 recvfrom(8, "x", 1, 0, {sa_family=AF_INET, sin_port=htons(8123), sin_addr=inet_addr("127.0.0.1")}) = 1',
    ]
    assert aimed_outside("\n".join([*inside, *outside])) == outside


@pytest.fixture(scope="session")
def traced(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., str]:
    """Return a function that runs a command of the program and returns what it asked of the network.

    It has a home of its own, and nothing in its environment that quietens a library.
    """
    home = tmp_path_factory.mktemp("home")
    if shutil.which("strace") is None:
        pytest.skip("there is no strace here (Debian: apt-get install strace)")
    if subprocess.run([*TRACE, "true"], capture_output=True, check=False).returncode:
        pytest.skip("strace may not look at other programs here")
    alone = ALONE if subprocess.run([*ALONE, "true"], capture_output=True, check=False).returncode == 0 else []
    kept = {name: value for name, value in os.environ.items() if not QUIET.match(name)}

    def run(*command: object) -> str:
        log = home.parent / "trace.txt"
        words = [*alone, *TRACE, "-o", log, sys.executable, ROOT / "tests" / "alone.py", *command]
        environment = {**kept, "HOME": str(home), "PYTHONPATH": str(ROOT)}
        done = subprocess.run(words, env=environment, capture_output=True, text=True, check=False, timeout=540)
        assert done.returncode == 0, done.stderr
        assert {path.name for path in (home / ".cache").iterdir()} == {"bonefolder"}
        assert {path.name for path in home.iterdir()} <= {".cache", ".config"}
        assert {path.name for path in home.glob(".config/*")} <= {"bonefolder"}
        return log.read_text(encoding="utf-8", errors="replace")

    return run


@pytest.fixture
def recording(ffmpeg: Callable[..., None], tmp_path: Path) -> Path:
    """Return a short recording with speech, alone in its folder."""
    made = tmp_path / "table" / "reading.wav"
    made.parent.mkdir()
    ffmpeg("-i", CLIPS / "0870.flac", "-ar", 16_000, "-ac", 1, made)
    return made


@pytest.mark.traced
@pytest.mark.hearing
def test_make_asks_nobody(traced: Callable[..., str], recording: Path, tmp_path: Path) -> None:
    """A recording is heard and a folio made without a connection or a look-up, and no library keeps an id at home."""
    assert aimed_outside(traced("make", recording, tmp_path / "folio")) == []
    assert "captions.vtt" in {path.name for path in (tmp_path / "folio").iterdir()}


@pytest.mark.traced
@pytest.mark.hearing
def test_the_desk_asks_nobody(traced: Callable[..., str], recording: Path) -> None:
    """The page is served and a recording heard from it, and only this machine's own address is spoken to."""
    trace = traced("desk", recording.parent)
    assert "htons" in trace
    assert aimed_outside(trace) == []


def test_libraries_are_quietened_before_any_is_loaded() -> None:
    """Whatever part of the program is imported first, reports are off, and no native library is loaded by then."""
    code = "import os, sys, studio; print(os.environ['ORT_DISABLE_TELEMETRY'], os.environ['HF_HUB_DISABLE_TELEMETRY'],"
    code += " *(name for name in ('onnxruntime', 'ctranslate2', 'av', 'numpy', 'spacy') if name in sys.modules))"
    environment = {**os.environ, "ORT_DISABLE_TELEMETRY": "0", "HF_HUB_DISABLE_TELEMETRY": "0"}
    done = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["1", "1"]


def test_the_library_that_reports_is_of_a_version_that_was_traced() -> None:
    """A later onnxruntime is not installed before these tests have looked at it."""
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    (bound,) = [one for one in told if one.startswith("onnxruntime")]
    below = re.search(r"<(\d+)\.(\d+)", bound)
    assert below
    assert tuple(map(int, version("onnxruntime").split(".")[:2])) < (int(below[1]), int(below[2]))
