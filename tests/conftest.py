"""What all tests share: no network, a quiet environment, and recordings made for the purpose."""

import importlib.util
import os
import socket
import subprocess
from collections.abc import Callable, Generator, Iterator
from pathlib import Path

import pytest

_BLOCK = Path(__file__).parent / "no_network"
_BLOCK_FILE = _BLOCK / "sitecustomize.py"


def _load_block() -> object:
    """Block the network in this process, and in every Python that a test starts."""
    os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, [str(_BLOCK), os.environ.get("PYTHONPATH", "")]))
    spec = importlib.util.spec_from_file_location("no_network", _BLOCK_FILE)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


NO_NETWORK = _load_block()


@pytest.fixture(autouse=True)
def no_network() -> Iterator[None]:
    """Fail a test that leaves the block on the network switched off."""
    yield
    assert socket.getaddrinfo is NO_NETWORK.local_getaddrinfo  # type: ignore[attr-defined]
    assert socket.socket is NO_NETWORK.LocalSocket  # type: ignore[attr-defined]


@pytest.fixture(scope="session")
def ffmpeg() -> Callable[..., None]:
    """Return a function that runs ffmpeg with the arguments given, to make test recordings."""
    from studio.media.decoder import program

    def run(*arguments: object) -> None:
        command = [program(), "-y", "-nostdin", "-v", "error", *map(str, arguments)]
        subprocess.run(command, check=True, timeout=120, stdout=subprocess.DEVNULL)

    return run


@pytest.fixture(scope="session")
def clips(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of recordings that were made for this run of the tests."""
    return tmp_path_factory.mktemp("clips")


@pytest.fixture(scope="session")
def clip(ffmpeg: Callable[..., None], clips: Path) -> Path:
    """Return a recording of 20 s: a moving test picture 320 pixels wide, 25 a second, and a tone. Do not change it."""
    made = clips / "clip.mp4"
    picture, tone = "testsrc2=d=20:s=320x180:r=25", "sine=f=440:d=20"
    ffmpeg("-f", "lavfi", "-i", picture, "-f", "lavfi", "-i", tone, "-c:v", "libx264", "-preset", "ultrafast",
           "-pix_fmt", "yuv420p", "-g", "50", "-c:a", "aac", made)  # fmt: skip
    return made


@pytest.fixture(scope="session")
def silence(ffmpeg: Callable[..., None], clips: Path) -> Path:
    """Return a recording of 10 s of silence, without a picture."""
    made = clips / "silence.wav"
    ffmpeg("-f", "lavfi", "-i", "anullsrc=r=16000:cl=mono:d=10", made)
    return made


@pytest.fixture(scope="session")
def heard_sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folio of the sample recording, heard once by the real recogniser. Do not change it."""
    from studio import folio, requests
    from studio.pipeline import silent

    folder = tmp_path_factory.mktemp("heard") / "sample-folio"
    return folio.make(requests.sample(folder)(silent)).folder


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Where everything is set up for them (`CI` is set), a test of one of these kinds that is skipped has failed."""
    report = yield
    needed = any(item.get_closest_marker(name) for name in ("browser", "node", "hearing", "traced"))
    if report.skipped and needed and os.environ.get("CI"):
        report.outcome = "failed"
        report.longrepr = f"skipped where it must run: {report.longrepr}"
    return report
