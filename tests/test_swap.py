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
    plan = {"made_from": "x", "files": {"../precious.txt": "0"}, "inputs": []}
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


# --- the person's own files ------------------------------------------------------------------------------------------


def test_a_file_that_was_never_ours_stays(tmp_path: Path) -> None:
    """A file of the same name that the person had there first is kept, ours stands beside it, each time anew."""
    (tmp_path / "post.md").write_bytes(b"my own post")
    assert swap.write(tmp_path, OLD, "first") == ("post.md",)
    assert swap.write(tmp_path, NEW, "second") == ("post.md",)
    assert content(tmp_path) == {**NEW, "post.md": b"my own post", "post.new.md": b"new post"}
    assert swap.stands(tmp_path, "second")


@pytest.mark.parametrize("damage", [None, b"", b"{", b"[]", b"null", b'{"made_from": 1, "files": {"post.md": [1]}}'])
def test_without_a_manifest_nothing_is_overwritten(tmp_path: Path, damage: bytes | None) -> None:
    """Where it is not known what was ours, a changed file stays, one with the very same content counts as ours."""
    swap.write(tmp_path, OLD, "first")
    (tmp_path / "post.md").write_bytes(b"my own words")
    manifest = tmp_path / ".work" / "manifest.json"
    manifest.unlink() if damage is None else manifest.write_bytes(damage)
    assert set(swap.write(tmp_path, {**OLD, "stills/a.jpg": b"new still"}, "second")) == {"post.md", "stills/a.jpg"}
    kept = {**OLD, "post.md": b"my own words", "post.new.md": b"old post", "stills/a.new.jpg": b"new still"}
    assert content(tmp_path) == kept


def test_a_file_with_the_name_that_ours_would_get_beside_it_stays_too(tmp_path: Path) -> None:
    """Ours takes the next free name, and keeps it."""
    mine = {"post.md": b"my post", "post.new.md": b"my new post"}
    for name, data in mine.items():
        (tmp_path / name).write_bytes(data)
    for text in (b"one", b"two"):
        swap.write(tmp_path, {"post.md": text}, text.decode())
        assert content(tmp_path) == {**mine, "post.new2.md": text}


def test_what_stood_beside_goes_once_the_place_is_free(tmp_path: Path) -> None:
    """When the person has taken their file away, ours moves into its place."""
    (tmp_path / "post.md").write_bytes(b"my own post")
    swap.write(tmp_path, OLD, "first")
    (tmp_path / "post.md").unlink()
    assert swap.write(tmp_path, NEW, "second") == ()
    assert content(tmp_path) == NEW


def test_what_was_changed_while_a_run_lay_interrupted_stays(tmp_path: Path) -> None:
    """A file that the person changed after the plan was written and before it was carried out is kept."""
    swap.write(tmp_path, OLD, "first")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(swap, "finish", lambda _: ())
        swap.write(tmp_path, NEW, "second")
    (tmp_path / "post.md").write_bytes(b"my own words")
    (tmp_path / "gone.txt").write_bytes(b"my own words too")
    assert swap.finish(tmp_path) == ("post.md",)
    mine = {"post.md": b"my own words", "gone.txt": b"my own words too", "post.new.md": b"new post"}
    assert content(tmp_path) == {**NEW, **mine}


def test_a_folder_in_the_place_of_a_file_stays(tmp_path: Path) -> None:
    """A folder of the person's that is called like one of ours is kept, and so is what is in it."""
    (tmp_path / "post.md").mkdir()
    (tmp_path / "post.md" / "mine.txt").write_bytes(b"mine")
    assert swap.write(tmp_path, OLD, "first") == ("post.md",)
    assert content(tmp_path) == {
        "post.md/mine.txt": b"mine", "post.new.md": b"old post", "stills/a.jpg": b"old still", "gone.txt": b"old",
    }  # fmt: skip


