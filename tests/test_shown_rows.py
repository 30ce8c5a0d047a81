"""Which rows were shown: what the rules propose and what the reader says, weighed together row by row."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio import rule_files
from studio.mentions import weighed
from studio.mentions.weighing import SIGNS, odds, probability, signs, state_of
from studio.model import Catalogue, Mention, Naming, Product, Role, Sentence, SentenceWord, State
from studio.reader.naming import with_proposed
from studio.reader.pieces import MEANINGS

ROWS = Catalogue(
    products=(
        Product(code="K1", name="Otter Bone Folder"),
        Product(code="K2", name="Otter Bone Folder Small", colour="ivory"),
        Product(code="K3", name="Waxed Linen Thread", colour="moss"),
    )
)
CODES = [row.code for row in ROWS.products]


def naming(
    at: int, rows: dict[str, float], *, shown: float = 0.9, heard: str = "the bone folder", other: str = "mentioned"
) -> Naming:
    """Return words said in one second that may mean rows, shown with a probability and else only talked of."""
    meanings = dict.fromkeys(MEANINGS, 0.0) | {"shown": shown, other: 1 - shown}
    span = {"start_ms": 1000 * at, "end_ms": 1000 * at + 900}
    return Naming(heard=heard, rows=rows, meanings=meanings, talk=0.0, **span)


def proposal(
    at: int, code: str | None, role: Role = "shown", state: State = "confirmed", *, heard: str = "otter bone folder"
) -> Mention:
    """Return what the rules found in the same second."""
    span = {"start_ms": 1000 * at, "end_ms": 1000 * at + 900}
    return Mention(id=f"p{at}{code}", code=code, heard=heard, role=role, state=state, confidence=1.0, **span)


def listed(found: tuple[Mention, ...]) -> dict[str | None, str]:
    """Return the rows that are shown with their states."""
    return {one.code: one.state for one in found if one.role == "shown"}


def test_a_row_named_in_full_that_rules_and_reader_show_is_sure() -> None:
    """Both are of one mind and the whole name was said: nobody need be asked."""
    assert listed(weighed((naming(1, {"K1": 0.98}),), (proposal(1, "K1"),), ROWS, (), (), {})) == {"K1": "confirmed"}


def test_what_the_reader_alone_holds_likely_is_asked() -> None:
    """The rules found nothing there, so that the row is on the list as a question."""
    assert listed(weighed((naming(1, {"K1": 0.9}),), (), ROWS, (), (), {})) == {"K1": "ask"}


def test_what_the_rules_alone_say_is_not_sure() -> None:
    """The reader takes the words for no row: the confirmed proposal of a rule is no longer sure."""
    found = weighed((naming(1, {"K3": 0.02}, shown=0.3),), (proposal(1, "K1"),), ROWS, (), (), {})
    assert listed(found).get("K1") != "confirmed"


def test_an_unlikely_row_is_not_on_the_list() -> None:
    """A row that the words hardly mean is neither shown nor mentioned."""
    assert weighed((naming(1, {"K1": 0.05}),), (), ROWS, (), (), {}) == ()


def test_a_row_only_talked_of_is_a_mention_and_not_on_the_list() -> None:
    """The words mean the row and do not show it."""
    found = weighed((naming(1, {"K1": 0.97}, shown=0.01),), (), ROWS, (), (), {})
    assert [(one.code, one.role) for one in found] == [("K1", "mentioned")]


@pytest.mark.parametrize(("meaning", "role"), [("rejected", "rejected"), ("given", "gift"), ("own", "mentioned")])
def test_what_is_meant_gives_the_role(meaning: str, role: str) -> None:
    """Turned down, given with an offer, or the speaker's own: none of them is on the list."""
    found = weighed((naming(1, {"K1": 0.97}, shown=0.01, other=meaning),), (), ROWS, (), (), {})
    assert [one.role for one in found] == [role]


def test_a_doubt_repeated_is_no_certainty() -> None:
    """Ten unsure showings of a row leave it as unsure as the best of them."""
    once = signs((naming(1, {"K1": 0.6}),), (), ROWS)["K1"]
    often = signs(tuple(naming(at, {"K1": 0.6}) for at in range(10)), (), ROWS)["K1"]
    assert probability(often) == probability(once)


def test_of_two_rows_at_one_place_the_likelier_is_asked_about_and_the_other_offered() -> None:
    """One question is asked of one stretch, and the other row is among its answers."""
    (found,) = weighed((naming(1, {"K1": 0.55, "K2": 0.44}),), (), ROWS, (), (), {})
    assert (found.code, found.state, found.runners_up) == ("K1", "ask", ("K2",))


