"""Sentences parted, fragments joined, repetitions merged."""

from hypothesis import given, settings
from hypothesis import strategies as st

from studio.model import Document, Recording, Transcript
from studio.writing import joining, worth
from studio.writing.redaction import SaidPart, Working, tidied
from studio.writing.written import Line


def line(text: str, at: int = 0) -> Line:
    """Return a line with a text."""
    return Line(text, "fact", at * 1000, at * 1000 + 900, (SaidPart(0, 0, 0),))


def parted(said: str) -> list[str]:
    """Return the sentences that a spoken one is parted into."""
    return [tidied(piece.text) for piece in joining.pieces(Working(said, 0, len(said)))]


def test_a_run_on_sentence_is_parted_before_a_clause_of_its_own() -> None:
    """Two main clauses with a comma between become two sentences; what depends on the other stays with it."""
    assert parted("It's a proper wooden box, you get the liner with it.") == [
        "It's a proper wooden box.",
        "You get the liner with it.",
    ]
    assert parted("If you like it thick, you can add another coat of it.") == [
        "If you like it thick, you can add another coat of it."
    ]
    assert parted("They said, it is good.") == ["They said, it is good."]
    put_in = "I rub the edge with the cloth, it has a coarse side to it, and not with the sponge."
    assert parted(put_in) == [put_in]


def test_a_long_sentence_is_parted_at_a_conjunction() -> None:
    """Above 24 words "and" before a clause of its own ends the sentence; what is short enough then stays whole."""
    said = (
        "I cut the strap from the long side of the hide where it is even and firm, and I keep the offcuts for testing, "
        "but I throw the belly away because it stretches."
    )
    assert parted(said) == [
        "I cut the strap from the long side of the hide where it is even and firm.",
        "I keep the offcuts for testing, but I throw the belly away because it stretches.",
    ]


def listed(text: str, sentence: int) -> list[tuple[str, str]]:
    """Return the kind and text of the lines that become of a list which is said ten seconds after a sentence."""
    before = line(
        "Rub the wax in with the cloth wherever the hand will touch it, and then rub it in again until it shines"
    )
    after = Line(text, "talk", 11000, 12000, (SaidPart(sentence, 0, 0),))
    document = Document(
        recording=Recording(source="talk.vtt", sha256="0", duration_ms=20000),
        transcript=Transcript(language="en", recogniser="WebVTT"),
    )
    return [(one.kind, one.text) for one in joining.lines_joined([before, after], document)[0]][1:]


def test_a_list_without_a_verb_completes_the_sentence_before_it() -> None:
    """Three things named with hands at work become an item of their own; after a gap, or two things only, they go."""
    handles = "The rim of the lid, the long handle with the collar, and both of the feet underneath."
    assert listed(handles, 1) == [("item", handles[:-1])]
    assert listed(handles, 2) == []
    assert listed("The rim of the lid and both of the feet.", 1) == []


def test_of_two_sentences_alike_the_longer_stays_where_the_first_was() -> None:
    """Sentences with seven words in ten in common say the same (Jaccard index 0.7)."""
    lines = [
        line("You could use the red tape here", 0),
        line("Fold it in half", 1),
        line("You could use the red tape right here", 2),
    ]
    kept, left = joining.without_duplicates(lines)
    assert {one.text for one in kept} == {"Fold it in half", "You could use the red tape right here"}
    assert [one.reason for one in left] == ["said twice"]


SAID = st.lists(st.sampled_from("bcdefgh"), min_size=1, max_size=7)


@given(SAID, SAID, st.lists(st.sampled_from("bcdefgh"), max_size=20))
@settings(max_examples=300, deadline=None)
def test_two_lines_alike_are_found_among_any_others(one: list[str], other: list[str], about: list[str]) -> None:
    """The filter that finds twins quickly finds just those that comparing finds, however common their words are."""
    others = [line(f"{word} q{at} r{at} s{at} t{at}", at + 2) for at, word in enumerate(about)]
    kept, left = joining.without_duplicates([line(" ".join(one), 0), line(" ".join(other), 1), *others])
    first, second = (frozenset(worth.said_words(" ".join(said))) for said in (one, other))
    alike = len(first & second) >= 0.7 * len(first | second)
    assert len(left) == alike
    assert len(kept) == 2 + len(others) - alike


def test_a_sentence_is_not_parted_inside_a_name_that_was_put_in() -> None:
    """A comma that came with a substitution is no place to part a sentence; nothing of the substitution is lost."""
    said = "Sew on the back cover here, it's blue, and press it flat with the iron."
    working = Working(said, 0, len(said))
    working.replace(11, 37, "Back Cover, it's linen and zipped", "spelling")
    assert "Back Cover, it's linen and zipped" in " ".join(piece.text for piece in joining.pieces(working))


def test_sentences_that_differ_in_a_number_are_no_twins() -> None:
    """Two instructions alike but for a figure or a number word are both kept; one that adds no number is dropped."""
    said = ("Cut three long strips of card at 4 in.", "Cut three long strips of card at 5 in.")
    kept, left = joining.without_duplicates([line(text, at) for at, text in enumerate(said)])
    assert ([one.text for one in kept], left) == (list(said), [])
    kept, left = joining.without_duplicates([line(said[0], 0), line("Cut three long strips of the card at 4 in.", 1)])
    assert len(kept) == len(left) == 1
