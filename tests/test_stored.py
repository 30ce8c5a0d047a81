"""`folio.json` read back: of this version, of the one before, of a newer one, damaged; and its published schema."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import small_document

from studio import cli, folio, stored
from studio.desk.held import Holder
from studio.errors import FolioDamaged, FolioNewer
from studio.model import SCHEMA_VERSION, schema

BEFORE = (Path(__file__).parent / "fixtures" / "folios" / "schema-1.json").read_bytes()
"""Written by the program as it stood when the form had the number 1."""
NOW = small_document.document().model_dump_json().encode()


def changed(data: bytes = NOW, **more: Any) -> bytes:
    """Return a file with some of its fields changed; None takes one out."""
    told = {**json.loads(data), **more}
    return json.dumps({name: value for name, value in told.items() if value is not None}).encode()


def put(folder: Path, data: bytes) -> Path:
    """Write a file as the `folio.json` of a folder."""
    folder.mkdir(exist_ok=True)
    (folder / "folio.json").write_bytes(data)
    return folder


# --- the schema ------------------------------------------------------------------------------------------------------


def described(place: str, part: dict[str, Any]) -> list[str]:
    """Return the properties and definitions of a schema that have no description."""
    missing = [] if part.get("description", "").strip() else [place]
    for kind in ("properties", "$defs"):
        for name, inner in part.get(kind, {}).items():
            missing += described(f"{place}.{name}", inner)
    return missing


def test_every_property_and_definition_of_the_schema_is_described() -> None:
    """Whoever reads the schema alone learns what each property and each definition means."""
    published = schema.schema()
    assert described("folio", published) == []
    assert len(published["$defs"]) >= 20


def test_the_schema_has_a_dialect_and_a_name_with_its_version() -> None:
    """It says that it is written in draft 2020-12, is valid by that draft, and has an `$id` that tells its version."""
    published = schema.schema()
    assert published["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert published["$id"] == f"urn:bonefolder:folio:{SCHEMA_VERSION}"
    jsonschema.Draft202012Validator.check_schema(published)


def test_a_document_with_one_of_everything_fits_and_a_strange_one_does_not() -> None:
    """The small document is valid by the schema; with a time in words or a field too many it is not."""
    judge = jsonschema.Draft202012Validator(schema.schema())
    told = json.loads(NOW)
    assert list(judge.iter_errors(told)) == []
    assert not judge.is_valid({**told, "chapters": [{"start_ms": "soon", "title": "Cut"}]})
    assert not judge.is_valid({**told, "shelf": 1})


def test_the_command_prints_the_published_schema(capsys: pytest.CaptureFixture[str]) -> None:
    """`bonefolder schema` prints it whole."""
    cli.schema()
    assert json.loads(capsys.readouterr().out) == schema.schema()


# --- versions --------------------------------------------------------------------------------------------------------


def test_a_file_tells_its_version_and_its_program() -> None:
    """What is written carries the number of its form and the program that wrote it."""
    told = json.loads(NOW)
    assert (told["schema_version"], told["made_by"], told["unknown"]) == (2, "bonefolder 0.1.0", [])


def test_a_folio_of_the_version_before_is_read(tmp_path: Path) -> None:
    """A file as version 1 wrote it is brought to the form of today: all that stood in it, and no program named."""
    read = folio.read(put(tmp_path, BEFORE))
    old, new = json.loads(BEFORE), json.loads(read.model_dump_json())
    assert (old.pop("schema_version"), new.pop("schema_version")) == (1, SCHEMA_VERSION)
    assert (new.pop("made_by"), new.pop("unknown")) == ("", [])
    assert new == old
    assert [row.code for row in read.supplies] == ["H1"]
    assert stored.told_of(read) == ""


def test_there_is_a_step_from_every_version() -> None:
    """No form that was ever written is left behind."""
    assert sorted(stored.STEPS) == list(range(1, SCHEMA_VERSION))


def test_what_is_read_is_what_was_written() -> None:
    """A file of today reads back equal, and nothing in it is called unknown."""
    read = stored.read(NOW)
    assert read == small_document.document()
    assert read.unknown == ()


def test_an_unknown_field_is_kept_and_told() -> None:
    """Fields that this version does not know, at the top and within, are kept with their places and written again."""
    supplies = json.loads(NOW)["supplies"]
    supplies[1]["shelf"] = {"row": 4}
    read = stored.read(changed(mood="calm", supplies=supplies))
    assert [(one.place, one.value) for one in read.unknown] == [
        ("supplies.1.shelf", '{"row": 4}'), ("mood", '"calm"')
    ]  # fmt: skip
    assert read.but(unknown=()) == small_document.document()
    assert stored.told_of(read) == (
        "This folio was written by a newer version of bonefolder; supplies.1.shelf, mood is kept, but not used here."
    )
    assert stored.read(read.model_dump_json().encode()).unknown == read.unknown


def test_only_the_first_three_unknown_places_are_named() -> None:
    """A long list of what is unknown is told in one short sentence."""
    read = stored.read(changed(a=1, b=2, c=3))
    assert "; a, b, c is kept" in stored.told_of(read)
    assert "; a, b, c and 2 more is kept" in stored.told_of(stored.read(changed(a=1, b=2, c=3, d=4, e=5)))


def test_a_newer_form_that_still_fits_is_read_and_told() -> None:
    """A later number alone does not hinder reading: it is reported with what is unknown."""
    read = stored.read(changed(schema_version=SCHEMA_VERSION + 1, mood="calm"))
    assert [one.place for one in read.unknown] == ["schema_version", "mood"]
    assert read.chapters == small_document.document().chapters


def test_a_newer_form_that_does_not_fit_is_no_damage(tmp_path: Path) -> None:
    """Where a newer version says things another way, the person is told to bring the program up to date."""
    data = changed(schema_version=9, made_by="bonefolder 9.0", chapters=[{"start": "0:00"}])
    with pytest.raises(FolioNewer, match=r"written by bonefolder 9\.0, .* Bring bonefolder up to date"):
        folio.read(put(tmp_path, data))
    with pytest.raises(FolioNewer, match="written by a newer version of bonefolder, and"):
        folio.read(put(tmp_path, changed(schema_version=9, made_by=None, recording=None)))


@pytest.mark.parametrize(
    "data",
    [
        b"", b"{", b"[]", b"3", b"null", b"[" * 100_000, b"\xff\xfe", NOW[: len(NOW) // 2], changed(recording=None),
        changed(chapters=[{"start_ms": -1, "title": "Cut"}]), changed(schema_version="two"), changed(schema_version=0),
        changed(schema_version=1.5), changed(BEFORE, transcript=None), changed(chapters=[{"title": "x", "mood": 1}]),
    ],
)  # fmt: skip
def test_a_damaged_file_has_its_one_sentence(tmp_path: Path, data: bytes) -> None:
    """What is cut short, of another kind, without its version or without what it must hold is damaged."""
    with pytest.raises(FolioDamaged) as refusal:
        folio.read(put(tmp_path / "demo", data))
    assert refusal.value.problem == f"{tmp_path / 'demo'} holds no folio that can be read."
    assert refusal.value.remedy == "Make it again from the recording; your decisions are kept."


def test_the_person_hears_of_what_is_unknown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`at` tells it beside the answer, and the desk above the folio."""
    put(tmp_path, changed(mood="calm"))
    cli.at("0:08", tmp_path)
    shown = capsys.readouterr()
    assert "newer version of bonefolder; mood is kept" in shown.err
    assert "newer version" not in shown.out
    assert "newer version of bonefolder; mood is kept" in Holder().get(tmp_path).problem


def test_reading_writes_nothing(tmp_path: Path) -> None:
    """A file of the version before stays as it is until the folio is made again."""
    folio.read(put(tmp_path, BEFORE))
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"folio.json": BEFORE}
