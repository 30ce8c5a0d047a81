"""Promotions as they are told: what must be spent, what comes with it, from when to when."""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from datetime import date

from studio import dates, quantity
from studio.model import Catalogue, Mention, Offer, OfferKind, Sentence
from studio.offers import terms
from studio.offers.days import OfferReading, asked, of_items, with_days
from studio.offers.terms import says
from studio.quantity.money import DOLLARS
from studio.settings import KnownOffer, PublishingChoices

VERSION = 4
_CARRY = 2
"""Sentences over which an offer goes on ("and that runs until Friday")."""
_TERMS: tuple[OfferKind, ...] = (
    "gift_over_threshold", "gift_with_purchase", "percent_off", "free_delivery", "buy_n_get_m",
)  # fmt: skip


def offers(
    sentences: tuple[Sentence, ...],
    mentions: tuple[Mention, ...],
    catalogue: Catalogue,
    recorded_on: date | None,
    publishing: PublishingChoices,
    known: tuple[KnownOffer, ...],
) -> tuple[Offer, ...]:
    """Return the promotions in the order they were told, a promotion told twice twice.

    Args:
        sentences: the talk.
        mentions: what was named in it.
        catalogue: where gifts and the dates of items come from.
        recorded_on: the day from which "Friday" and "tomorrow" are counted.
        publishing: the currency where the catalogue has none.
        known: offers that the person has in writing; one that is told otherwise is asked.
    """
    currencies = [product.currency for product in catalogue.products if product.currency]
    currency = max(set(currencies), key=currencies.count) if currencies else publishing.currency
    by_time = tuple(sorted(mentions, key=lambda one: one.start_ms))
    talk = OfferReading(by_time, catalogue.by_code(), recorded_on, currency)
    for place, sentence in enumerate(sentences):
        before = sentences[place - 1].text if place else ""
        after = sentences[place + 1].text if place + 1 < len(sentences) else ""
        talk.before_ms = sentences[place - 1].start_ms if place else sentence.start_ms
        found = _told(sentence, talk, before, after)
        if found and not _is_code_of_the_last(found, place, talk):
            talk.told += [(place, offer) for offer in found]
        else:
            _gone_on(place, sentence, talk)
    told = _agreed([offer for _, offer in _without_announcements(talk)])
    return tuple(_against_known(offer, known) for offer in told)


def _said_in(sentence: Sentence, mentions: Sequence[Mention]) -> list[Mention]:
    """Return the mentions of a sentence, of mentions in the order of time."""
    edges = (sentence.start_ms, max(sentence.end_ms, sentence.start_ms + 1))
    first, last = (bisect_left(mentions, ms, key=lambda one: one.start_ms) for ms in edges)
    return list(mentions[first:last])


# --- one sentence ----------------------------------------------------------------------------------------------------


def _told(sentence: Sentence, talk: OfferReading, before: str, after: str) -> list[Offer]:
    text = sentence.text.replace("’", "'")
    period = dates.period(text, talk.on)
    named = _said_in(sentence, talk.mentions)
    found = _with_terms(text, sentence, talk, named, period, before, after)
    if not found:
        found = _reminder(text, sentence, talk, named)
    if found:
        return [with_days(offer, period) for offer in found]
    if not named and says("goes_on", text):
        earlier = [m for m in talk.mentions if talk.before_ms <= m.start_ms < sentence.start_ms]
        named = [m for m in earlier if m.code and m.role != "rejected"][-1:]
    of_item = of_items(text, sentence, talk, named, period)
    return [of_item] if of_item else []


def _with_terms(
    text: str,
    sentence: Sentence,
    talk: OfferReading,
    named: list[Mention],
    period: dates.Period | None,
    before: str,
    after: str,
) -> list[Offer]:
    """Read an offer that has terms of its own: a sum, a percent, a count, a gift."""
    base = Offer(kind="dates", heard=sentence.text, start_ms=sentence.start_ms, state="confirmed")
    code = terms.promo_code(sentence.text)
    base = base.but(promo_code=code if code not in talk.products else None)
    percents = terms.percents(text, before)
    sums = terms.thresholds(text, (period.start, period.end) if period else None)
    if terms.is_free_delivery(text):
        sums = terms.thresholds(text, (period.start, period.end) if period else None, delivery=True)
        priced = sums or (terms.thresholds(after)[:1] if _continues(after) else [])
        as_well = [base.but(kind="percent_off", percent=one, applies_to=_applies(text, named)) for one in percents[-1:]]
        return [*as_well, *_delivery(base, sentence, text, priced, talk, named)]
    if percents and not (sums and says("reward", text) and not says("spends", text)):
        applies = _applies(text, named)
        off = base.but(kind="percent_off", percent=percents[-1], applies_to=applies)
        return [_over(off, sums[-1], text, talk) if sums else off]
    if says("multibuy", text):
        return [base.but(kind="buy_n_get_m", applies_to=_applies(text, named))]
    if sums and says("spends", text) and (says("reward", text) or says("reward", after)):
        base = base.but(kind="gift_over_threshold")
        ends = [*(sentence.time_of(one.start, one.end)[0] for one in sums[1:]), sentence.end_ms + 1]
        parts = [
            _between(named, sentence.time_of(one.start, one.end)[0], end) for one, end in zip(sums, ends, strict=True)
        ]
        return [_gift(_over(base, one, text, talk), part or named, text) for one, part in zip(sums, parts, strict=True)]
    if sums and terms.is_money_off(text):
        off = asked(base.but(kind="gift_over_threshold"), "the reward is money off, no item")
        return [_over(off, sums[-1], text, talk)]
    if says("with_purchase", text) and (named or says("sale", text + before)):
        return [_with_purchase(base.but(kind="gift_with_purchase"), sentence, named, text)]
    return [base] if base.promo_code else []


