"""Cautions from speech, from the items shown, and from the hazard column."""

import re
from pathlib import Path

import named
import pytest
import spoken
from counted import sees_no_end

from studio import cautions, resources
from studio.model import Catalogue, Caution, Product

FIXTURE = Path(__file__).parent / "fixtures" / "warnings.txt"
LINES = [line for line in FIXTURE.read_text(encoding="utf-8").splitlines() if " => " in line and line[0] != "#"]
TABLE = resources.table("cautions.toml")


def called(text: str, *rows: Product) -> tuple[Caution, ...]:
    """Return the cautions of a text."""
    sentences, mentions = named.said(text, rows) if rows else (spoken.sentences(text), ())
    return cautions.cautions(sentences, mentions, Catalogue(products=rows))


@pytest.mark.parametrize("line", LINES)
def test_a_warning_calls_for_its_hazard_and_plain_talk_for_none(line: str) -> None:
    """What a person says when they warn is recognised over many crafts; "never mind" is no warning."""
    text, hazard = line.split(" => ")
    hazards = {caution.hazard for caution in called(text)}
    assert hazard in hazards if hazard != "none" else hazards == set()


def test_every_moment_is_kept_and_a_hazard_is_told_once() -> None:
    """One line a hazard, with the start of each sentence that calls for it."""
    (blade,) = called("Mind the blade. Now fold it. Keep the scalpel capped.")
    assert blade.hazard == "blade"
    assert blade.triggers_ms == (0, 3 * 350 - 50 + 500 + 3 * 350 - 50 + 500)


def test_the_hazard_column_of_an_item_shown_calls_for_its_line() -> None:
    """The catalogue's own mark brings the caution, with the item's code, although nobody spoke of it."""
    row = Product(code="R1", name="Clear Pour", kind="medium", hazard="Epoxy; skin sensitiser")
    found = {caution.hazard: caution for caution in called("And this is the *clear pour*.", row)}
    assert found["resin"].codes == ("R1",)
    assert found["resin"].triggers_ms == (4 * 350,)


def test_a_mark_that_no_hazard_knows_still_calls_for_care() -> None:
    """An unknown hazard mark is not dropped: it brings the general line."""
    row = Product(code="Q1", name="Blue Thing", hazard="see leaflet 7")
    assert [caution.hazard for caution in called("And this is the *blue thing*.", row)] == ["care"]


def test_an_item_that_is_only_mentioned_brings_no_caution() -> None:
    """The supply list decides: what is not on the table calls for nothing."""
    row = Product(code="R1", name="Clear Pour", hazard="epoxy")
    sentences, mentions = named.said("There is the *clear pour* as well.", (row,))
    off = tuple(mention.but(role="mentioned") for mention in mentions)
    assert cautions.cautions(sentences, off, Catalogue(products=(row,))) == ()


def test_a_warning_without_a_hazard_belongs_to_the_one_just_named() -> None:
    """In talk, "Whatever you do" after the lye is about the lye; a minute later it is general."""
    (lye,) = called("The lye goes in now. Whatever you do, take your time.")
    assert (lye.hazard, len(lye.triggers_ms)) == ("caustic", 2)
    late = called("The lye goes in now. We wait. It rains. We wait. It rains. Whatever you do, take your time.")
    assert [caution.hazard for caution in late] == ["caustic", "care"]


def test_every_line_names_its_source_and_promises_no_safety() -> None:
    """A line has a source, gives no first aid, and never calls a thing safe or non-toxic (common practice)."""
    assert len({row["name"] for row in TABLE["hazard"]}) == len(TABLE["hazard"])
    for row in TABLE["hazard"]:
        assert row["line"].endswith(".")
        assert row["source"]
        assert not re.search(r"non-?toxic|harmless|rinse|bandage|vinegar|is safe\b", row["line"], re.IGNORECASE)


def test_the_lye_line_has_the_order_right() -> None:
    """Lye goes into water (soap trade pages agree): the line never says it the other way round."""
    (line,) = (row["line"] for row in TABLE["hazard"] if row["name"] == "caustic")
    assert "lye to cold water (never water to lye)" in line


@pytest.mark.parametrize("piece", ["1", '"', "1/2/", "a", "keep a "])
def test_no_pattern_runs_away(piece: str) -> None:
    """However long a stretch of one thing is, each pattern of the cautions finds in it what it finds in a short one."""
    rows = [row[name] for row in TABLE["hazard"] for name in ("things", "says", "marks")]
    for words in [*rows, TABLE["never"], TABLE["warning"]]:
        assert sees_no_end(re.compile(words, re.IGNORECASE), piece), words
