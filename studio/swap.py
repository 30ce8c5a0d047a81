"""The files of a folder replaced in one step: all are written aside, then a plan, then they are moved by the plan.

A run that dies before the plan has changed nothing; one that dies after it is finished by `finish`. Only a file that
this module wrote, and that nobody has changed since, is ever replaced or removed. Any other one stays as it is, and the
new one is put beside it as `name.new.ext`; so does what the run was made from.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from studio import cache, fence
from studio.errors import FolioDamaged, StorageError

_PLAN, _MANIFEST, _FURTHER = "plan.json", "manifest.json", "further.json"
Names = Mapping[str, str]
"""Path inside the folder -> sha256 of what was written there; empty where another file stands in its place."""


@dataclass(frozen=True)
class _Plan:
    """What is still to be carried out."""

    made_from: str
    decided: str | None
    files: Names
    inputs: tuple[str, ...]
    """What the run was made from, which is never written."""


@dataclass(frozen=True)
class Written:
    """What was written into a folder the last time."""

    made_from: str = ""
    decided: str | None = None
    """The version of the decisions that the files were made with; None where that is not known."""
    files: Names = field(default_factory=dict)
    beside: Names = field(default_factory=dict)
    """New files that were put beside one that is not ours."""


def write(
    folder: Path, files: Mapping[str, bytes], made_from: str, inputs: Iterable[Path] = (), decided: str = "0"
) -> tuple[str, ...]:
    """Replace the files of a folder.

    Args:
        folder: the folder; its `.work` holds what is in between.
        files: path inside the folder -> content. Files of the last time that are not among them are removed.
        made_from: a name for what they were made from, for `stands`.
        inputs: the files that were read for it, which are never written.
        decided: the version of the decisions that they were made with, for `reached`.

    Returns:
        The files that were left alone: changed by the person, or never ours.

    Raises:
        StorageError: the disk refused; the folder is as it was.
        FolioDamaged: a name leads out of the folder.
    """
    before, read = _written(folder), [path for path in inputs if path.exists()]
    _clear(folder / fence.WORK / "next")
    for name, data in files.items():
        _free_above(folder / fence.inside(name))
        cache.write(folder / fence.WORK / "next" / name, data)
    kept = sorted(name for name in {*files, *before.files, *before.beside} if _is_one_of(folder / name, read))
    made = {name: cache.digest(data) for name, data in files.items()}
    plan = {"made_from": made_from, "decided": decided, "files": made, "inputs": kept}
    cache.write(folder / fence.WORK / _PLAN, json.dumps(plan).encode())
    return finish(folder)


def finish(folder: Path) -> tuple[str, ...]:
    """Carry out the plan that an interrupted run has left, if there is one.

    Returns:
        The files that were left alone.

    Raises:
        FolioDamaged: the plan cannot be read, or names a file outside the folder.
    """
    plan = _plan(folder)
    if plan is None:
        return ()
    before, aside = _written(folder), folder / fence.WORK / "next"
    files, beside, left = dict(plan.files), dict[str, str](), []
    for name, digest in plan.files.items():
        target, known = name, before.files.get(name, "")
        if name in plan.inputs or not _ours(folder / name, known, digest):
            target = _free(folder, name, before.beside, digest, plan.inputs)
            files[name], beside[target] = known, digest
            left.append(name)
        if (aside / name).exists():
            (folder / target).parent.mkdir(parents=True, exist_ok=True)
            (aside / name).replace(folder / target)
    _remove(folder, {**before.beside, **before.files}, {*files, *beside, *plan.inputs})
    cache.sync_folder(folder)
    told = {"made_from": plan.made_from, "decided": plan.decided, "files": files, "beside": beside}
    cache.write(folder / fence.WORK / _MANIFEST, json.dumps(told).encode())
    (folder / fence.WORK / _PLAN).unlink()
    _clear(aside)
    return tuple(left)


def unfinished(folder: Path) -> bool:
    """Return whether an interrupted run has left a plan, or a run is just now carrying one out."""
    return (folder / fence.WORK / _PLAN).exists()


def stands(folder: Path, made_from: str) -> bool:
    """Return whether the folder was made from just this, and every file is still there."""
    written = _written(folder)
    return written.made_from == made_from and all((folder / name).exists() for name in written.files)


def reached(folder: Path) -> str | None:
    """Return the version of the decisions that the files were made with; None where that is not known."""
    return _written(folder).decided


def reach(folder: Path, decided: str) -> None:
    """Take note that the files are those of another version of the decisions too."""
    if reached(folder) != decided:
        told = {**_json(folder / fence.WORK / _MANIFEST), "decided": decided}
        cache.write(folder / fence.WORK / _MANIFEST, json.dumps(told).encode())


def digests(folder: Path) -> dict[str, str]:
    """Return the files of the last time with the sha256 of what was written; empty where another file stands there."""
    return dict(_written(folder).files)


# --- one more file ---------------------------------------------------------------------------------------------------


def place(folder: Path, name: str) -> Path:
    """Return where one more file may be written: under its name, or beside a file there that is not ours."""
    further = _further(folder)
    ours = _ours(folder / name, further.get(name, ""))
    return folder / (name if ours else _free(folder, name, further))


def note(folder: Path, path: Path) -> None:
    """Take note that one more file was written, so that the next one may take its place.

    Raises:
        StorageError: the disk refused.
    """
    further = {**_further(folder), str(path.relative_to(folder)): cache.file_digest(path)}
    cache.write(folder / fence.WORK / _FURTHER, json.dumps(further).encode())


# --- what is ours ----------------------------------------------------------------------------------------------------


def _ours(path: Path, *known: str) -> bool:
    """Return whether a file may be replaced: there is none, or it holds what we wrote or are about to write."""
    return not _there(path) or (path.is_file() and not path.is_symlink() and cache.file_digest(path) in known)


def _there(path: Path) -> bool:
    return path.is_symlink() or path.exists()


def _free(folder: Path, name: str, known: Names, digest: str = "", taken: Iterable[str] = ()) -> str:
    """Return the first name beside another that is free or ours."""
    for other in _names_beside(name):
        if other not in taken and _ours(folder / other, known.get(other, ""), digest):
            return other
    raise StorageError(f"There is no free name beside {name}.", "Remove some of the files that are called like it.")


def _names_beside(name: str) -> Iterable[str]:
    path = PurePosixPath(name)
    return (str(path.with_name(f"{path.stem}.new{number or ''}{path.suffix}")) for number in (0, *range(2, 100)))


def _free_above(path: Path) -> None:
    """See to it that no file stands where a folder is needed."""
    if _there(path.parent) and not path.parent.is_dir():
        raise StorageError(
            f"{path.parent} is a file, and a folder of that name is needed.",
            "Rename the file or choose another folder, then run the same command again.",
        )


def _remove(folder: Path, old: Names, wanted: set[str]) -> None:
    for name, digest in old.items():
        if name not in wanted and _there(folder / name) and _ours(folder / name, digest):
            (folder / name).unlink()


def _is_one_of(path: Path, others: Iterable[Path]) -> bool:
    return path.exists() and any(path.samefile(other) for other in others)


def _clear(folder: Path) -> None:
    if folder.is_symlink():
        folder.unlink()
    for path in sorted(folder.rglob("*"), reverse=True):
        path.rmdir() if path.is_dir() and not path.is_symlink() else path.unlink(missing_ok=True)


# --- what was written down -------------------------------------------------------------------------------------------


def _plan(folder: Path) -> "_Plan | None":
    path = folder / fence.WORK / _PLAN
    if not path.exists():
        return None
    try:
        found = json.loads(path.read_bytes())
        inputs = tuple(fence.inside(str(name)) for name in found.get("inputs", ()))
        return _Plan(str(found["made_from"]), _version(found), _names(found["files"]), inputs)
    except (OSError, ValueError, TypeError, AttributeError, KeyError, RecursionError) as error:
        raise FolioDamaged(
            f"{path} is damaged.", f"Delete that one file and run the same command again; {folder.name} is made anew."
        ) from error


def _written(folder: Path) -> Written:
    """Return what was written the last time; where that is lost or damaged nothing counts as ours."""
    found = _json(folder / fence.WORK / _MANIFEST)
    try:
        names = _names(found["files"]), _names(found.get("beside", {}))
        return Written(str(found["made_from"]), _version(found), *names)
    except (KeyError, TypeError, AttributeError, FolioDamaged):
        return Written()


def _version(told: Mapping[str, object]) -> str | None:
    return None if told.get("decided") is None else str(told["decided"])


def _further(folder: Path) -> Names:
    try:
        return _names(_json(folder / fence.WORK / _FURTHER))
    except (TypeError, AttributeError, FolioDamaged):
        return {}


def _json(path: Path) -> Mapping[str, object]:
    try:
        found = json.loads(path.read_bytes())
    except (OSError, ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def _names(told: object) -> Names:
    if not isinstance(told, dict):
        raise TypeError(told)
    return {fence.inside(name): str(digest) for name, digest in told.items()}
