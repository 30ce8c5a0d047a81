"""What was on the table, and what only a person can answer: asked of a small document."""

from decimal import Decimal

import pytest

from studio import lookup, questions
from studio.errors import BonefolderError
from studio.model import (
    Catalogue,
    Chapter,
    Document,
    Finding,
    Measure,
    Mention,
    Offer,
    Product,
    Recording,
    Sentence,
    SentenceWord,
    Supply,
    Transcript,
)


def said(index: int, at: int, text: str) -> Sentence:
    """A sentence of three seconds."""
    word = SentenceWord(start_ms=at, end_ms=at + 3000, text=text, start=0, end=len(text))
    return Sentence(index=index, text=text, words=(word,), start_ms=at, end_ms=at + 3000)


def mention(at: int, heard: str, code: str | None, state: str = "confirmed", **more: object) -> Mention:
    """A mention of one second."""
    given = {"role": "shown", "confidence": 0.9, **more}
    return Mention(id=f"m{at}", code=code, heard=heard, start_ms=at, end_ms=at + 1000, state=state, **given)  # type: ignore[arg-type]


def row(at: int, code: str, name: str) -> Supply:
    """A row of the supply list."""
    return Supply(code=code, name=name, kind="", first_shown_ms=at, mention_ids=(f"m{at}",), price=Decimal("4.50"),
                  currency="GBP", url=f"https://shop.example/{code}", state="confirmed",
                  still=f"stills/{code}.jpg")  # fmt: skip


CATALOGUE = Catalogue(
    products=tuple(Product(code=c, name=n, colour=k) for c, n, k in (
        ("P1", "Kingfisher Paper", "blue"), ("D1", "Dove Card", "white"), ("D2", "Dove Grey Card", "grey"),
    ))
)  # fmt: skip
DOCUMENT = Document(
    recording=Recording(source="a.mp4", sha256="0", duration_ms=600_000),
    transcript=Transcript(language="en", recogniser="test"),
    sentences=(
        said(0, 5000, "Hello there."), said(1, 380_000, "This blue paper is a joy."),
        said(2, 420_000, "The dove card."),
    ),
    mentions=(
        mention(381_000, "blue paper", "P1"),
        mention(421_000, "the dove card", "D1", "ask", runners_up=("D2",)),
        mention(430_000, "my old knife", None, "absent", role="unlisted"),
        mention(500_000, "dove card", "D1", "ask", runners_up=("D2",)),
    ),
    supplies=(row(381_000, "P1", "Kingfisher Paper"), row(421_000, "D1", "Dove Card")),
    chapters=tuple(Chapter(start_ms=at, title=t) for at, t in ((0, "Start"), (370_000, "Paper"), (415_000, "Card"))),
)  # fmt: skip


@pytest.mark.parametrize(
    ("question", "at_ms"),
    [("6:20?", 380_000), ("what was on the table at 1:06:20", 3_980_000), ("0:07", 7000), ("blue paper", None),
     ("16:9 paper", None), ("6:75", None), ("12:345", None)],
)  # fmt: skip
def test_a_time_is_found_in_a_question(question: str, at_ms: int | None) -> None:
    """A clock time is read as people write it; ratios and nonsense are words."""
    assert lookup.time_in(question) == at_ms


def test_what_was_on_the_table_at_a_time() -> None:
    """The item shown near the time comes with its row, its still, its link, the chapter and what was said."""
    moment = lookup.moment_at(DOCUMENT, 383_000)
    assert (moment.chapter, moment.said) == ("Paper", "This blue paper is a joy.")
    assert [item.row.code for item in moment.items if item.row] == ["P1"]
    line = lookup.answer(DOCUMENT, "6:23")[1]
    for part in ("Kingfisher Paper", "P1", "4.50 GBP", "stills/P1.jpg", "https://shop.example/P1"):
        assert part in line


def test_what_is_not_sure_says_so() -> None:
    """Of two rows both are named; a thing that the catalogue does not have is called so; nothing is guessed."""
    lines = "\n".join(lookup.answer(DOCUMENT, "7:02"))
    assert "not sure: D1 or D2 (heard: “the dove card”)" in lines
    assert "not in the catalogue: “my old knife”" in lines


def test_words_find_their_moments() -> None:
    """Words find what was named by them and what was said, in any number and case; what nobody said is told."""
    assert [moment.at_ms for moment in lookup.search(DOCUMENT, "Blue papers")] == [381_000]
    assert lookup.search(DOCUMENT, "kingfisher")[0].at_ms == 381_000
    assert lookup.answer(DOCUMENT, "purple glitter") == ["Nothing was said or shown that fits “purple glitter”."]
    assert lookup.answer(DOCUMENT, "  ") == ["Nothing was said or shown that fits “  ”."]


def test_a_time_behind_the_end_is_told() -> None:
    """The person learns where the recording ends."""
    with pytest.raises(BonefolderError, match="It ends at 10:00"):
        lookup.moment_at(DOCUMENT, 700_000)


@pytest.mark.parametrize(
    ("words", "codes"),
    [("dove", ["D1", "D2"]), ("GREY ca", ["D2"]), ("blue", ["P1"]), ("p1", ["P1"]), ("ove", []), ("", [])],
)
def test_rows_are_found_by_the_beginnings_of_words(words: str, codes: list[str]) -> None:
    """Code, name, kind and colour are looked through; the middle of a word is no find."""
    assert [one.code for one in lookup.products(CATALOGUE, words)] == codes


def test_questions_come_riskiest_first_and_each_once() -> None:
    """Wrong, then to decide, then to check; a finding that only repeats a question is not asked again."""
    risky = DOCUMENT.but(
        findings=(
            Finding(kind="ambiguous_item", severity="ask", message="Which?", start_ms=421_000),
            Finding(kind="earnings_claim", severity="warning", message="Earnings.", start_ms=1000),
            Finding(kind="contradiction", severity="error", message="Price.", start_ms=381_000),
            Finding(kind="private_detail", severity="ask", message="Number.", start_ms=2000),
            Finding(kind="self_correction", severity="note", message="Ten, no, nine.", start_ms=2000),
        ),
        measures=(
            Measure(
                id="q", heard="an eighth", start_ms=9000, end_ms=9500, values=(), unit="", dimension="", state="ask"
            ),
        ),
        offers=(Offer(kind="dates", heard="until Friday", start_ms=9000, state="ask"),),
    )
    found = questions.questions(risky, CATALOGUE)
    assert [one.about for one in found] == ["finding", "finding", "item", "offer", "measure", "finding"]
    assert [one.severity for one in found] == ["error", "ask", "ask", "ask", "ask", "warning"]
    assert len(questions.open_keys(found)) == 5


def test_the_same_words_are_one_question() -> None:
    """“The dove card” heard twice with the same two rows is asked once, with both choices and a count."""
    (item,) = questions.questions(DOCUMENT, CATALOGUE)
    assert (item.times, [choice.code for choice in item.choices]) == (2, ["D1", "D2"])
    assert item.text == "Which one is “the dove card”: the Dove Card or the Dove Grey Card?"
