"""Every figure of a talk: what was understood against what its marks say. Counts only; `strangers.py` adds them up.

A figure is a count of found, gold and false. F1 is used where a false find counts, recall elsewhere. Tolerances:
chapters and amounts 10 s, statements 15 s, offers and warnings 20 s.
"""

from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction

from gold_facts import Gold, Said

from studio.model import Document, Measure, Mention, Offer

NEAR_S, STATEMENT_S, OFFER_S, MENTION_S = 10.0, 15.0, 20.0, 6.0
INCH = Fraction(254, 10)
TO_BASE = {
    "in": ("length", INCH), "mm": ("length", Fraction(1)), "cm": ("length", Fraction(10)),
    "m": ("length", Fraction(1000)), "ft": ("length", 12 * INCH), "yd": ("length", 36 * INCH),
    "g": ("mass", Fraction(1)), "kg": ("mass", Fraction(1000)), "oz": ("mass", Fraction("28.349523125")),
    "lb": ("mass", Fraction("453.59237")), "ml": ("volume", Fraction(1)), "l": ("volume", Fraction(1000)),
    "fl oz": ("volume", Fraction("29.5735295625")), "tsp": ("volume", Fraction(5)), "gsm": ("paper", Fraction(1)),
    "s": ("time", Fraction(1)), "min": ("time", Fraction(60)), "h": ("time", Fraction(3600)),
    "degF": ("degF", Fraction(1)), "degC": ("degC", Fraction(1)), "%": ("percent", Fraction(1)),
}  # fmt: skip
"""Exact factors: inch and pound 16 CFR 500.19, US fluid ounce CFR; teaspoon 5 ml is common practice."""
F1 = frozenset({"items", "chapters", "contradictions"})
NAMES = (
    "items", "items_times", "mentions_seen", "roles", "kept_off", "measures", "chapters", "titles", "corrections",
    "contradictions", "availability", "offers", "cautions",
)  # fmt: skip


@dataclass
class Tally:
    """Found of gold, and found that match nothing."""

    found: int = 0
    gold: int = 0
    false: int = 0

    def add(self, found: int, gold: int, false: int = 0) -> None:
        """Add counts."""
        self.found, self.gold, self.false = self.found + found, self.gold + gold, self.false + false


@dataclass
class Figures:
    """The counts of one talk."""

    name: str
    tallies: dict[str, Tally] = field(default_factory=lambda: {name: Tally() for name in NAMES})
    rows: int = 0
    """Rows of the supply list."""
    asked: int = 0
    confirmed: int = 0
    confirmed_wrong: int = 0
    stated: list[tuple[float, bool]] = field(default_factory=list)
    """For each row of the supply list: the probability stated and whether it was right."""
    wrong_sure: Counter[str] = field(default_factory=Counter)
    """Facts of other kinds that would be published as sure and are wrong, by kind."""
    misses: list[str] = field(default_factory=list)
    """In words; never printed for `sealed`."""


def base(values: tuple[Fraction, ...], unit: str) -> tuple[str, tuple[float, ...]] | None:
    """Return a size in the base unit of its dimension, its values sorted, or None for a counted thing."""
    if unit not in TO_BASE:
        return None
    dimension, factor = TO_BASE[unit]
    return dimension, tuple(round(float(value * factor), 3) for value in sorted(values))


def figures(name: str, gold: Gold, found: Document) -> Figures:
    """Return the counts of one talk."""
    made = Figures(name)
    _items(made, gold, found)
    _mentions(made, gold, found.mentions)
    _measures(made, gold, found.measures)
    _chapters(made, gold, found)
    _findings(made, gold, found)
    _offers(made, gold, found.offers)
    _cautions(made, gold, found)
    return made


