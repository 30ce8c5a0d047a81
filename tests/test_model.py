"""The document and its JSON."""

import json
from datetime import date
from decimal import Decimal
from fractions import Fraction

import jsonschema
import pytest
from pydantic import ValidationError

from studio.model import Document, Measure, Offer, Recording, Sentence, SentenceWord, Transcript, schema

RECORDING = Recording(source="a.mp4", sha256="0" * 64, duration_ms=1000, fps=Fraction(30000, 1001), has_sound=True)


def test_quantities_and_money_are_strings_in_json() -> None:
    """A length is written as an exact fraction and money with its pence, never as a float."""
    measure = Measure(id="m1", heard="four and a quarter", start_ms=0, end_ms=1, values=(Fraction(17, 4),), unit="in",
                      dimension="length", state="confirmed")  # fmt: skip
    offer = Offer(kind="gift_over_threshold", heard="", start_ms=0, threshold=Decimal("35.00"), state="confirmed")
    assert json.loads(measure.model_dump_json())["values"] == ["17/4"]
    assert json.loads(offer.model_dump_json())["threshold"] == "35.00"


def test_the_document_reads_back_and_fits_its_schema() -> None:
    """What is written validates against the published JSON Schema (draft 2020-12) and reads back equal."""
    offer = Offer(kind="dates", heard="", start_ms=5, ends_on=date(2026, 4, 30), state="ask")
    transcript = Transcript(language="en", recogniser="base")
    document = Document(recording=RECORDING, transcript=transcript, offers=(offer,))
    text = document.model_dump_json()
    jsonschema.validate(json.loads(text), schema.schema())
    assert Document.model_validate_json(text) == document


@pytest.mark.parametrize("change", [{"duration_ms": -1}, {"length": 3}, {"fps": "fast"}, {"fps": True}])
def test_a_field_that_cannot_be_is_refused(change: dict[str, object]) -> None:
    """Negative times, unknown fields and quantities that are no number never get into the document."""
    with pytest.raises((ValidationError, ValueError)):
        Recording.model_validate({**RECORDING.model_dump(), **change})


def test_yes_is_no_sum_of_money() -> None:
    """A truth value is refused where money is asked for, though Python would take it for one."""
    with pytest.raises(ValidationError):
        Offer.model_validate({"kind": "dates", "heard": "", "start_ms": 0, "threshold": True, "state": "ask"})


def test_characters_of_a_sentence_tell_their_time() -> None:
    """A span of the text gives the start of its first and the end of its last word."""
    words = (
        SentenceWord(text="Cut", start=0, end=3, start_ms=100, end_ms=200),
        SentenceWord(text="four", start=4, end=8, start_ms=300, end_ms=400),
        SentenceWord(text="inches.", start=9, end=16, start_ms=450, end_ms=800),
    )
    sentence = Sentence(index=0, text="Cut four inches.", words=words, start_ms=100, end_ms=800)
    assert sentence.time_of(4, 15) == (300, 800)
    assert sentence.time_of(0, 3) == (100, 200)
    assert sentence.time_of(0, 4) == (100, 200)
    assert sentence.time_of(4, 4) == (300, 400)


def test_a_sentence_without_words_has_one_time_for_all() -> None:
    """Where no word has a time, a span of the text has the time of the sentence."""
    assert Sentence(index=0, text="Cut.", words=(), start_ms=100, end_ms=800).time_of(1, 3) == (100, 800)
