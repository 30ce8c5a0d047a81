"""Everything a person must look at: what was said against the catalogue, and what should not be published unseen."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from studio.checks.contradictions import contradictions, dates_against_rows
from studio.checks.fits import impossible_sizes
from studio.checks.privacy import private_details
from studio.checks.statements import earnings_claims, safety_claims
from studio.model import (
    Catalogue,
    Correction,
    Finding,
    Measure,
    Mention,
    Offer,
    Product,
    Recording,
    Sentence,
    Span,
    Supply,
    Transcript,
    Word,
)
from studio.settings import PublishingChoices
from studio.timecode import clock

VERSION = 8
LOST_MS, LOST_SHARE = 1000, 0.005
"""Sound is missing where more than this, and more than this share of the recording, could not be decoded."""
UNHEARD_MS = 1500
"""Speech of this length without a word on it is told."""
_ONE_CORRECTION_MS = 3000
"""Two signs of a self-correction this near to each other are one."""


def findings(
    recording: Recording,
    transcript: Transcript,
    sentences: tuple[Sentence, ...],
    mentions: tuple[Mention, ...],
    measures: tuple[Measure, ...],
    corrections: tuple[Correction, ...],
    offers: tuple[Offer, ...],
    supplies: tuple[Supply, ...],
    catalogue: Catalogue,
    publishing: PublishingChoices,
) -> tuple[Finding, ...]:
    """Return all findings in the order of the recording, each thing once.

    Args:
        recording: its length and its day.
        transcript: what was heard of it.
        sentences: the talk.
        mentions: what was named.
        measures: the sizes and amounts said.
        corrections: the self-corrections heard.
        offers: the promotions told.
        supplies: the supply list; the rows on it weigh more than what was only mentioned.
        catalogue: what is right.
        publishing: the day of publishing and the people who agreed to be named.
    """
    days = [day for day in (recording.recorded_on, publishing.publish_on) if day]
    found = (
        *_lost_sound(recording, transcript),
        *_unheard(transcript),
        *contradictions(sentences, mentions, catalogue, offers),
        *dates_against_rows(offers, catalogue),
        *_availability(mentions, offers, supplies, catalogue, days),
        *_corrected(mentions, measures, offers, corrections),
        *_unsure_items(mentions, catalogue),
        *_unclear(measures, offers),
        *_expired(offers, days),
        *impossible_sizes(measures, sentences, mentions, catalogue),
        *private_details(sentences, catalogue, publishing.keep_names),
        *earnings_claims(sentences),
        *safety_claims(sentences, mentions, catalogue),
    )
    return tuple(sorted(found, key=lambda finding: finding.start_ms))


# --- the sound -------------------------------------------------------------------------------------------------------


def _lost_sound(recording: Recording, transcript: Transcript) -> Iterator[Finding]:
    lost = recording.duration_ms - transcript.heard_ms
    if recording.has_sound and lost > max(LOST_MS, recording.duration_ms * LOST_SHARE):
        message = f"The last {lost / 1000:.1f} s of the sound could not be decoded. Export the recording again."
        yield Finding(
            kind="sound_lost",
            severity="error",
            message=message,
            heard=clock(transcript.heard_ms),
            expected=clock(recording.duration_ms),
            start_ms=transcript.heard_ms,
        )


def _unheard(transcript: Transcript) -> Iterator[Finding]:
    words = sorted((word for segment in transcript.segments for word in segment.words), key=lambda word: word.start_ms)
    for spans, what in ((transcript.speech, "speech"), (transcript.missed, "sound like speech")):
        for span in _without_words(spans, words):
            length = (span.end_ms - span.start_ms) / 1000
            message = f"There is {what} of {length:.1f} s here that was not written down. Listen to it."
            yield Finding(kind="unheard_speech", severity="warning", message=message, start_ms=span.start_ms)


def _without_words(spans: Iterable[Span], words: Sequence[Word]) -> Iterator[Span]:
    place = 0
    for span in spans:
        while place < len(words) and words[place].end_ms <= span.start_ms:
            place += 1
        empty = place == len(words) or words[place].start_ms >= span.end_ms
        if empty and span.end_ms - span.start_ms >= UNHEARD_MS:
            yield span


# --- items -----------------------------------------------------------------------------------------------------------


def _availability(
    mentions: Sequence[Mention],
    offers: Sequence[Offer],
    supplies: Sequence[Supply],
    catalogue: Catalogue,
    days: Sequence[date],
) -> Iterator[Finding]:
    """Tell each item named that is retired or not yet on sale on the recording day or the day of publishing.

    A name that was taken back counts only where its days on sale were told.
    """
    products = catalogue.by_code()
    dated = {code for offer in offers if offer.kind in ("dates", "last_chance") for code in offer.applies_to}
    listed = {supply.code for supply in supplies}
    first: dict[str, Mention] = {}
    for mention in sorted(mentions, key=lambda one: one.start_ms):
        if mention.code in products and (mention.role != "rejected" or mention.code in dated):
            first.setdefault(mention.code or "", mention)
    for code, mention in first.items():
        problem = _off_sale(products[code], days)
        if problem:
            kind, told, expected = problem
            yield Finding.model_validate({
                "kind": kind, "severity": "error" if code in listed else "warning", "heard": mention.heard,
                "message": f"{products[code].name} {told}.", "expected": expected, "start_ms": mention.start_ms,
                "code": code, "choices": tuple(filter(None, [products[code].substitute])),
            })  # fmt: skip


def _off_sale(product: Product, days: Sequence[date]) -> tuple[str, str, str] | None:
    start, end = product.available_from, product.available_until
    late = [day for day in days if end and day > end]
    if late and end:
        instead = f"; the catalogue names {product.substitute} in its place" if product.substitute else ""
        return "retired", f"left the catalogue after {_long(end)}{instead}", f"until {end}"
    if start and any(day < start for day in days):
        return "not_on_sale", f"is not on sale before {_long(start)}", f"from {start}"
    return None


def _long(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


def _unsure_items(mentions: Sequence[Mention], catalogue: Catalogue) -> Iterator[Finding]:
    """Ask once for each name that may be more than one row, or that no row fits."""
    names = {product.code: product.name for product in catalogue.products}
    asked: set[tuple[str, tuple[str, ...]]] = set()
    for mention in mentions:
        heard = mention.heard.lower()
        choices = tuple(dict.fromkeys(filter(None, (mention.code, *mention.runners_up))))
        if mention.role == "unlisted" and (heard, ()) not in asked:
            asked.add((heard, ()))
            message = f'"{mention.heard}" is no item of the catalogue: it is listed without a code or a price.'
            yield _ask("unlisted_item", mention, message, ())
        elif mention.role != "unlisted" and mention.state == "ask" and (heard, choices) not in asked:
            asked.add((heard, choices))
            named = " or ".join(names.get(code, code) for code in choices) or "which item is not clear"
            yield _ask("ambiguous_item", mention, f'"{mention.heard}" may be {named}.', choices)


def _ask(kind: str, mention: Mention, message: str, choices: tuple[str, ...]) -> Finding:
    printed = kind == "ambiguous_item" and mention.role in {"shown", "gift"}
    return Finding.model_validate({
        "kind": kind, "severity": "ask" if printed else "note", "message": message,
        "heard": mention.heard, "start_ms": mention.start_ms, "code": mention.code, "choices": choices,
    })  # fmt: skip


# --- corrections, measures, offers -----------------------------------------------------------------------------------


def _corrected(
    mentions: Sequence[Mention],
    measures: Sequence[Measure],
    offers: Sequence[Offer],
    corrections: Sequence[Correction],
) -> Iterator[Finding]:
    """Tell each self-correction once, whichever stages saw it; an item's or a measure's own record is preferred."""
    spans: list[tuple[int, int]] = []
    for start, end, wrong, right, code in _signs(mentions, measures, offers, corrections):
        near = [(a, b) for a, b in spans if start <= b + _ONE_CORRECTION_MS and a <= end + _ONE_CORRECTION_MS]
        if near:
            continue
        spans.append((start, end))
        message = f'You said "{wrong}" and then "{right}": the last one stands.'
        yield Finding(
            kind="self_correction",
            severity="note",
            message=message,
            heard=wrong,
            expected=right,
            start_ms=start,
            code=code,
        )


def _signs(
    mentions: Iterable[Mention],
    measures: Iterable[Measure],
    offers: Iterable[Offer],
    corrections: Iterable[Correction],
) -> Iterator[tuple[int, int, str, str, str | None]]:
    for mention in mentions:
        if mention.replaces:
            yield mention.start_ms, mention.end_ms, mention.replaces, mention.heard, mention.code
    for measure in measures:
        if measure.replaces and measure.replaces != measure.heard:
            yield measure.start_ms, measure.end_ms, measure.replaces, measure.heard, measure.code
    for correction in corrections:
        yield correction.start_ms, correction.end_ms, correction.wrong, correction.right, None
    for offer in offers:
        if offer.replaces:
            yield offer.start_ms, offer.start_ms + 10_000, offer.replaces, f"{offer.threshold or offer.heard}", None


def _unclear(measures: Iterable[Measure], offers: Iterable[Offer]) -> Iterator[Finding]:
    for measure in measures:
        if measure.state == "ask":
            message = f'"{measure.heard}" can be read in more than one way. Say what it measures and in which unit.'
            yield Finding(
                kind="unclear_measure",
                severity="ask",
                message=message,
                heard=measure.heard,
                start_ms=measure.start_ms,
                code=measure.code,
            )
    for offer in offers:
        if offer.state == "ask":
            message = f"The terms of this offer are not certain: {offer.doubt or 'they were not heard clearly'}."
            yield Finding(
                kind="offer_unclear", severity="ask", message=message, heard=offer.heard, start_ms=offer.start_ms
            )


def _expired(offers: Iterable[Offer], days: Sequence[date]) -> Iterator[Finding]:
    """Tell each offer that is over on the day of publishing; its last day still counts."""
    if not days:
        return
    for offer in offers:
        if offer.ends_on and days[-1] > offer.ends_on:
            message = f"This offer ended on {_long(offer.ends_on)}: it must not be published on {_long(days[-1])}."
            yield Finding(
                kind="offer_expired",
                severity="error",
                message=message,
                heard=offer.heard,
                expected=f"until {offer.ends_on}",
                start_ms=offer.start_ms,
                code=offer.reward_code,
            )
