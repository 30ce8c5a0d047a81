"""The mentions: what the rules propose and what the reader holds words to mean, weighed together, row by row.

A row is on the list for its best showing, however often it is named; how much each sign counts was learnt from marked
talks (`shared/weights.toml`). What is not sure is asked, and what is unlikely is not on the list.
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from studio import rule_files
from studio.mentions.words import tokens
from studio.model import Catalogue, Mention, Naming, Product, Role, Sentence, State

SIGNS = ("shown", "set_aside", "rule_sure", "rule_shown", "rule_other", "rule_tied", "in_full", "in_full_other", "talk")
"""What tells whether a row was shown; probabilities count as the logarithm of their odds."""
MEANT = 0.5
"""Probability from which words mean a row."""
NEAR_MS = 300
"""A proposal of the rules belongs to the words that it overlaps, give or take this."""
_LEAST = 1e-4
_ROLES: Mapping[str, Role] = {"shown": "shown", "rejected": "rejected", "given": "gift"}
_TOLD = 0.99
"""Probability of what the person's own word for a row means."""


@dataclass
class Signs:
    """All that is said of one row in a talk."""

    row: Product
    namings: list[tuple[int, Naming]] = field(default_factory=list)
    """The words that may mean it, each with its number."""
    proposals: list[Mention] = field(default_factory=list)

    @property
    def code(self) -> str:
        """Return the code of the row."""
        return self.row.code

    def best(self) -> int | None:
        """Return the number of the words that show it best."""
        return max(self.namings, key=lambda one: _shown(one[1], [self.code]))[0] if self.namings else None

    def _told(self, mention: Mention) -> float:
        """Return how much of the name a proposal says."""
        name = _folded(self.row.name)
        return len(_folded(mention.heard) & name) / max(1, len(name))

    def figures(self, others: Sequence[str] = ()) -> list[float]:
        """Return the numbers that `SIGNS` names, for the row, or for it or one of others that tie with it."""
        codes = [self.code, *others]
        best = max((one for _, one in self.namings), key=lambda one: _shown(one, codes), default=None)
        aside = [one.rows[self.code] * (1 - one.meanings["shown"] - one.meanings["said"]) for _, one in self.namings]
        by_rule = [one for one in self.proposals if one.role == "shown"]
        other = [one for one in self.proposals if one.role != "shown"]
        sure = any(one.state == "confirmed" for one in by_rule)
        return [
            odds(_shown(best, codes) if best else 0.0), odds(max(aside, default=0.0)),
            float(sure), float(bool(by_rule) and not sure), float(bool(other)),
            float(not others and any(one.runners_up for one in by_rule)),
            max(map(self._told, by_rule), default=0.0), max(map(self._told, other), default=0.0),
            best.talk if best else 0.0,
        ]  # fmt: skip


def _shown(naming: Naming, codes: Sequence[str]) -> float:
    """Return how likely words show one of some rows."""
    return sum(naming.rows.get(code, 0.0) for code in codes) * naming.meanings["shown"]


def _folded(text: str) -> frozenset[str]:
    return frozenset(token.key for token in tokens(text))


def odds(p: float) -> float:
    """Return the logarithm of the odds of a probability, within bounds."""
    return math.log(max(p, _LEAST) / max(1 - p, _LEAST))


def signs(namings: Sequence[Naming], proposed: Sequence[Mention], catalogue: Catalogue) -> dict[str, Signs]:
    """Return of each row that may be meant all that is said of it."""
    codes = [*(code for one in namings for code in one.rows), *(one.code for one in proposed if one.code)]
    rows = catalogue.by_code()
    found = {code: Signs(rows[code]) for code in codes}
    for number, naming in enumerate(namings):
        for code in naming.rows:
            found[code].namings.append((number, naming))
    for mention in proposed:
        if mention.code is not None:
            found[mention.code].proposals.append(mention)
    return found