def _delivery(
    base: Offer, sentence: Sentence, text: str, sums: list[terms.Sum], talk: OfferReading, named: list[Mention]
) -> list[Offer]:
    """Read free delivery with the sum that is nearest to its words; another sum may bring a gift."""
    free = base.but(kind="free_delivery")
    if not sums:
        return [free]
    at = terms.place_of("delivery_free", text) or 0
    own = min(sums, key=lambda one: abs(one.start - at))
    told = []
    for place, one in enumerate(sums):
        if one is own:
            told.append(_over(free, one, text, talk))
            continue
        start = sums[place - 1].end if place else 0
        end = sums[place + 1].start if place + 1 < len(sums) else len(text)
        if says("reward", text[start:end]):
            gifts = _between(named, sentence.time_of(start, start + 1)[0], sentence.time_of(one.start, end)[1])
            told.append(_gift(_over(base.but(kind="gift_over_threshold"), one, text, talk), gifts, text))
    return told


def _with_purchase(base: Offer, sentence: Sentence, named: list[Mention], text: str) -> Offer:
    """Part what is given from what must be bought: "a free X with every Y", "buy the Y and you get the X free"."""
    given_first = terms.pattern("given_first").search(text)
    turn = given_first or terms.pattern("turn").search(text)
    if turn is None:
        return _gift(base, named, text)
    at = sentence.time_of(turn.start(), turn.end())[0]
    before, after = [m for m in named if m.start_ms < at], [m for m in named if m.start_ms >= at]
    gifts, bought = (before, after) if given_first else (after, before)
    return _gift(base.but(applies_to=_applies("", bought)), gifts, text)


def _between(named: list[Mention], start_ms: int, end_ms: int) -> list[Mention]:
    return [mention for mention in named if start_ms <= mention.start_ms < end_ms]


def _continues(text: str) -> bool:
    return says("goes_on", text) or says("spends", text)


def _over(offer: Offer, one: terms.Sum, text: str, talk: OfferReading) -> Offer:
    """Give an offer its threshold, with what counts towards it."""
    lead = text[max(0, one.start - 12) : one.end]
    told: Offer = offer.but(
        threshold=one.amount,
        currency=talk.currency,
        replaces=one.replaces,
        comparison="over" if says("over", lead) else "at_least",
        basis=terms.basis(text),
    )
    if one.unit and one.unit != talk.currency and not {one.unit, talk.currency} <= DOLLARS:
        return asked(told, f"it was said in {one.unit}, the catalogue is in {talk.currency}")
    return told


def _gift(offer: Offer, named: list[Mention], text: str) -> Offer:
    """Give an offer its gift: the item named as one, else the only item named after the terms."""
    gifts = [m for m in named if m.role == "gift" and m.code] or [m for m in named if m.code and m.role != "rejected"]
    codes = list(dict.fromkeys(m.code for m in gifts if m.code))
    if len(codes) == 1:
        mention = gifts[0]
        told: Offer = offer.but(reward_code=codes[0])
        return told if mention.state == "confirmed" else asked(told, "the gift was not heard for certain")
    if codes:
        return asked(offer, "more than one item may be the gift")
    return offer if says("choose", text) else asked(offer, "the gift is no item of the catalogue")


def _applies(text: str, named: list[Mention]) -> tuple[str, ...]:
    codes = tuple(dict.fromkeys(m.code for m in named if m.code and m.role != "gift"))
    if codes:
        return codes
    everything = terms.pattern("everything").search(text)
    if everything:
        return (everything.group().lower(),)
    noun = terms.pattern("applies").search(text) or terms.pattern("subject").search(text)
    return (noun.group(1),) if noun else ()


def _reminder(text: str, sentence: Sentence, talk: OfferReading, named: list[Mention]) -> list[Offer]:
    """Read "remember, it's £35 for the pouch": an offer told before, known by its sum and gift or by reminding."""
    earlier = [offer for _, offer in talk.told if offer.threshold is not None]
    sums = {terms.money_said(found) for found in quantity.read(text)} - {None}
    gifts = {m.code for m in named if m.code}
    for offer in reversed(earlier):
        same_gift = offer.reward_code is not None and offer.reward_code in gifts
        if (same_gift and sums) or (offer.threshold in sums and (same_gift or says("reminds", text))):
            told = offer.threshold if offer.threshold in sums else min(one for one in sums if one is not None)
            return [offer.but(heard=sentence.text, start_ms=sentence.start_ms, threshold=told, replaces=None)]
    return []


