"""Rule files read by what is wanted of them."""

from dataclasses import dataclass

import pytest
from pydantic import ValidationError

from studio import rule_files


@dataclass(frozen=True)
class Row:
    """A row of the reasons to leave a sentence out."""

    reason: str
    patterns: tuple[str, ...]


@dataclass(frozen=True)
class Wrong:
    """A row as no file has it."""

    reason: int


def test_rows_come_as_the_type_that_was_asked_for() -> None:
    """Each row is one of the type, with the parts that the type names."""
    rows = rule_files.typed(tuple[Row, ...], "written.toml", "leave_out")
    assert rows
    assert all(row.reason and row.patterns for row in rows)


def test_a_row_of_another_shape_is_refused() -> None:
    """A file that does not hold what a room reads from it fails where it is read, not where it is used."""
    with pytest.raises(ValidationError):
        rule_files.typed(tuple[Wrong, ...], "written.toml", "leave_out")
    with pytest.raises(AssertionError, match="is no text"):
        rule_files.text("written.toml", "leave_out")


def test_several_patterns_find_what_any_of_them_finds() -> None:
    """A list of patterns is one pattern, in which capitals count only where that is asked."""
    assert rule_files.finds("That is FOOD safe", "statements.toml", "safety", "patterns")
    exact = rule_files.pattern("statements.toml", "safety", "patterns", exact=True)
    assert exact.search("that is food safe")
    assert not exact.search("that is FOOD SAFE")