def _items(made: Figures, gold: Gold, found: Document) -> None:
    rows = {row.code: row for row in found.supplies if row.code}
    confidence = {m.id: m.confidence for m in found.mentions}
    hit = set(rows) & set(gold.shown)
    wrong = {code for code in set(rows) - set(gold.shown) if code not in gold.spared}
    made.tallies["items"].add(len(hit), len(gold.shown), len(wrong))
    made.tallies["items_times"].add(
        sum(abs(rows[c].first_shown_ms / 1000 - gold.shown[c]) <= NEAR_S for c in hit), len(gold.shown)
    )
    made.rows, made.asked = len(rows), sum(row.state == "ask" for row in rows.values())
    sure = {code for code, row in rows.items() if row.state == "confirmed"}
    bad = (sure & wrong) | (sure & gold.unclear - set(gold.shown))
    made.confirmed, made.confirmed_wrong = len(sure), len(bad)
    for code, row in rows.items():
        if code not in gold.spared or code in gold.shown:
            made.stated.append((max(confidence.get(i, 0.0) for i in row.mention_ids), code in gold.shown))
    for code in gold.kept_off:
        made.tallies["kept_off"].add(code not in rows, 1)
    made.misses += [f"item missed {code} at {gold.shown[code]:.0f}" for code in sorted(set(gold.shown) - hit)]
    made.misses += [
        f"item wrong {code} {rows[code].state} {rows[code].name!r} at {rows[code].first_shown_ms / 1000:.0f}"
        for code in sorted(wrong)
    ]


def _mentions(made: Figures, gold: Gold, mentions: tuple[Mention, ...]) -> None:
    role_of = {"given": "gift", "own": "mentioned"}
    for one in gold.rows:
        mark = one.marked.mark
        if mark.role == "unclear" or not mark.codes or mark.wrong:
            continue
        near = [m for m in mentions if m.code in mark.codes and abs(m.start_ms / 1000 - one.time) <= MENTION_S]
        made.tallies["mentions_seen"].add(bool(near), 1)
        if near:
            closest = min(near, key=lambda m: abs(m.start_ms / 1000 - one.time))
            made.tallies["roles"].add(closest.role == role_of.get(mark.role, mark.role), 1)


def _measures(made: Figures, gold: Gold, measures: tuple[Measure, ...]) -> None:
    used: set[int] = set()
    for one in gold.amounts:
        mark = one.marked.mark
        want = base(mark.values, mark.unit)
        if want is None:
            continue
        ok = next((k for k, m in enumerate(measures) if k not in used and _same(m, want, one.time)), None)
        made.tallies["measures"].add(ok is not None, 1)
        if ok is None:
            made.misses.append(f"measure missed {one.words!r} at {one.time:.0f}")
        else:
            used.add(ok)
    told = [*gold.amounts, *gold.says]
    for k, m in enumerate(measures):
        sized = base(m.values, m.unit)
        if k in used or sized is None or m.state != "confirmed":
            continue
        if not any(_covers(one, sized, m) for one in told):
            made.wrong_sure["measure"] += 1
            made.misses.append(
                f"measure wrong {m.heard!r} = {[str(v) for v in m.values]} {m.unit} at {m.start_ms / 1000:.0f}"
            )


def _same(m: Measure, want: tuple[str, tuple[float, ...]], time: float) -> bool:
    return abs(m.start_ms / 1000 - time) <= NEAR_S and base(m.values, m.unit) == want


def _covers(one: Said, sized: tuple[str, tuple[float, ...]], m: Measure) -> bool:
    """Whether a mark tells this amount, or a statement about a row holds it (its value is the catalogue's business)."""
    if abs(m.start_ms / 1000 - one.time) > NEAR_S:
        return False
    return one.marked.mark.kind == "says" or base(one.marked.mark.values, one.marked.mark.unit) == sized


def pair_up(gold: list[float], said: list[float], tolerance: float) -> list[tuple[int, int]]:
    """Match nearest times one to one."""
    edges = sorted(
        (abs(g - s), i, j) for i, g in enumerate(gold) for j, s in enumerate(said) if abs(g - s) <= tolerance
    )
    pairs: list[tuple[int, int]] = []
    for _, i, j in edges:
        if all(i != a and j != b for a, b in pairs):
            pairs.append((i, j))
    return pairs


