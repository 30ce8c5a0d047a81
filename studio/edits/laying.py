"""A person's decisions laid over what each stage found: pure functions, one a stage, in the order of the decisions."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

from studio.edits import kinds
from studio.edits.chapters import over_chapters
from studio.edits.kinds import Anchor, plain_words
from studio.edits.log import Edits
from studio.edits.words import over_sentences, spellings
from studio.model import Caution, Cut, Document, Finding, Measure, Mention, Offer, Recording, Span, Still, Supply
from studio.quantity import both
from studio.settings import Settings

M = TypeVar("M", Mention, Measure, Offer)


def lay_over(stage: str, result: Any, edits: Edits) -> Any:  # noqa: ANN401  (each stage has its own type)
    """Return a stage's result as the person decided it; the very same object where nothing was decided.

    Args:
        stage: name of the stage, or `document` for the document as a whole.
        result: what the stage found.
        edits: all decisions; those that do not concern the stage are passed over.
    """
    concerned = concerning(stage, edits)
    return _ROWS[stage][1](result, concerned) if concerned else result


def concerning(stage: str, edits: Edits) -> list[Any]:
    """Return the decisions that are laid over the result of a stage."""
    kinds_of = _ROWS[stage][0] if stage in _ROWS else ()
    return [edit for edit in edits.in_force if isinstance(edit, kinds_of)]


def over_settings(settings: Settings, edits: Edits) -> Settings:
    """Return the settings with what was decided for this recording: nicknames and the number of chapters."""
    names = names_kept(edits)
    if names:
        settings = settings.model_copy(update={"names": {**settings.names, **names}})
    counted = [edit.count for edit in edits.in_force if isinstance(edit, kinds.ChaptersCounted)]
    if counted:
        chapters = settings.chapters.model_copy(update={"count": counted[-1]})
        settings = settings.model_copy(update={"chapters": chapters})
    return settings


def names_kept(edits: Edits) -> dict[str, str]:
    """Return the nicknames that the person wants kept: words heard -> catalogue code."""
    decided = (edit for edit in edits.in_force if isinstance(edit, kinds.MentionDecided))
    return {plain_words(edit.anchor.heard): edit.code for edit in decided if edit.always and edit.code}


def _best(anchor: Anchor, found: Sequence[M]) -> int | None:
    """Return the place of what fits an anchor best, or None where nothing does."""
    fits = [(anchor.fit(_span(one, anchor), one.heard), -place) for place, one in enumerate(found)]
    best = max(fits, default=(0.0, 0))
    return -best[1] if best[0] > 0 else None


def _span(found: Mention | Measure | Offer, anchor: Anchor) -> Anchor:
    if isinstance(found, Offer):
        length = anchor.end_ms - anchor.start_ms
        return Anchor(start_ms=found.start_ms, end_ms=found.start_ms + length)
    return Anchor(start_ms=found.start_ms, end_ms=found.end_ms)


def _replaced(found: Sequence[M], place: int | None, new: M | None) -> list[M]:
    """Put `new` in a place, or take the place out; a new one without a place is added in order of time."""
    rest: list[M] = [one for at, one in enumerate(found) if at != place]
    if new is None:
        return rest
    if place is not None:
        rest.insert(place, new)
        return rest
    rest.append(new)
    return sorted(rest, key=lambda one: one.start_ms)


# --- one function a stage --------------------------------------------------------------------------------------------


def _recording(result: Recording, edits: Sequence[kinds.RecordedOn]) -> Recording:
    return result.but(recorded_on=edits[-1].day)  # type: ignore[no-any-return]


def _mentions(result: Sequence[Mention], edits: Sequence[kinds.MentionDecided]) -> tuple[Mention, ...]:
    found, singly = list(result), set()
    for edit in edits:
        if edit.everywhere or (edit.always and edit.choice == "code"):
            found = [_decided(one, edit) if _also(one, edit) and one.id not in singly else one for one in found]
        place = _best(edit.anchor, found)
        if place is not None:
            singly.add(found[place].id)
            found = _replaced(found, place, _decided(found[place], edit))
        elif edit.choice == "code":
            found = _replaced(found, None, _new_mention(edit))
    return tuple(found)


def _also(mention: Mention, edit: kinds.MentionDecided) -> bool:
    """Return whether a decision about one moment holds for another: the same words, where it was unsure or always."""
    return (edit.always or mention.state == "ask") and plain_words(mention.heard) == plain_words(edit.anchor.heard)


def _decided(mention: Mention, edit: kinds.MentionDecided) -> Mention:
    changes: dict[str, Any] = {"state": "confirmed", "confidence": 1.0}
    if edit.choice == "none":
        changes |= {"code": None, "role": "unlisted", "state": "absent"}
    elif edit.choice == "not_shown":
        changes |= {"role": "mentioned"}
    else:
        kept = "shown" if mention.role == "unlisted" else mention.role
        changes |= {"code": edit.code, "role": edit.role or kept}
    return mention.but(**changes)  # type: ignore[no-any-return]


def _new_mention(edit: kinds.MentionDecided) -> Mention:
    anchor = edit.anchor
    return Mention(
        id=f"by-hand-{edit.id}", code=edit.code, heard=anchor.heard, start_ms=anchor.start_ms, end_ms=anchor.end_ms,
        role=edit.role or "shown", state="confirmed", confidence=1.0,
    )  # fmt: skip


def _measures(result: Sequence[Measure], edits: Sequence[kinds.MeasureSet]) -> tuple[Measure, ...]:
    found = list(result)
    for edit in edits:
        place = _best(edit.anchor, found)
        if place is None and (edit.removed or not edit.values):
            continue
        old = found[place] if place is not None else None
        found = _replaced(found, place, None if edit.removed else _measure(old, edit))
    return tuple(found)


def _measure(old: Measure | None, edit: kinds.MeasureSet) -> Measure:
    changes: dict[str, Any] = {"state": "confirmed", "quantity": edit.quantity, "of": edit.of}
    if edit.values:
        changes |= {"values": edit.values, "unit": edit.unit, "unit_implied": False}
        if old is None or (old.values, old.unit) != (edit.values, edit.unit):
            same = old is not None and (old.unit, len(old.values)) == (edit.unit, len(edit.values))
            kind = old.dimension if same and old is not None else dimension(edit.values, edit.unit)
            metric, imperial = both(edit.values, edit.unit, kind)
            changes |= {"metric": metric, "imperial": imperial, "dimension": kind}
    if old is not None:
        return old.but(**changes)  # type: ignore[no-any-return]
    anchor = edit.anchor
    place = {"id": f"by-hand-{edit.id}", "heard": anchor.heard, "start_ms": anchor.start_ms, "end_ms": anchor.end_ms}
    return Measure(**place, **changes)


_DIMENSIONS = {
    "length": "in ft yd mm cm m", "mass": "g kg oz lb", "volume": "ml l fl oz tsp", "paper_weight": "gsm",
    "time": "s min h", "temperature": "degF degC", "percent": "%",
}  # fmt: skip


def dimension(values: Sequence[object], unit: str) -> str:
    """Return the dimension of a quantity by its unit; two lengths make a size."""
    found = next((name for name, units in _DIMENSIONS.items() if unit in units.split()), "count")
    if unit == "fl oz":
        return "volume"
    return "size" if found == "length" and len(values) > 1 else found


def _supplies(result: Sequence[Supply], edits: Sequence[kinds.SupplySet | kinds.SuppliesOrdered]) -> tuple[Supply, ...]:
    rows = list(result)
    for edit in edits:
        if isinstance(edit, kinds.SuppliesOrdered):
            wanted = {item: place for place, item in enumerate(edit.items)}
            rows.sort(key=lambda row: wanted.get(row.code or row.name, len(wanted)))
        elif edit.removed:
            rows = [row for row in rows if (row.code or row.name) != edit.item]
        else:
            changes = {"quantity": edit.quantity, "colour": edit.colour}
            rows = [row.but(**changes) if (row.code or row.name) == edit.item else row for row in rows]
    return tuple(rows)


def _stills(result: Sequence[Still], edits: Sequence[kinds.StillSwapped]) -> tuple[Still, ...]:
    wanted = {edit.subject: edit.file for edit in edits}
    return tuple(_swapped(still, wanted.get(still.subject, still.file)) for still in result)


def _swapped(still: Still, wanted: str) -> Still:
    if wanted == still.file or wanted not in still.others:
        return still
    others = tuple(still.file if file == wanted else file for file in still.others)
    return still.but(file=wanted, others=others, state="confirmed")  # type: ignore[no-any-return]


def _offers(result: Sequence[Offer], edits: Sequence[kinds.OfferSet]) -> tuple[Offer, ...]:
    found = list(result)
    for edit in edits:
        place = _best(edit.anchor, found)
        if edit.removed:
            found = _replaced(found, place, None) if place is not None else found
            continue
        names = ("threshold", "percent", "currency", "promo_code", "reward_code", "starts_on", "ends_on")
        told = {name: getattr(edit, name) for name in names}
        heard = {"heard": edit.anchor.heard, "start_ms": edit.anchor.start_ms}
        new = Offer(kind=edit.offer, state="confirmed", **heard, **told)
        if place is not None:
            new = found[place].but(kind=edit.offer, state="confirmed", **told)
        found = _replaced(found, place, new)
    return tuple(found)


def _cuts(result: Sequence[Cut], edits: Sequence[kinds.CutSet]) -> tuple[Cut, ...]:
    rows = list(result)
    for edit in edits:
        keys = [kinds.cut_key(row) for row in rows]
        now = [edit.now.but(state="confirmed")] if edit.now else []
        place = keys.index(kinds.cut_key(edit.was)) if edit.was and kinds.cut_key(edit.was) in keys else None
        if place is None:
            rows += now
        else:
            rows[place : place + 1] = now
    return tuple(rows)


def _cautions(
    result: Sequence[Caution], edits: Sequence[kinds.CautionRemoved | kinds.CautionAdded]
) -> tuple[Caution, ...]:
    rows = list(result)
    for edit in edits:
        if isinstance(edit, kinds.CautionRemoved):
            rows = [row for row in rows if row.hazard != edit.hazard]
        else:
            added = {"hazard": f"by-hand-{edit.id}", "line": edit.line, "triggers_ms": (edit.at_ms,)}
            rows.append(Caution(**added, source="your own words"))
    return tuple(rows)


def _findings(result: Sequence[Finding], edits: Sequence[kinds.FindingSettled]) -> tuple[Finding, ...]:
    settled: dict[int, kinds.FindingSettled] = {}
    for edit in edits:
        settled |= dict.fromkeys(_meant(edit, result, settled), edit)
    return tuple(_settled(one, settled[at]) if at in settled else one for at, one in enumerate(result))


def _meant(
    edit: kinds.FindingSettled, found: Sequence[Finding], taken: Mapping[int, kinds.FindingSettled]
) -> list[int]:
    """Return the places of the findings that an answer is about: of those that fit, the nearest that is not answered.

    More than one is meant only where nothing tells them apart.
    """
    apart = {
        at: (at in taken and taken[at].about != edit.about, one.code != edit.code, abs(one.start_ms - edit.start_ms))
        for at, one in enumerate(found) if edit.fits(one)
    }  # fmt: skip
    return [at for at, away in apart.items() if away == min(apart.values())]


def _settled(finding: Finding, edit: kinds.FindingSettled) -> Finding:
    answer = edit.answer or "looked at, and right as it is"
    return finding.but(severity="note", message=f"{finding.message} Settled: {answer}.")  # type: ignore[no-any-return]


def _document(result: Document, edits: Sequence[kinds.PutBack | kinds.Struck | kinds.WordCorrected]) -> Document:
    """Lay over what concerns the document as a whole; a person's spelling wins over the catalogue's in its place."""
    own = spellings(result.transcript, [edit for edit in edits if isinstance(edit, kinds.WordCorrected)])
    spans = [edit for edit in edits if not isinstance(edit, kinds.WordCorrected)]
    latest = {(edit.anchor.start_ms, edit.anchor.end_ms): edit for edit in spans}.values()
    changes = {
        "put_back": (*result.put_back, *_spans(latest, kinds.PutBack)),
        "struck": (*result.struck, *_spans(latest, kinds.Struck)),
        "spellings": (*own, *result.spellings),
    }
    return result.but(**changes)  # type: ignore[no-any-return]


def _spans(edits: Iterable[kinds.PutBack | kinds.Struck], kind: type) -> Iterator[Span]:
    for edit in edits:
        if isinstance(edit, kind):
            yield Span(start_ms=edit.anchor.start_ms, end_ms=edit.anchor.end_ms)


_ROWS: dict[str, tuple[Any, Callable[[Any, Any], Any]]] = {
    "recording": (kinds.RecordedOn, _recording),
    "sentences": (kinds.WordCorrected, over_sentences),
    "mentions": (kinds.MentionDecided, _mentions),
    "measures": (kinds.MeasureSet, _measures),
    "chapters": (
        (kinds.ChapterMoved, kinds.ChapterRenamed, kinds.ChapterMerged, kinds.ChapterSplit),
        over_chapters,
    ),
    "supplies": ((kinds.SupplySet, kinds.SuppliesOrdered), _supplies),
    "offers": (kinds.OfferSet, _offers),
    "cuts": (kinds.CutSet, _cuts),
    "cautions": ((kinds.CautionRemoved, kinds.CautionAdded), _cautions),
    "findings": (kinds.FindingSettled, _findings),
    "stills": (kinds.StillSwapped, _stills),
    "weak_stills": (kinds.FindingSettled, _findings),
    "document": ((kinds.PutBack, kinds.Struck, kinds.WordCorrected), _document),
}
"""Stage -> the decisions that concern it, and what lays them over its result."""
