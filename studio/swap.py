"""The files of a folder replaced in one step: all are written aside, then a plan, then they are moved by the plan.

A run that dies before the plan has changed nothing; one that dies after it is finished by `finish`. A file that the
person has changed by hand since it was written is left as it is, and the new one is put beside it as `name.new.ext`.
"""

import json
from collections.abc import Mapping
from pathlib import Path, PurePosixPath
from typing import Any

from studio import cache
from studio.errors import FolioDamaged

_WORK = ".work"


def write(folder: Path, files: Mapping[str, bytes], made_from: str, decided: str = "0") -> tuple[str, ...]:
    """Replace the files of a folder.

    Args:
        folder: the folder; its `.work` holds what is in between.
        files: path inside the folder -> content. Files of the last time that are not among them are removed.
        made_from: a name for what they were made from, for `stands`.
        decided: the version of the decisions that they were made with, for `reached`.

    Returns:
        The files that were left alone because the person had changed them.

    Raises:
        StorageError: the disk refused; the folder is as it was.
    """
    before = digests(folder)
    _clear(folder / _WORK / "next")
    kept = tuple(name for name in files if _changed_by_hand(folder / name, before.get(name)))
    moves = {name: _beside(name) if name in kept else name for name in files}
    for name, target in moves.items():
        cache.write(folder / _WORK / "next" / target, files[name])
    gone = [name for name in before if name not in files and not _changed_by_hand(folder / name, before[name])]
    after = {name: before[name] if name in kept else cache.digest(data) for name, data in files.items()}
    plan = {"made_from": made_from, "decided": decided, "files": after, "moves": sorted(moves.values()), "gone": gone}
    cache.write(folder / _WORK / "plan.json", json.dumps(plan).encode())
    finish(folder)
    return kept


def finish(folder: Path) -> None:
    """Carry out the plan that an interrupted run has left, if there is one.

    Raises:
        FolioDamaged: the plan cannot be read, or names a file outside the folder.
    """
    plan = _read(folder, "plan.json")
    if plan is None:
        return
    aside = folder / _WORK / "next"
    for name in plan["moves"]:
        if (aside / _inside(name)).exists():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (aside / name).replace(folder / name)
    for name in plan["gone"]:
        (folder / _inside(name)).unlink(missing_ok=True)
    cache.sync_folder(folder)
    kept = {key: plan[key] for key in ("made_from", "decided", "files") if key in plan}
    cache.write(folder / _WORK / "manifest.json", json.dumps(kept).encode())
    (folder / _WORK / "plan.json").unlink()
    _clear(aside)


def unfinished(folder: Path) -> bool:
    """Return whether an interrupted run has left a plan, or a run is just now carrying one out."""
    return (folder / _WORK / "plan.json").exists()


def stands(folder: Path, made_from: str) -> bool:
    """Return whether the folder was made from just this, and every file is still there."""
    manifest = _read(folder, "manifest.json") or {}
    return manifest.get("made_from") == made_from and all((folder / name).exists() for name in manifest["files"])


def reached(folder: Path) -> str | None:
    """Return the version of the decisions that the files were made with; None where that is not known."""
    return (_read(folder, "manifest.json") or {}).get("decided")


def reach(folder: Path, decided: str) -> None:
    """Take note that the files are those of another version of the decisions too."""
    manifest = _read(folder, "manifest.json") or {}
    if manifest.get("decided") != decided:
        cache.write(folder / _WORK / "manifest.json", json.dumps({**manifest, "decided": decided}).encode())


def digests(folder: Path) -> dict[str, str]:
    """Return the files of the last time with the sha256 of what was written."""
    return dict((_read(folder, "manifest.json") or {}).get("files", {}))


def _read(folder: Path, name: str) -> dict[str, Any] | None:
    path = folder / _WORK / name
    if not path.exists():
        return None
    try:
        found = json.loads(path.read_bytes())
        return {**found}
    except (OSError, ValueError, TypeError) as error:
        raise FolioDamaged(
            f"{path} is damaged.", f"Delete that one file and run the same command again; {folder.name} is made anew."
        ) from error


def _inside(name: str) -> str:
    parts = PurePosixPath(name)
    if parts.is_absolute() or ".." in parts.parts:
        raise FolioDamaged(f"The plan of this folder names a file outside it: {name}.", "Delete .work/plan.json.")
    return name


def _changed_by_hand(path: Path, digest: str | None) -> bool:
    return digest is not None and path.exists() and cache.file_digest(path) != digest


def _beside(name: str) -> str:
    path = PurePosixPath(name)
    return str(path.with_name(f"{path.stem}.new{path.suffix}"))


def _clear(folder: Path) -> None:
    for path in sorted(folder.rglob("*"), reverse=True):
        path.rmdir() if path.is_dir() else path.unlink(missing_ok=True)