def _is_code_of_the_last(found: list[Offer], place: int, talk: OfferReading) -> bool:
    """Return whether a sentence only gives the code of the offer before it."""
    if not talk.told or place - talk.told[-1][0] > _CARRY or found[0].kind != "dates" or not found[0].promo_code:
        return False
    return talk.told[-1][1].kind in _TERMS and talk.told[-1][1].promo_code is None


# --- over the talk ---------------------------------------------------------------------------------------------------


def _gone_on(place: int, sentence: Sentence, talk: OfferReading) -> None:
    """Lay a sentence that goes on about the last offer ("and that runs until Friday") over that offer."""
    if not talk.told or place - talk.told[-1][0] > _CARRY:
        return
    at, offer = talk.told[-1]
    text = sentence.text.replace("’", "'")
    period = dates.period(text, talk.on)
    first_word = says("goes_on", text) or says("sale", text)
    if period and first_word and (period.first or period.last) and offer.ends_on is None:
        talk.told[-1] = (at, with_days(offer, period))
    code = terms.promo_code(sentence.text)
    if code and offer.promo_code is None:
        talk.told[-1] = (at, talk.told[-1][1].but(promo_code=code))
    sums = terms.thresholds(text) if offer.threshold is None and offer.kind in _TERMS and first_word else []
    if sums and says("over", text):
        talk.told[-1] = (at, _over(talk.told[-1][1], sums[-1], text, talk))


def _without_announcements(talk: OfferReading) -> list[tuple[int, Offer]]:
    """Fold "there's an offer this month" into the terms that follow it, which take its days where they have none."""
    kept: list[tuple[int, Offer]] = []
    waiting: list[tuple[int, Offer]] = []
    for at, offer in talk.told:
        if offer.kind == "dates" and not offer.applies_to:
            waiting.append((at, offer))
            kept.append((at, offer))
            continue
        if offer.kind in _TERMS:
            for told_at, announced in [one for one in waiting if at - one[0] <= _CARRY]:
                kept.remove((told_at, announced))
                waiting.remove((told_at, announced))
                if offer.starts_on is None and offer.ends_on is None:
                    offer = offer.but(starts_on=announced.starts_on, ends_on=announced.ends_on)
        kept.append((at, offer))
    return kept


def distinct(told: Iterable[Offer]) -> tuple[Offer, ...]:
    """Return each promotion once: one told again with the same terms and days is left out; the first sure one stays."""
    kept: dict[str, Offer] = {}
    for offer in sorted(told, key=lambda one: one.start_ms):
        terms = offer.model_dump_json(
            exclude={"heard", "start_ms", "replaces", "state", "doubt", "comparison", "basis"}
        )
        if terms not in kept or (kept[terms].state == "ask" and offer.state == "confirmed"):
            kept[terms] = offer
    return tuple(kept.values())


def _agreed(told: Sequence[Offer]) -> list[Offer]:
    """Complete an offer from its repetition, and ask where the two disagree."""
    done = list(told)
    for place, offer in enumerate(done):
        for other_place, other in enumerate(done):
            if other_place != place and _is_same(offer, other):
                done[place] = offer = _completed(offer, other)
    return done


def _is_same(offer: Offer, other: Offer) -> bool:
    if offer.kind != other.kind or offer.kind not in _TERMS:
        return False
    return (offer.threshold, offer.percent) == (other.threshold, other.percent) or (
        offer.reward_code is not None and offer.reward_code == other.reward_code
    )


def _completed(offer: Offer, other: Offer) -> Offer:
    for name in ("starts_on", "ends_on", "threshold", "percent"):
        mine, theirs = getattr(offer, name), getattr(other, name)
        if mine is not None and theirs is not None and mine != theirs:
            return asked(offer, f"it was told twice, with {mine} and with {theirs}")
        if mine is None and theirs is not None:
            offer = offer.but(**{name: theirs})
    return offer


def _against_known(offer: Offer, known: tuple[KnownOffer, ...]) -> Offer:
    """Ask where an offer that the person has in writing was told otherwise."""
    alike = [one for one in known if one.kind == offer.kind]
    if not alike:
        return offer
    nearest = min(alike, key=lambda one: len(_differences(offer, one)))
    wrong = _differences(offer, nearest)
    if wrong:
        return asked(offer, "in writing it is " + ", ".join(f"{name} {value}" for name, value in wrong.items()))
    told: Offer = offer.but(
        starts_on=offer.starts_on or nearest.starts_on,
        ends_on=offer.ends_on or nearest.ends_on,
        promo_code=offer.promo_code or nearest.promo_code or None,
        reward_code=offer.reward_code or nearest.reward_code or None,
        basis=offer.basis or nearest.basis,
    )
    return told


def _differences(offer: Offer, known: KnownOffer) -> dict[str, object]:
    names = ("threshold", "percent", "promo_code", "reward_code", "starts_on", "ends_on")
    pairs = {name: (getattr(offer, name), getattr(known, name) or None) for name in names}
    return {
        name.replace("_", " "): theirs for name, (mine, theirs) in pairs.items() if mine and theirs and mine != theirs
    }