def test_a_file_in_the_place_of_a_folder_is_told(tmp_path: Path) -> None:
    """Nothing is written where a folder is needed and a file of the person's has its name."""
    (tmp_path / "stills").write_bytes(b"mine")
    with pytest.raises(StorageError, match=r"stills is a file, and a folder of that name is needed\. Rename"):
        swap.write(tmp_path, OLD, "first")
    assert content(tmp_path) == {"stills": b"mine"}


def test_what_a_run_was_made_from_is_never_written(tmp_path: Path) -> None:
    """The source stays, whether it is the person's own or was itself made by an earlier run."""
    swap.write(tmp_path, OLD, "first")
    assert swap.write(tmp_path, NEW, "second", [tmp_path / "post.md"]) == ("post.md",)
    assert content(tmp_path) == {**NEW, "post.md": b"old post", "post.new.md": b"new post"}
    assert swap.write(tmp_path, OLD, "third", [tmp_path / "post.new.md"]) == ()
    assert content(tmp_path) == {**OLD, "post.new.md": b"new post"}
    assert swap.write(tmp_path, {"gone.txt": b"old"}, "fourth", [tmp_path / "post.md"]) == ()
    assert content(tmp_path)["post.md"] == b"old post"


def test_one_more_file_takes_no_place_that_is_not_ours(tmp_path: Path) -> None:
    """A copy or a reworded post replaces the one before, and stands beside a file of the person's."""
    for text, name in ((b"one", "copy.mp4"), (b"two", "copy.mp4"), (None, "copy.new.mp4"), (b"three", "copy.new.mp4")):
        if text is None:
            (tmp_path / "copy.mp4").write_bytes(b"my own film")
            continue
        target = swap.place(tmp_path, "copy.mp4")
        cache.write(target, text)
        swap.note(tmp_path, target)
        assert target.name == name
    assert content(tmp_path) == {"copy.mp4": b"my own film", "copy.new.mp4": b"three"}


def test_the_manifest_holds_the_version_of_the_decisions(tmp_path: Path) -> None:
    """It tells with which decisions the files were made, also where those changed nothing or a run ended later."""
    assert swap.reached(tmp_path) is None
    swap.write(tmp_path, OLD, "first", decided="3-abc")
    assert swap.reached(tmp_path) == "3-abc"
    written = (tmp_path / "post.md").stat().st_mtime_ns
    swap.reach(tmp_path, "4-def")
    assert swap.reached(tmp_path) == "4-def"
    assert swap.stands(tmp_path, "first")
    assert (tmp_path / "post.md").stat().st_mtime_ns == written
    manifest = tmp_path / ".work" / "manifest.json"
    plan = {**json.loads(manifest.read_bytes()), "decided": "5-ghi"}
    (tmp_path / ".work" / "plan.json").write_text(json.dumps(plan))
    swap.finish(tmp_path)
    assert swap.reached(tmp_path) == "5-ghi"
    manifest.write_text(json.dumps({"made_from": "first", "files": {}}))
    assert swap.reached(tmp_path) is None


def test_what_the_person_changed_stays_when_it_is_no_output_any_more(tmp_path: Path) -> None:
    """A changed file is not removed with the output that it was, now or by a later run; its neighbour of ours is."""
    swap.write(tmp_path, {"post.md": b"one", "cut.csv": b"one", "old.csv": b"one"}, "1")
    (tmp_path / "cut.csv").write_bytes(b"mine")
    swap.write(tmp_path, {"post.md": b"two"}, "2")
    assert (tmp_path / "cut.csv").read_bytes() == b"mine"
    assert not (tmp_path / "old.csv").exists()
    swap.write(tmp_path, {"post.md": b"three"}, "3")
    swap.write(tmp_path, {"post.md": b"four", "cut.csv": b"four"}, "4")
    assert ((tmp_path / "cut.csv").read_bytes(), (tmp_path / "cut.new.csv").read_bytes()) == (b"mine", b"four")
    (tmp_path / "cut.new.csv").write_bytes(b"mine too")
    swap.write(tmp_path, {"post.md": b"five"}, "5")
    assert ((tmp_path / "cut.csv").read_bytes(), (tmp_path / "cut.new.csv").read_bytes()) == (b"mine", b"mine too")
