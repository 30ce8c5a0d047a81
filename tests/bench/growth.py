"""What long texts cost: patterns and readers at four times the length, and the readers beside a plain one, in one run.

Even growth is 4. The tests count calls, which the inside of a regular expression does not show; here it does.
"""

import csv
import re
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date
from functools import partial
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1])]

from studio import catalogue, dates, quantity, resources  # noqa: E402
from studio.checks import privacy  # noqa: E402
from studio.checks.claims import pattern as claim  # noqa: E402
from studio.offers import terms  # noqa: E402
from studio.settings import CatalogueChoices  # noqa: E402
from studio.writing import wording, worth  # noqa: E402

PIECES = ("1", '"', "1/2/", "a", "spend ", "it is a ", "keep a ", "um, ", "and, and ", "not ")
LENGTH = 80_000
NOTICED = 0.02
"""Seconds below which a growth is only the clock's own."""


def took(work: Callable[..., object], *given: object) -> float:
    """Return the seconds of processor time that some work takes."""
    began = time.process_time()
    work(*given)
    return time.process_time() - began


def patterns() -> Iterator[tuple[str, re.Pattern[str]]]:
    """Yield every pattern of the rule files that is looked for in a sentence, with the table it stands in."""
    for row in resources.table("cautions.toml")["hazard"]:
        yield from (("cautions", re.compile(row[name], re.IGNORECASE)) for name in ("things", "says", "marks"))
    table = resources.table("offers.toml")
    yield from (("offers", terms.pattern(name)) for name in table["patterns"])
    yield from (("offers", re.compile(words)) for words in table["basis"].values())
    for name, rows in resources.table("claims.toml").items():
        yield from (("claims", claim(name, row)) for row in rows if name != "words")
    table = resources.table("statements.toml")
    yield from (("statements", privacy._pattern(name)) for name in table["private"])
    for name in ("earnings", "safety"):
        yield from (("statements", re.compile(words, re.IGNORECASE)) for words in table[name]["patterns"])
    yield from (("wording", pattern) for _, _, pattern in worth.leave_out())
    yield from (("wording", pattern) for _, pattern, _ in wording.rewrites())


def steepest() -> None:
    """Print for each table of patterns the worst growth that a clock can see, and the slowest search."""
    worst: dict[str, tuple[float, str]] = {}
    slowest: dict[str, float] = {}
    for name, pattern in patterns():
        for piece in PIECES:
            text = piece * (LENGTH // len(piece))
            whole, quarter = took(pattern.search, text), took(pattern.search, text[: LENGTH // 4])
            slowest[name] = max(slowest.get(name, 0), whole)
            growth = whole / max(quarter, NOTICED / 4) if whole > NOTICED else 0.0
            worst[name] = max(worst.get(name, (0.0, "none is noticed")), (growth, pattern.pattern[:50]))
    for name, seconds in slowest.items():
        growth, which = worst[name]
        print(f"patterns of {name}: slowest {seconds:.3f} s for {LENGTH} characters; growth {growth:.1f} ({which})")


def readers() -> None:
    """Print the growth of the readers of quantities and of days."""
    for name, read in (("quantity", quantity.read), ("dates", partial(dates.period, on=date(2026, 1, 7)))):
        for piece in ("½½", "one hundred and ", "until ", "from the 1st to "):
            text = piece * (LENGTH // len(piece))
            whole, quarter = took(read, text), took(read, text[: LENGTH // 4])
            print(f"{name}, {piece!r} over and over: {whole:.2f} s, growth {whole / max(quarter, NOTICED / 4):.1f}")


def beside_plain_ones() -> None:
    """Print how many times as long as cutting into words, or as reading the bare table, our readers take."""
    fixture = Path(__file__).parents[1] / "fixtures" / "spoken_quantities.txt"
    sentences = [line.split("=>")[0] for line in fixture.read_text(encoding="utf-8").splitlines() if line] * 4
    words = re.compile(r"\w+|[^\w\s]")
    ours = took(lambda: [quantity.read(one) for one in sentences])
    plain = took(lambda: [[m.group() for m in words.finditer(one)] for one in sentences])
    print(f"quantities: {len(sentences) / ours:.0f} sentences a second, {ours / plain:.0f} times cutting into words")
    head = "code,name,kind,price,currency,page,size,available_until\n"
    rows = "".join(f'C{n},Item {n},paper,4.50,GBP,3,"12"" x 12""",31 Aug 2026\n' for n in range(10_000))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.csv"
        path.write_text(head + rows)
        ours = took(lambda: catalogue.load(path, CatalogueChoices()))
        plain = took(lambda: list(csv.reader(path.open(newline=""))))
    print(f"catalogue: 10,000 rows in {ours:.2f} s, {ours / plain:.0f} times the bare table")


if __name__ == "__main__":
    steepest()
    readers()
    beside_plain_ones()