def _chapters(made: Figures, gold: Gold, found: Document) -> None:
    firm = [one for one in gold.chapters[1:] if not one[3]]
    maybe = [one[0] for one in gold.chapters[1:] if one[3]]
    said = [chapter.start_ms / 1000 for chapter in found.chapters[1:]]
    pairs = pair_up([one[0] for one in firm], said, NEAR_S)
    matched = {j for _, j in pairs}
    spare = [s for j, s in enumerate(said) if j not in matched and not any(abs(s - o) <= NEAR_S for o in maybe)]
    made.tallies["chapters"].add(len(pairs), len(firm), len(spare))
    for i, j in pairs:
        title = found.chapters[j + 1].title.lower()
        made.tallies["titles"].add(any(word.lower() in title for word in firm[i][2]), 1)
    made.misses += [
        f"chapter missed {one[1]!r} at {one[0]:.0f}" for k, one in enumerate(firm) if k not in {i for i, _ in pairs}
    ]
    made.misses += [f"chapter extra at {s:.0f}" for s in spare]


def _findings(made: Figures, gold: Gold, found: Document) -> None:
    corrections = [f.start_ms / 1000 for f in found.findings if f.kind == "self_correction"]
    for name, wrong, right in gold.corrections:
        ok = any(wrong - NEAR_S <= time <= right + NEAR_S for time in corrections)
        made.tallies["corrections"].add(ok, 1)
        if not ok:
            made.misses.append(f"correction missed {name} at {wrong:.0f}")
    contradictions = [f for f in found.findings if f.kind == "contradiction"]
    matched: set[int] = set()
    for one in gold.says:
        if one.marked.mark.true:
            continue
        ok = next(
            (k for k, f in enumerate(contradictions) if k not in matched and f.code in one.marked.mark.codes
             and abs(f.start_ms / 1000 - one.time) <= STATEMENT_S), None,
        )  # fmt: skip
        made.tallies["contradictions"].add(ok is not None, 1)
        if ok is None:
            made.misses.append(f"contradiction missed {one.marked.mark.codes} {one.words!r} at {one.time:.0f}")
        else:
            matched.add(ok)
    false = [f for k, f in enumerate(contradictions) if k not in matched]
    made.tallies["contradictions"].add(0, 0, len(false))
    made.wrong_sure["contradiction"] += sum(f.severity == "error" for f in false)
    made.misses += [f"contradiction false {f.code} {f.heard!r} at {f.start_ms / 1000:.0f}" for f in false]
    told = {(f.kind, f.code) for f in found.findings if f.kind in ("retired", "not_on_sale")}
    for code, state in gold.availability.items():
        made.tallies["availability"].add((state, code) in told, 1)


def _offers(made: Figures, gold: Gold, offers: tuple[Offer, ...]) -> None:
    right: set[int] = set()
    for terms, times in gold.offers:
        fits = [k for k, one in enumerate(offers) if _fits(one, terms, times)]
        right |= set(fits)
        made.tallies["offers"].add(bool(fits), 1)
        if not fits:
            made.misses.append(f"offer missed {terms} at {times[0]:.0f}")
    sure = [k for k, one in enumerate(offers) if one.state == "confirmed" and k not in right]
    made.wrong_sure["offer"] += len(sure)
    made.misses += [f"offer wrong {offers[k].kind} {offers[k].heard!r}" for k in sure]


def _fits(one: Offer, terms: dict[str, str], times: list[float]) -> bool:
    if not any(abs(one.start_ms / 1000 - time) <= OFFER_S for time in times):
        return False
    for key, value in (("threshold", one.threshold), ("percent", one.percent)):
        if key in terms and (value is None or Fraction(str(value)) != Fraction(terms[key].rstrip("%"))):
            return False
    if "ends" in terms and str(one.ends_on) != terms["ends"]:
        return False
    if "promo" in terms and (one.promo_code or "").lower() != terms["promo"].lower():
        return False
    return not ("starts" in terms and str(one.starts_on) != terms["starts"])


def _cautions(made: Figures, gold: Gold, found: Document) -> None:
    triggers = [time / 1000 for one in found.cautions for time in one.triggers_ms]
    for one in gold.warnings:
        ok = any(abs(time - one.time) <= OFFER_S for time in triggers)
        made.tallies["cautions"].add(ok, 1)
        if not ok:
            made.misses.append(f"caution missed {one.words!r} at {one.time:.0f}")