def probability(one: Signs, others: Sequence[str] = ()) -> float:
    """Return how likely a row was shown, or it or one of others that tie with it."""
    score = rule_files.figure("weights.toml", "shown", "bias") + sum(
        rule_files.figure("weights.toml", "shown", name) * value
        for name, value in zip(SIGNS, one.figures(others), strict=True)
    )
    return 1 / (1 + math.exp(-score))


def weighed(
    namings: tuple[Naming, ...],
    proposed: tuple[Mention, ...],
    catalogue: Catalogue,
    said: tuple[Sentence, ...],
    heard: tuple[Sentence, ...],
    names: dict[str, str],
) -> tuple[Mention, ...]:
    """Return every time that a product was named, in the order of the talk.

    Args:
        namings: what the reader holds words to mean.
        proposed: the mentions found by rules alone, which also know how many were said and in what colour.
        catalogue: the rows that may be named.
        said: the talk, as the rules read it.
        heard: the same before a person mended words of it.
        names: the person's own words for rows, which go before all that is worked out, as do mended words.
    """
    found, mended = signs(namings, proposed, catalogue), _mended(said, heard)
    by_person = {
        one.id
        for one in proposed
        if one.code and (_is_told(one, found[one.code].row, names) or _is_mended(one, found[one.code].row, mended))
    }
    ordered = sorted(
        _Weighing(found, namings, proposed, by_person).mentions(),
        key=lambda mention: (mention.start_ms, mention.end_ms),
    )
    return tuple(mention.but(id=f"m{number}") for number, mention in enumerate(ordered, 1))


def _is_told(one: Mention, row: Product, names: Mapping[str, str]) -> bool:
    """Return whether the person's own table says that these words mean this row."""
    called = {row.code.casefold(), row.name.casefold()}
    return _folded(one.heard) in {_folded(said) for said, meant in names.items() if meant.casefold() in called}


def _mended(said: Sequence[Sentence], heard: Sequence[Sentence]) -> frozenset[int]:
    """Return when the words begin that a person mended."""
    before = {word.start_ms: word.text for sentence in heard for word in sentence.words}
    after = (word for sentence in said for word in sentence.words)
    return frozenset(word.start_ms for word in after if before.get(word.start_ms) != word.text)


def _is_mended(one: Mention, row: Product, mended: frozenset[int]) -> bool:
    """Return whether a person mended words so that they now are the whole name of a row."""
    mends = any(one.start_ms <= at < one.end_ms for at in mended)
    return mends and _folded(row.name) <= _folded(one.heard)


