"""Which sentences the post tells, by what each of them does."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import small_document
import talk_folio

from studio.model import Document, Sense, SentenceKind
from studio.reader import sense
from studio.reader.pieces import FLAGS, KINDS
from studio.writing.draft import draft
from studio.writing.facts import Group, Items, Steps
from studio.writing.written import Draft

Said = tuple[SentenceKind, str]


def spoken(*told: Said) -> Document:
    """Return a document of these sentences and nothing else that is known of them, in one chapter."""
    sentences = small_document.spoken_sentences(tuple(text for _, text in told), tuple(kind for kind, _ in told))
    parts = "mentions measures cuts chapters offers findings corrections spellings cautions stills supplies"
    none: dict[str, tuple[()]] = dict.fromkeys(parts.split(), ())
    made: Document = small_document.document().but(sentences=tuple(sentences), **none)
    return made


def written(*told: Said) -> Draft:
    """Return the draft of these sentences."""
    return draft(spoken(*told), small_document.catalogue())


def texts(*told: Said) -> list[str]:
    """Return the lines that become of these sentences."""
    return [line.text for line in written(*told).lines]


def read(warn: float = 0.0, **kinds: float) -> SentenceKind:
    """Return what a sentence of these probabilities is taken to be."""
    flags = {**dict.fromkeys(FLAGS, 0.0), "warn": warn}
    return sense.kind(Sense(index=0, kinds={**dict.fromkeys(KINDS, 0.0), **kinds}, starts=0.0, flags=flags))


def test_what_warns_comes_before_what_instructs_and_that_before_all_else() -> None:
    """A sentence is a warning or a step from its own probability on, and else the likeliest of what is left."""
    assert read(warning=0.41, step=0.59) == "warning"
    assert read(warning=0.1, step=0.41, chat=0.49) == "step"
    assert read(step=0.3, fact=0.4, tip=0.3) == "fact"


def test_talk_is_what_is_rather_talk_than_anything_else() -> None:
    """Chat, greeting and viewer count together; what is less than half talk, or may warn, is told."""
    assert read(chat=0.3, viewer=0.25, fact=0.45) == "chat"
    assert read(chat=0.45, fact=0.3, tip=0.25) == "fact"
    assert read(warn=0.6, chat=0.8, fact=0.1, tip=0.1) in {"fact", "tip"}


def test_the_document_tells_what_each_sentence_does(tmp_path: Path) -> None:
    """What the reader holds the sentences to be stands with them in the folio, without a probability."""
    document = talk_folio.read(talk_folio.box(tmp_path))[0]
    kinds = {one.text.split(",")[0]: one.kind for one in document.sentences}
    assert kinds["Cut the base at one hundred and fifty by one hundred millimetres."] == "step"
    assert kinds["Mind your fingers"] == "warning"
    assert document.sentences[0].kind == "greeting"


@pytest.mark.parametrize("kind", ["chat", "greeting", "viewer", "offer"])
def test_talk_is_left_out_with_its_reason(kind: SentenceKind) -> None:
    """Talk, greetings, answers to nobody else and talk of a sale are no part of the post; the trace says why."""
    made = written(("step", "Cut the card in two."), (kind, "We had a lovely time of it by the sea."))
    assert [line.text for line in made.lines] == ["Cut the card in two."]
    assert [one.text for one in made.left_out] == ["We had a lovely time of it by the sea."]
    assert made.left_out[0].reason


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("step", "Lid on, towel round it."),
        ("step", "Then the foot."),
        ("step", "Fold."),
        ("step", "Don't press."),
        ("warning", "Never the bare hand."),
        ("warning", "Hot, that."),
        ("tip", "Slowly, slowly, with the grain."),
    ],
)
def test_an_instruction_or_a_warning_is_no_fragment(kind: SentenceKind, said: str) -> None:
    """Short, negative, without a verb: what instructs or warns stays."""
    kept = texts(("fact", "The cloth is a coarse one from the market."), (kind, said))
    assert any(said.rstrip(".").split(", ")[-1].lower() in one.lower() for one in kept[1:])


def test_talk_stays_where_what_is_told_leans_on_it() -> None:
    """What opens with "it" or "because" keeps the sentence before it, which keeps what it leans on in its turn."""
    told: tuple[Said, ...] = (
        ("chat", "My neighbour dropped in on Tuesday."),
        ("chat", "I found an old brass hinge in the drawer."),
        ("chat", "It was all green and furry then."),
        ("fact", "It's solid, and it holds the lid up."),
    )
    assert texts(*told) == [text for _, text in told[1:]]


def test_a_viewers_question_stays_with_its_answer_alone() -> None:
    """A question that was read out is told where the sentence after it is told, and goes with talk."""
    question: Said = ("viewer", "Can you use a thinner board for the lid?")
    answer: Said = ("fact", "A thinner board bends in the damp.")
    assert texts(question, answer) == [question[1], answer[1]]
    assert texts(question, ("chat", "Who knows what we had for tea."), answer) == [answer[1]]


def test_what_is_made_is_told_in_the_opening_even_by_the_way() -> None:
    """The sentence of the opening that says what is made stays, whatever else it is."""
    talk = spoken(
        ("greeting", "Hello and good evening to all of you."),
        ("chat", "Today we're making a folded card from what I found."),
        ("fact", "The card is very stiff and white."),
    )
    chapters = small_document.document().chapters
    made = draft(talk.but(chapters=(chapters[0], chapters[1].but(start_ms=12_000))), small_document.catalogue())
    assert [line.text for line in made.intro] == ["Today we're making a folded card from what I found."]


STEPS: tuple[Said, ...] = (
    ("step", "Cut the amber strip to the length of the lid."),
    ("step", "Fold it along the pencil line."),
    ("step", "Brush paste onto the back."),
    ("step", "Lay the linen over the hinge."),
    ("step", "Press everything flat under a board."),
    ("step", "Trim what sticks out with scissors."),
)


def blocks(*told: Said) -> list[Any]:
    """Return the blocks of the one section of a post: paragraphs as lists, steps as lists of lists of sentences."""
    (section,) = small_document.edition(spoken(*told)).facts.sections
    texts: Callable[[Group], list[str]] = lambda some: [one.text for one in some]  # noqa: E731
    made: list[Any] = []
    for block in section.blocks:
        assert not isinstance(block, Items)
        made.append([block.first, *map(texts, block.steps)] if isinstance(block, Steps) else texts(block.sentences))
    return made


def test_a_step_is_numbered_its_warning_stands_with_it_and_all_else_is_prose() -> None:
    """Reasons between two steps are a paragraph and the numbers go on; a warning is part of the step before it."""
    warning: Said = ("warning", "Mind your fingers at the corner.")
    reason: Said = ("fact", "The glue grabs quite quickly in the warm.")
    first, *rest = ([text] for _, text in STEPS)
    made = blocks(STEPS[0], warning, reason, *STEPS[1:])
    assert made == [[1, [*first, warning[1]]], [reason[1]], [2, *rest]]


def test_a_warning_without_a_step_before_it_opens_the_step_after() -> None:
    """What must be known before the hands move stands in the step, ahead of what to do."""
    warning: Said = ("warning", "Switch it off before your fingers go in there.")
    made = blocks(STEPS[0], ("fact", "The blade is a new one from the market."), warning, *STEPS[1:])
    assert made[2][1] == [warning[1], STEPS[1][1]]


def test_steps_said_in_one_breath_are_one_step() -> None:
    """A sentence that is parted in two stays one number."""
    both: Said = ("step", "Then you glue the two short sides in, you wipe the edges off with a cloth.")
    made = blocks(*STEPS, both)
    assert made[0][-1] == ["Then you glue the two short sides in.", "You wipe the edges off with a cloth."]


def test_a_few_words_without_a_verb_belong_to_the_step_before() -> None:
    """What only goes on with a step gets no number, and one word that instructs nothing is left out."""
    made = blocks(STEPS[0], ("step", "All along the rim."), ("step", "So."), *STEPS[1:])
    assert made[0][1] == [STEPS[0][1], "All along the rim."]
    assert len(made[0]) == 1 + len(STEPS)


def test_steps_in_the_first_of_several_chapters_are_printed() -> None:
    """The opening ends where the first step begins; the step and what follows stand under their chapter."""
    talk = spoken(("fact", "It is a box that I have made before."), *STEPS)
    chapters = small_document.document().chapters
    made = draft(talk.but(chapters=(chapters[0], chapters[1].but(start_ms=30_000))), small_document.catalogue())
    assert [line.text for line in made.intro] == ["It is a box that I have made before."]
    assert [line.text for section in made.sections for line in section.lines] == [text for _, text in STEPS]