def test_a_persons_own_word_for_a_row_goes_before_the_reader() -> None:
    """What the table of the settings says is not weighed against anything."""
    said = proposal(1, "K1", heard="old faithful")
    reader = naming(1, {"K2": 0.9}, heard="old faithful")
    assert listed(weighed((reader,), (said,), ROWS, (), (), {"Old Faithful": "K1"})) == {"K1": "confirmed"}
    assert "K1" not in listed(weighed((reader,), (said,), ROWS, (), (), {"Old Faithful": "K3"}))


def test_a_thing_that_no_row_is_stays_as_the_rules_found_it() -> None:
    """A product that the catalogue does not have is passed on."""
    found = weighed((naming(3, {}, shown=0.2),), (proposal(3, None, "unlisted", "ask"),), ROWS, (), (), {})
    assert [(one.code, one.role) for one in found] == [(None, "unlisted")]


def test_the_colour_of_a_row_is_told_where_it_was_said() -> None:
    """The catalogue's colour stands with a mention whose words say it."""
    found = weighed((naming(1, {"K3": 0.9}, heard="the moss one"), naming(2, {"K2": 0.9})), (), ROWS, (), (), {})
    assert {one.code: one.colour for one in found} == {"K3": "moss", "K2": None}


def test_mentions_are_numbered_in_the_order_of_the_talk() -> None:
    """Ids count from 1 and times never go back."""
    found = weighed(tuple(naming(at, {"K1": 0.9}) for at in (5, 2, 8)), (), ROWS, (), (), {})
    assert [(one.id, one.start_ms) for one in found] == [("m1", 2000), ("m2", 5000), ("m3", 8000)]


@given(st.floats(0, 1), st.floats(0, 1))
def test_more_likely_words_make_a_row_no_less_likely(one: float, other: float) -> None:
    """The probability of a row rises with that of its best showing, and stays between 0 and 1."""
    low, high = (probability(signs((naming(1, {"K1": p}, shown=1.0),), (), ROWS)["K1"]) for p in sorted((one, other)))
    assert 0 < low <= high < 1


def test_the_weights_are_those_of_the_signs() -> None:
    """Each sign has its learnt weight, and what is asked lies below what is sure."""
    assert len(signs((naming(1, {"K1": 0.5}),), (), ROWS)["K1"].figures()) == len(SIGNS)
    assert all(rule_files.figure("weights.toml", "shown", name) for name in (*SIGNS, "bias"))
    least, sure = (rule_files.figure("weights.toml", name) for name in ("asked", "confirmed"))
    assert 0 < least < sure < 1
    assert (state_of(least), state_of(sure)) == ("ask", "confirmed")
    assert odds(0.5) == 0 < odds(0.9) < odds(1) < 10


def word(at: int) -> SentenceWord:
    """Return the word said in a second."""
    return SentenceWord(text="word", start=0, end=4, start_ms=1000 * at, end_ms=1000 * at + 900)


def test_words_that_rules_propose_are_looked_at_beside_those_of_the_reader() -> None:
    """A proposal that meets no stretch is one; one inside a stretch is the stretch's own."""
    said = [word(at) for at in range(8)]
    assert with_proposed([(1, 3)], said, [proposal(2, "K1"), proposal(6, "K2")]) == [(1, 3), (6, 7)]


def test_a_stretch_in_which_rules_find_two_names_is_parted() -> None:
    """Two names said in one breath are two stretches."""
    said = [word(at) for at in range(8)]
    assert with_proposed([(1, 6)], said, [proposal(2, "K1"), proposal(4, "K2")]) == [(2, 3), (4, 5)]


def test_a_name_that_two_rows_share_is_asked_about() -> None:
    """Neither row is likely alone, but one of the two was shown: the likelier is asked about and the other offered."""
    tied = proposal(1, "K1", state="ask", heard="bone folder").but(runners_up=("K2",))
    (found,) = weighed((naming(1, {"K1": 0.2, "K2": 0.19}),), (tied,), ROWS, (), (), {})
    assert (found.code, found.role, found.state, found.runners_up) == ("K1", "shown", "ask", ("K2",))


def test_words_mended_to_a_rows_name_are_that_row() -> None:
    """A person who mends "utter" to "Otter" has said which row it is."""
    said = (sentence(["Otter", "Bone", "Folder"]),)
    heard = (sentence(["utter", "Bone", "Folder"]),)
    mended = proposal(1, "K1").but(end_ms=3900)
    assert listed(weighed((naming(1, {"K2": 0.6}),), (mended,), ROWS, said, heard, {})) == {"K1": "confirmed"}
    assert listed(weighed((naming(1, {"K2": 0.6}),), (mended,), ROWS, said, said, {})) != {"K1": "confirmed"}


def sentence(words: list[str]) -> Sentence:
    """Return words said one a second from the first second on."""
    made = tuple(word(at).but(text=text) for at, text in enumerate(words, 1))
    return Sentence(index=0, text=" ".join(words), words=made, start_ms=1000, end_ms=3900)
