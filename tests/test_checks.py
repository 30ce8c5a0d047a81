"""What a person must look at, put together from all stages."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import named
import pytest
import spoken

from studio import checks, supplies
from studio.model import (
    Catalogue,
    Correction,
    Finding,
    Measure,
    Mention,
    Offer,
    Product,
    Recording,
    Segment,
    Span,
    Transcript,
    Word,
)
from studio.settings import PublishingChoices

RECORDING = Recording(source="a.mp4", sha256="0", duration_ms=600_000, recorded_on=date(2026, 5, 20), has_sound=True)
HEARD = Transcript(language="en", recogniser="made up", heard_ms=600_000)
ROWS = (
    Product(code="N1", name="Autumn Box", available_from=date(2026, 6, 1)),
    Product(code="O1", name="Old Kit", available_until=date(2026, 4, 30), substitute="K1"),
    Product(code="K1", name="Kit", available_until=date(2026, 5, 31)),
)


def findings(*mentions: Mention, **more: Any) -> tuple[Finding, ...]:
    """Return the findings of a recording in which nothing else is wrong."""
    catalogue = Catalogue(products=ROWS)
    given = {
        "recording": RECORDING, "transcript": HEARD, "sentences": (), "mentions": mentions, "measures": (),
        "corrections": (), "offers": (), "supplies": supplies.supplies(mentions, catalogue, None),
        "catalogue": catalogue, "publishing": PublishingChoices(),
    }  # fmt: skip
    return checks.findings(**{**given, **more})


def kinds(found: tuple[Finding, ...]) -> list[tuple[str, str | None]]:
    """Return kind and code of findings."""
    return [(finding.kind, finding.code) for finding in found]


# --- availability ----------------------------------------------------------------------------------------------------


def test_an_item_off_sale_is_told_once_with_its_substitute() -> None:
    """Not yet on sale and retired are told of what is shown or mentioned; a row's substitute is offered."""
    found = findings(
        named.mention("N1", 1000, 1500),
        named.mention("O1", 2000, 2500),
        named.mention("O1", 9000, 9500, role="mentioned"),
    )
    assert kinds(found) == [("not_on_sale", "N1"), ("retired", "O1")]
    assert found[1].choices == ("K1",)
    assert "30 April 2026" in found[1].message
    assert found[0].expected == "from 2026-06-01"


def test_an_item_that_was_only_turned_down_raises_nothing() -> None:
    """In talk, "Not the old kit" may be said of a retired item."""
    assert findings(named.mention("O1", 1000, 1500, role="rejected")) == ()


def test_an_item_turned_down_whose_days_are_told_is_not_yet_on_sale() -> None:
    """In talk, "The new kit comes on the 22nd, I may not open it" tells of an item that is not on sale."""
    coming = Offer(kind="dates", heard="out on the 22nd", start_ms=1000, applies_to=("N1",), state="confirmed")
    found = findings(named.mention("N1", 1000, 1500, role="rejected"), offers=(coming,))
    assert ("not_on_sale", "N1") in kinds(found)


def test_the_day_of_publishing_counts_too() -> None:
    """An item on sale on the recording day is told where it is gone when it is published; its last day counts."""
    kit = named.mention("K1", 1000, 1500)
    assert findings(kit) == ()
    assert findings(kit, publishing=PublishingChoices(publish_on=date(2026, 5, 31))) == ()
    late = findings(kit, publishing=PublishingChoices(publish_on=date(2026, 6, 1)))
    assert kinds(late) == [("retired", "K1")]


# --- corrections -----------------------------------------------------------------------------------------------------


def measure(**more: Any) -> Measure:
    """Return a length of four inches."""
    base = {
        "id": "m1", "heard": "four inches", "start_ms": 5000, "end_ms": 5600, "values": (Fraction(4),), "unit": "in",
        "dimension": "length", "state": "confirmed",
    }  # fmt: skip
    return Measure(**{**base, **more})


def test_one_correction_seen_by_two_stages_is_one_finding() -> None:
    """The measure's own record and the correction heard at the same moment are told once; two moments twice."""
    heard = Correction(start_ms=4200, end_ms=5600, wrong="five", right="four inches", cue="no")
    other = Correction(start_ms=60_000, end_ms=61_000, wrong="red", right="blue", cue="sorry")
    found = findings(measures=(measure(replaces="five"),), corrections=(heard, other))
    assert [(one.kind, one.heard, one.expected) for one in found] == [
        ("self_correction", "five", "four inches"), ("self_correction", "red", "blue"),
    ]  # fmt: skip


def test_a_corrected_name_keeps_its_code() -> None:
    """The correction of an item's name says which item stands."""
    (found,) = findings(named.mention("K1", 1000, 1500, replaces="Old Kit"))
    assert (found.kind, found.code, found.heard) == ("self_correction", "K1", "Old Kit")


# --- what must be asked ----------------------------------------------------------------------------------------------


def test_two_rows_that_fit_alike_are_asked_with_the_choices() -> None:
    """An unsure name gives one question with its candidates, however often it was said."""
    unsure = {"state": "ask", "heard": "the kit", "runners_up": ("O1",)}
    found = findings(named.mention("K1", 1000, 1500, **unsure), named.mention("K1", 9000, 9500, **unsure))
    (asked,) = [one for one in found if one.kind == "ambiguous_item"]
    assert (asked.choices, asked.severity) == (("K1", "O1"), "ask")


