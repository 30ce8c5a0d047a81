"""The guard on rewritten sentences: mutants made by a generator are refused, harmless rewrites mostly pass."""

import random
import re
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from studio.writing import guard

FIXTURES = Path(__file__).parent / "fixtures" / "written"
NAMES = (
    "Steel Edge Safety Rule",
    "Fernlea Block Print Paper",
    "Fernlea Marbled Paper",
    "Old Mill PVA Glue",
    "Thornby Grey Board",
)
SENTENCES = [
    "Cut the base at 150 x 100 mm, and score it at 60 mm from the long side.",
    "Leave it for 20 minutes before you touch it, or until it is dry.",
    "The Steel Edge Safety Rule is £9.80, and it is about 30 cm long.",
    "Fold it towards the inside, but don't press the corner with 2 1/2 in to spare.",
    "Brush the Old Mill PVA Glue onto the back, not the front, and wait for 15 minutes.",
    "You might need 3 sheets of the Fernlea Block Print Paper, 50 x 70 cm, by Friday the 8 May.",
    "Pour 240 g of cold water from the left, and never let it get over 42 °C.",
    "Sew 1/4 in from the top edge until you reach the bottom, then cut the thread at 5 cm.",
    "The Thornby Grey Board costs £4.20 until 31 March, and you get 10 sheets.",
    "Don't heat it above 75 °C, and stir it for about 5 minutes before Monday.",
    "Trim the mat to 4 x 5 1/4 in, and glue it in the middle without a border.",
    "Soak 6 of the Fernlea Marbled Paper sheets on Saturday, each 12 in wide, inside the tray, or they may curl.",
]
UNITS = {"mm": "cm", "cm": "mm", "in": "cm", "g": "kg", "°C": "°F", "minutes": "hours"}
SWAPS = {"cut": "score", "Cut": "Score", "score": "cut", "Fold": "Cut", "glue": "stitch", "Pour": "Stir", "Sew": "Pin",
         "Trim": "Fold", "Brush": "Spray", "Soak": "Boil", "press": "cut", "stir": "leave", "heat": "cool"}  # fmt: skip
PLACES = {"inside": "outside", "front": "back", "back": "front", "left": "right", "top": "bottom", "bottom": "top",
          "middle": "corner", "corner": "middle", "long": "short"}  # fmt: skip
HEDGES = {"about ": "", "might ": "will ", "may ": "will ", "until": "after", " or ": " and "}
DAYS = {"Friday": "Sunday", "Monday": "Tuesday", "Saturday": "Friday", "March": "May", "May": "June"}
ADDED = [
    "It is safe for children.",
    "Seal it with wax.",
    "You can order it in store.",
    "Rinse it twice.",
    "Everybody loves this.",
]
CLAUSES = [", and varnish the edges", ", with a silver ribbon", ", in the wooden carton", ", as the maker advises"]