class _Weighing:
    def __init__(
        self, signs: dict[str, Signs], namings: Sequence[Naming], proposed: Sequence[Mention], by_person: set[str]
    ) -> None:
        self.signs, self.namings, self.by_person = signs, namings, by_person
        self.at = {one.id: _nearest(namings, one) for one in proposed}
        self.proposals: dict[int | None, list[Mention]] = defaultdict(list)
        for one in proposed:
            self.proposals[self.at[one.id]].append(one)
        least = rule_files.figure("weights.toml", "asked")
        likely = {code: self._probability(one) for code, one in self.signs.items()}
        self.shown = {code: p for code, p in likely.items() if max(p, self._either(self.signs[code])) >= least}
        self.best = self._best_places()

    def _probability(self, one: Signs) -> float:
        told = any(mention.id in self.by_person and mention.role == "shown" for mention in one.proposals)
        return _TOLD if told else probability(one)

    def _either(self, one: Signs) -> float:
        """Return how likely it is that a row was shown, or one that ties with it by the rules."""
        tied = {code for m in one.proposals if m.role == "shown" for code in m.runners_up}
        return probability(one, sorted(tied)) if tied else 0.0

    def _best_places(self) -> dict[int | None, str]:
        """Return the row that is shown at each place where one is shown best; the others are asked about with it."""
        places: dict[int | None, str] = {}
        for code, _ in sorted(self.shown.items(), key=lambda one: (-one[1], one[0])):
            one = self.signs[code]
            ruled = next((m for m in one.proposals if m.role == "shown" and m.id in self.by_person), None)
            place = self.at[ruled.id] if ruled else one.best()
            place = self.at[one.proposals[0].id] if place is None and one.proposals else place
            places.setdefault(place, code)
        kept = set(places.values())
        self.shown = {code: p for code, p in self.shown.items() if code in kept}
        return places

    def mentions(self) -> Iterator[Mention]:
        """Give the mentions, each without its number."""
        for number, naming in enumerate(self.namings):
            proposals = self.proposals.get(number, [])
            if found := self._mention(number, naming, proposals):
                yield found
            else:
                yield from (one for one in proposals if one.code is None)
        yield from (one for one in self.proposals.get(None, []) if one.code is None)

    def _mention(self, number: int, naming: Naming, proposals: Sequence[Mention]) -> Mention | None:
        code = self.best.get(number) or self._meant(naming, proposals)
        if code is None:
            return None
        same = next((one for one in proposals if one.code == code), None)
        role: Role = "shown" if number in self.best else self._role(code, naming, same)
        likely = self.shown[code] if role == "shown" else naming.rows.get(code, 0.0)
        return Mention(
            id="", code=code, heard=same.heard if same else naming.heard,
            start_ms=same.start_ms if same else naming.start_ms, end_ms=same.end_ms if same else naming.end_ms,
            role=role, state=state_of(likely), confidence=round(max(likely, 0.01), 3),
            runners_up=tuple([other for other in naming.rows if other != code][:3]),
            quantity=same.quantity if same else None,
            colour=same.colour if same else _colour(self.signs[code].row, naming.heard),
            replaces=same.replaces if same else None,
        )  # fmt: skip

    def _meant(self, naming: Naming, proposals: Sequence[Mention]) -> str | None:
        """Return the row that words mean, by the reader or else by the rules; words that tell of a row name none.

        What is shown is rather a row of the list than another one, where no rule says otherwise.
        """
        meaning, ruled = _likeliest(naming), next((one.code for one in proposals if one.code is not None), None)
        listed = (code for code, p in naming.rows.items() if p >= MEANT / 2 and code in self.shown)
        if meaning == "shown" and ruled is None and (code := next(listed, None)):
            return code
        code, fit = next(iter(naming.rows.items()), ("", 0.0))
        if fit >= MEANT and meaning != "said":
            return code
        return ruled

    def _role(self, code: str, naming: Naming, same: Mention | None) -> Role:
        """Return how a row is spoken of where it is not shown best; rules know best what was turned down or given."""
        role = _ROLES.get(_likeliest(naming), "mentioned")
        unlisted = code not in self.shown
        if same is not None and (
            naming.rows.get(code, 0.0) < MEANT / 2 or (role != "rejected" and same.role != "shown")
        ):
            role = same.role
        return "mentioned" if role == "shown" and unlisted else role


def _likeliest(naming: Naming) -> str:
    return max(naming.meanings, key=lambda name: naming.meanings[name])


def _colour(row: Product, heard: str) -> str | None:
    """Return the colour of a row where it was said."""
    return row.colour if row.colour and _folded(row.colour) <= _folded(heard) else None


def state_of(likely: float) -> State:
    """Return whether what is so likely is sure or must be asked."""
    return "confirmed" if likely >= rule_files.figure("weights.toml", "confirmed") else "ask"


def _nearest(namings: Sequence[Naming], one: Mention) -> int | None:
    """Return the number of the words that a proposal overlaps most."""
    shared = [
        (min(one.end_ms, naming.end_ms) - max(one.start_ms, naming.start_ms), -number)
        for number, naming in enumerate(namings)
    ]
    most, number = max(shared, default=(-NEAR_MS - 1, 0))
    return -number if most > -NEAR_MS else None