def test_a_thing_that_the_catalogue_does_not_have_is_noted_once() -> None:
    """An unlisted thing raises a note, no question about a code."""
    lamp = {"role": "unlisted", "heard": "my old lamp", "state": "ask"}
    found = findings(named.mention(None, 1000, 1500, **lamp), named.mention(None, 3000, 3500, **lamp))
    assert [(one.kind, one.severity) for one in found] == [("unlisted_item", "note")]


def test_an_unclear_measure_and_an_unclear_offer_are_asked() -> None:
    """What has the state `ask` becomes a question that says why."""
    offer = Offer(kind="percent_off", heard="ten off", start_ms=1, state="ask", doubt="two days are named")
    found = findings(measures=(measure(state="ask"),), offers=(offer,))
    assert [one.kind for one in found] == ["offer_unclear", "unclear_measure"]
    assert "two days are named" in found[0].message


def test_an_expired_offer_is_an_error_from_the_day_after_its_last() -> None:
    """Ends 31 August inclusive: live on the 31st, blocked on 1 September (check P9, common practice)."""
    offer = Offer(kind="free_delivery", heard="free post", start_ms=1, ends_on=date(2026, 8, 31), state="confirmed")

    def on(day: date) -> list[tuple[str, str]]:
        found = findings(offers=(offer,), publishing=PublishingChoices(publish_on=day))
        return [(one.kind, one.severity) for one in found]

    assert on(date(2026, 8, 31)) == []
    assert on(date(2026, 9, 1)) == [("offer_expired", "error")]


# --- the sound -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("duration_ms", "heard_ms", "lost"),
    [
        (600_000, 597_000, False),  # 0.5 % of ten minutes
        (600_000, 596_999, True),
        (60_000, 59_000, False),  # one second
        (60_000, 58_999, True),
        (60_000, 61_000, False),
    ],
)
def test_lost_sound_is_told_above_a_second_and_half_a_percent(duration_ms: int, heard_ms: int, lost: bool) -> None:
    """Less than the limit is the container's rounding; more is missing speech (common practice, no source)."""
    found = findings(recording=RECORDING.but(duration_ms=duration_ms), transcript=HEARD.but(heard_ms=heard_ms))
    assert [one.kind for one in found] == (["sound_lost"] if lost else [])


def test_a_caption_file_has_no_sound_to_lose() -> None:
    """Nothing was decoded and nothing is missing where captions were given."""
    assert findings(recording=RECORDING.but(has_sound=False), transcript=HEARD.but(heard_ms=0)) == ()


def test_speech_without_a_word_is_told_where_it_is() -> None:
    """A stretch of speech of 1.5 s or more with no word on it is told; a shorter one, or one with a word, is not."""
    words = (Word(start_ms=10_000, end_ms=10_400, text="hello"), Word(start_ms=30_000, end_ms=30_400, text="there"))
    spans = ((2_000, 3_400), (9_500, 12_000), (20_000, 21_500), (29_000, 31_000), (40_000, 45_000))
    heard = HEARD.but(
        segments=(Segment(start_ms=10_000, end_ms=30_400, text="hello there", words=words),),
        speech=tuple(Span(start_ms=start, end_ms=end) for start, end in spans),
    )
    found = findings(transcript=heard)
    assert [(one.kind, one.start_ms) for one in found] == [("unheard_speech", 20_000), ("unheard_speech", 40_000)]


def test_sound_like_speech_that_was_not_heard_is_told() -> None:
    """Where nothing was heard because no voice was detected, the person is sent to listen; not where words are."""
    words = (Word(start_ms=10_000, end_ms=10_400, text="hello"),)
    heard = HEARD.but(
        segments=(Segment(start_ms=10_000, end_ms=10_400, text="hello", words=words),),
        missed=(Span(start_ms=9_000, end_ms=12_000), Span(start_ms=40_000, end_ms=55_000)),
    )
    (found,) = findings(transcript=heard)
    assert (found.kind, found.severity, found.start_ms) == ("unheard_speech", "warning", 40_000)
    assert "15.0 s" in found.message


# --- everything together ---------------------------------------------------------------------------------------------


def test_findings_come_in_the_order_of_the_recording() -> None:
    """Whatever check found it, a finding stands where it was said."""
    text = "Ring me on 07700 900456. I earn extra money with this. It's completely safe."
    found = findings(named.mention("N1", 100, 500), sentences=spoken.sentences(text))
    assert [one.kind for one in found] == ["not_on_sale", "private_detail", "earnings_claim", "safety_claim"]
    assert [one.start_ms for one in found] == sorted(one.start_ms for one in found)


def test_a_talk_in_which_all_is_right_raises_nothing() -> None:
    """Right statements are silent."""
    row = Product(code="P1", name="Sketch Pad", price=Decimal(6), currency="GBP", contents="20 sheets", page="4")
    sentences, mentions = named.said(
        "This is the *sketch pad*, six pounds, page four. There's twenty sheets in it.", (row,)
    )
    catalogue = Catalogue(products=(row,))
    assert findings(*mentions, sentences=sentences, catalogue=catalogue, supplies=()) == ()
