"""Self-corrections: what is withdrawn, what stands, and what only sounds like one."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from spoken import sentences

from studio.corrections import corrections
from studio.quantity import read

FIXTURE = Path(__file__).parent / "fixtures" / "corrections.txt"


def cases() -> list[tuple[str, list[str]]]:
    """Return the sentences of the fixture with the corrections each is to give."""
    found: list[tuple[str, list[str]]] = []
    for line in FIXTURE.read_text(encoding="utf-8").splitlines():
        if line.startswith("    "):
            found[-1][1].append(line.strip())
        elif line and not line.startswith("#"):
            found.append((line, []))
    return found


@pytest.mark.parametrize(("said", "wanted"), cases(), ids=[case[0] for case in cases()])
def test_what_is_withdrawn_and_what_stands(said: str, wanted: list[str]) -> None:
    """A value, a name or a word that is taken back is found with what replaces it, and nothing else is."""
    found = corrections(sentences(said))
    assert [f"{row.wrong} -> {row.right}" for row in found] == wanted  # common practice, no source


@given(
    st.integers(2, 90),
    st.integers(2, 90),
    st.sampled_from(["no,", "sorry,", "I mean", "no wait,", "hang on,", "actually"]),
)
def test_a_withdrawn_number_is_never_reported(first: int, second: int, cue: str) -> None:
    """After a correction the reader gives the second number alone, and keeps the first beside it."""
    (found,) = read(f"cut it at {first} millimetres, {cue} {second} millimetres")
    assert found.values == (second,)
    assert found.replaces == (() if first == second else (first,))


def test_a_chain_is_one_correction_to_its_last_value() -> None:
    """Ten, no, eleven, sorry, twelve is ten to twelve."""
    (found,) = corrections(sentences("Weigh ten grams, no, eleven grams, sorry, twelve grams."))
    assert (found.wrong, found.right) == ("ten grams, no, eleven grams", "twelve grams")


def test_a_correction_may_cross_the_end_of_a_sentence() -> None:
    """The recogniser's full stop does not hide a correction, and its span covers both values."""
    said = sentences("First you roll it out to eight millimetres. No, sorry. Six millimetres, I always do that.")
    (found,) = corrections(said)
    assert (found.wrong, found.right) == ("eight millimetres", "Six millimetres")
    assert said[0].start_ms < found.start_ms < said[0].end_ms
    assert said[2].start_ms < found.end_ms < said[2].end_ms


def test_nothing_said_is_nothing_corrected() -> None:
    """No sentences give no corrections."""
    assert corrections(()) == ()