def mutants(sentence: str, dice: random.Random) -> Iterator[tuple[str, str]]:
    """Yield wrong rewrites of a sentence with their class."""
    for found in re.finditer(r"(?<![£\d./])\d+(?![\d/])(?! \d+/)", sentence):
        for change in (dice.randint(1, 9), -1, 10, 100):
            value = abs(int(found[0]) + change)
            if value != int(found[0]):
                yield "number", sentence[: found.start()] + str(value) + sentence[found.end() :]
    for found in re.finditer(r"(?<!\d )(\d+/\d+)| \d+/\d+", sentence):
        yield "fraction", sentence[: found.start()] + sentence[found.end() :]
        yield "fraction", sentence[: found.start()] + found[0].replace("1/", "3/") + sentence[found.end() :]
    for found in re.finditer(r"([\d /]+\d) x ([\d /]*\d)", sentence):
        yield (
            "sides swapped",
            sentence[: found.start()] + f" {found[2].strip()} x {found[1].strip()}" + sentence[found.end() :],
        )
    for old, new in UNITS.items():
        for found in re.finditer(rf"(?<=\d ){re.escape(old)}(?!\w)", sentence):
            yield "unit", sentence[: found.start()] + new + sentence[found.end() :]
    for found in re.finditer(r"£(\d+\.\d\d)", sentence):
        for change in (1, 0.5, -0.2, 10):
            yield "price", sentence.replace(found[0], f"£{float(found[1]) + change:.2f}")
        yield "price", sentence.replace(found[0], found[0].replace("£", "$"))
    for name, other in zip(NAMES, [*NAMES[1:], NAMES[0]], strict=True):
        if name in sentence:
            yield from (
                ("name", sentence.replace(name, wrong))
                for wrong in (other, name.rsplit(" ", 1)[0], name.lower(), f"{name} Pro")
            )
    for found in re.finditer(r" not|n't|never |without ", sentence):
        yield (
            "negation",
            sentence[: found.start()] + (" " if found[0].strip() == "not" else "") + sentence[found.end() :],
        )
    verb = re.search(r"\b(is|it) ", sentence)
    if verb:
        yield "negation", sentence[: verb.end()] + "not " + sentence[verb.end() :]
    for kind, table in (("hedge", HEDGES), ("day", DAYS), ("verb", SWAPS), ("place", PLACES)):
        for old, new in table.items():
            for found in re.finditer(rf"(?<![A-Za-z]){re.escape(old)}(?![a-z])", sentence):
                yield kind, sentence[: found.start()] + new + sentence[found.end() :]
    yield from (("sentence added", f"{sentence} {more}") for more in ADDED)
    yield from (("clause added", sentence.rstrip(".") + more + ".") for more in CLAUSES)


def varied(dice: random.Random) -> Iterator[str]:
    """Yield the sentences with other figures, so that no class hangs on one number."""
    yield from SENTENCES
    for _ in range(4):
        for sentence in SENTENCES:
            yield re.sub(r"(?<![£\d./])\b[2-9]\d\b(?![./\d])", lambda _: str(dice.randint(21, 98)), sentence)


def all_mutants() -> list[tuple[str, str, str]]:
    """Return class, sentence and mutant, each mutant once."""
    dice = random.Random(7)
    made = {(kind, said, wrong) for said in varied(dice) for kind, wrong in mutants(said, dice) if wrong != said}
    return sorted(made)


def test_a_thousand_wrong_rewrites_are_refused() -> None:
    """Of 1,000 and more mutants in 13 classes 995 in 1,000 are refused; of numbers, units, prices, days, names all."""
    made = all_mutants()
    through = Counter(kind for kind, said, wrong in made if not guard.refuse(said, wrong, NAMES))
    classes = Counter(kind for kind, _, _ in made)
    assert len(made) >= 1000
    assert len(classes) == 13, classes
    assert sum(through.values()) <= 0.005 * len(made), through
    assert not {"number", "fraction", "sides swapped", "unit", "price", "day", "name"} & set(through), through


def harmless() -> list[tuple[str, str]]:
    """Return the harmless rewrites of the fixture file."""
    lines = (FIXTURES / "rewrites.txt").read_text(encoding="utf-8").splitlines()
    told = [line[2:] for line in lines if line.startswith(("< ", "> "))]
    return list(zip(told[::2], told[1::2], strict=True))


def test_most_harmless_rewrites_pass(record_property: Callable[[str, object], None]) -> None:
    """Of 100 rewrites that change nothing at least 60 pass; a refusal only keeps the rule's own text."""
    pairs = harmless()
    refused = {said: why for said, rewrite in pairs if (why := guard.refuse(said, rewrite))}
    record_property("accepted", len(pairs) - len(refused))
    assert len(pairs) == 100
    assert len(pairs) - len(refused) >= 60, Counter(refused.values())


@pytest.mark.parametrize(
    "rewrite",
    [
        "<b>Fold it.</b>",
        "Fold it. [here](http://evil.example)",
        "Fold it | now.",
        "Fold `it`.",
        "Fold it\nnow.",
        "Fold it. See HTTP://x.example",
    ],
)
def test_mark_up_and_links_are_refused(rewrite: str) -> None:
    """A model cannot bring mark-up or an address into the post."""
    assert guard.refuse("Fold it.", rewrite)


def test_the_same_sentence_passes() -> None:
    """A sentence is no worse than itself."""
    assert all(not guard.refuse(said, said, NAMES) for said in SENTENCES)
