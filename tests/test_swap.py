"""A folder's files replaced in one step, whatever happens in between."""

import json
from pathlib import Path

import pytest

from studio import cache, swap
from studio.errors import FolioDamaged, StorageError

OLD = {"post.md": b"old post", "stills/a.jpg": b"old still", "gone.txt": b"old"}
NEW = {"post.md": b"new post", "stills/a.jpg": b"new still", "captions.vtt": b"new captions"}


def content(folder: Path) -> dict[str, bytes]:
    """Return all that a person sees in the folder."""
    files = (path for path in folder.rglob("*") if path.is_file() and ".work" not in path.parts)
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}


def test_new_files_take_the_place_of_the_old(tmp_path: Path) -> None:
    """After a write the folder holds the new files, and those no longer made are gone."""
    swap.write(tmp_path, OLD, "first")
    assert swap.write(tmp_path, NEW, "second") == ()
    assert content(tmp_path) == NEW
    assert swap.stands(tmp_path, "second")
    assert not swap.stands(tmp_path, "first")


def test_a_fault_at_any_step_leaves_the_old_or_the_new_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """For every N: when the Nth step on the disk fails, `finish` leaves all old files or all new ones."""
    real_write, real_replace = cache.write, Path.replace
    outcomes = set()
    for fault in range(1, 40):
        folder = tmp_path / str(fault)
        swap.write(folder, OLD, "first")
        steps = iter(range(1, 1000))

        def counted_write(path: Path, data: bytes, steps=steps, fault=fault) -> None:  # noqa: ANN001
            if next(steps) == fault:
                raise StorageError("The disk is full.", "Free some space.")
            real_write(path, data)

        def counted_replace(self: Path, target: Path, steps=steps, fault=fault) -> Path:  # noqa: ANN001
            if next(steps) == fault:
                raise OSError(5, "Input/output error")
            return real_replace(self, target)

        with monkeypatch.context() as patch:
            patch.setattr(cache, "write", counted_write)
            patch.setattr(Path, "replace", counted_replace)
            try:
                swap.write(folder, NEW, "second")
                finished = True
            except (StorageError, OSError):
                finished = False
        swap.finish(folder)
        after = content(folder)
        assert after in (OLD, NEW), f"mixed after a fault at step {fault}"
        outcomes.add(after == NEW)
        if finished:
            assert after == NEW
            break
    assert outcomes == {True, False}


def test_what_the_person_changed_is_left_alone(tmp_path: Path) -> None:
    """A file edited by hand stays, the new one stands beside it, and it is reported each time."""
    swap.write(tmp_path, OLD, "first")
    (tmp_path / "post.md").write_bytes(b"my own words")
    assert swap.write(tmp_path, NEW, "second") == ("post.md",)
    assert (tmp_path / "post.md").read_bytes() == b"my own words"
    assert (tmp_path / "post.new.md").read_bytes() == b"new post"
    assert swap.write(tmp_path, NEW, "third") == ("post.md",)


def test_a_missing_file_is_made_again(tmp_path: Path) -> None:
    """The folder does not stand when one of its files was deleted."""
    swap.write(tmp_path, OLD, "first")
    (tmp_path / "stills" / "a.jpg").unlink()
    assert not swap.stands(tmp_path, "first")


def test_a_plan_cannot_reach_outside_the_folder(tmp_path: Path) -> None:
    """A folder from somebody else with a plan that names `../x` is refused and nothing is touched."""
    outside = tmp_path / "precious.txt"
    outside.write_text("keep me")
    work = tmp_path / "folio" / ".work"
    work.mkdir(parents=True)
    plan = {"made_from": "x", "files": {}, "moves": [], "gone": ["../precious.txt"]}
    (work / "plan.json").write_text(json.dumps(plan))
    with pytest.raises(FolioDamaged, match="outside it"):
        swap.finish(tmp_path / "folio")
    assert outside.read_text() == "keep me"


def test_a_damaged_plan_says_what_to_do(tmp_path: Path) -> None:
    """A plan that cannot be read ends in two sentences."""
    (tmp_path / ".work").mkdir()
    (tmp_path / ".work" / "plan.json").write_text("{")
    with pytest.raises(FolioDamaged, match=r"is damaged\. Delete that one file"):
        swap.finish(tmp_path)


def test_the_manifest_holds_the_version_of_the_decisions(tmp_path: Path) -> None:
    """It tells with which decisions the files were made, also where those changed nothing or a run ended later."""
    assert swap.reached(tmp_path) is None
    swap.write(tmp_path, OLD, "first", "3-abc")
    assert swap.reached(tmp_path) == "3-abc"
    written = (tmp_path / "post.md").stat().st_mtime_ns
    swap.reach(tmp_path, "4-def")
    assert swap.reached(tmp_path) == "4-def"
    assert swap.stands(tmp_path, "first")
    assert (tmp_path / "post.md").stat().st_mtime_ns == written
    manifest = tmp_path / ".work" / "manifest.json"
    plan = {**json.loads(manifest.read_bytes()), "decided": "5-ghi", "moves": [], "gone": []}
    (tmp_path / ".work" / "plan.json").write_text(json.dumps(plan))
    swap.finish(tmp_path)
    assert swap.reached(tmp_path) == "5-ghi"
    manifest.write_text(json.dumps({"made_from": "first", "files": {}}))
    assert swap.reached(tmp_path) is None
