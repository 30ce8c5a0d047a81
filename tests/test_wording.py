"""From spoken to written inside one sentence."""

from pathlib import Path

import pytest
from counted import EVENLY, growth, sees_no_end
from hypothesis import given, settings
from hypothesis import strategies as st

from studio.writing import wording, worth
from studio.writing.redaction import Working, applied, tidied

PAIRS = (Path(__file__).parent / "fixtures" / "written" / "spoken.txt").read_text(encoding="utf-8")


def written(said: str) -> str:
    """Return what becomes of one sentence."""
    working = Working(said, 0, len(said))
    wording.reword(working)
    return tidied(working.text)


def pairs() -> list[tuple[str, str]]:
    """Return the pairs of the fixture file."""
    lines = [line[2:] for line in PAIRS.splitlines() if line.startswith(("< ", "> "))]
    return list(zip(lines[::2], lines[1::2], strict=True))


@pytest.mark.parametrize(("said", "expected"), pairs())
def test_a_spoken_sentence_becomes_this_written_one(said: str, expected: str) -> None:
    """Fillers, false starts and tags go; hedges, negations and figures stay (common practice, no source)."""
    assert written(said) == expected


@given(
    st.lists(
        st.sampled_from(
            "um so the the it's it's a a fold not about or until 1 1/2 you know, like, isn't it.".split(" ")
        )
    )
)
@settings(max_examples=300, deadline=None)
def test_hedges_and_negations_survive_any_talk(said: list[str]) -> None:
    """Whatever is said in whatever order, no "not", "about", "or", "until" is lost, but one that is said twice."""
    text = " ".join(said)
    kept = written(text).lower()
    for word in ("about", "until"):
        assert (word in text) == (word in kept)


@given(st.text(alphabet="abc ,.um'1½", max_size=60))
@settings(max_examples=300, deadline=None)
def test_the_edits_give_the_text_again(said: str) -> None:
    """The text as it stands is always the source with the recorded edits made, whatever the rules did."""
    working = Working(said, 0, len(said))
    wording.reword(working)
    assert applied(said, 0, len(said), working.edits) == working.text
    assert all(0 <= edit.start <= edit.end <= len(said) for edit in working.edits)


@given(st.text(alphabet="abcdef ", min_size=1, max_size=30), st.data())
def test_replacing_in_the_text_as_it_stands_is_replacing_in_a_string(said: str, data: st.DataObject) -> None:
    """Any row of replacements gives what the same replacements in a plain string give."""
    working, plain = Working(said, 0, len(said)), said
    for shown in data.draw(st.lists(st.sampled_from(["", "x", "yz"]), max_size=5)):
        first = data.draw(st.integers(0, len(plain)))
        last = data.draw(st.integers(first, len(plain)))
        if first == last:
            continue
        working.replace(first, last, shown, "test")
        plain = plain[:first] + shown + plain[last:]
        assert working.text == plain


@pytest.mark.parametrize("unit", ["um, ", "so ", "it's ", "and, and ", "you know, ", "a", "1 ", ", , ", "not "])
def test_no_pattern_runs_away_on_a_long_stretch_of_anything(unit: str) -> None:
    """However long a stretch of one thing is, each pattern finds in it what it finds in a short one."""
    patterns = [pattern for _, _, pattern in worth.leave_out()] + [pattern for _, pattern, _ in wording.rewrites()]
    for pattern in patterns:
        assert sees_no_end(pattern, unit, 40_000), pattern.pattern
    assert growth(lambda size: worth.kind_of(unit * (size // len(unit))), 40_000) < EVENLY


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Cut the strip in two.", "step"),
        ("Then fold it towards you.", "step"),
        ("You press it down for a minute.", "step"),
        ("I always sand the edge first.", "step"),
        ("Don't buy the cheap one.", "advice"),
        ("It dries slowly, because it is thick.", "advice"),
        ("This one is green.", "fact"),
        ("Tuesday, probably.", "talk"),
    ],
)
def test_what_a_sentence_does_is_told_from_its_words(text: str, kind: str) -> None:
    """Instructions, advice, facts and talk are told apart (own judgement, no source)."""
    assert worth.kind_of(text) == kind


@pytest.mark.parametrize(
    ("text", "has_verb"),
    [
        ("Olive oil, 400 g.", False),
        ("Three colours.", False),
        ("Lid on, towel round it.", False),
        ("The belts and buckles.", False),
        ("Waxed linen, five metres.", False),
        ("It holds ten.", True),
        ("Fold it.", True),
        ("There's one more.", True),
        ("The glue's dry.", False),
        ("The glue dries in the sun.", True),
        ("You'll need two.", True),
    ],
)
def test_a_sentence_without_a_verb_is_known(text: str, has_verb: bool) -> None:
    """A finite verb is an auxiliary, a verb after its subject, or an instruction."""
    assert worth.has_finite_verb(text) == has_verb


@pytest.mark.parametrize(
    "said",
    [
        "Cut three, three inch strips.",
        "You need four four by six panels.",
        "The shade is double seven seven.",
        "It's code double oh oh seven.",
        "Cut two, cut two more.",
        "Use 3, 3 inch strips.",
        "Take a half, half inch dowel.",
    ],
)
def test_a_number_said_twice_is_never_cleared_away(said: str) -> None:
    """A stretch with a number stays, because two like numbers are a count and a size, or two digits."""
    assert written(said) == said  # common practice, no source
