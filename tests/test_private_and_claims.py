"""Private details, earnings talk and claims of safety."""

import re

import named
import pytest
import spoken
from counted import EVENLY, FAR, growth, sees_no_end

from studio import resources
from studio.checks import privacy, statements
from studio.model import Catalogue, Finding, Product

CODES = Catalogue(products=(Product(code="345678", name="Card"), Product(code="07700-900123", name="Ink")))


def private(text: str, *keep: str) -> list[str]:
    """Return what was found private in a text."""
    return [finding.heard for finding in privacy.private_details(spoken.sentences(text), CODES, keep)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Ring me on 07700 900456 if it's late.", ["07700 900456"]),
        ("You can text me, oh seven seven double oh, nine double oh, four five six.",
         ["oh seven seven double oh, nine double oh, four five six"]),
        ("My number is 555-0134.", ["555-0134"]),
        ("Call five five five, oh one three four.", ["five five five, oh one three four"]),
        ("It's +44 7700 900456.", ["+44 7700 900456"]),
        ("Write to hello@paperbarn.example please.", ["hello@paperbarn.example"]),
        ("Write to hello at paperbarn dot com, please.", ["hello at paperbarn dot com"]),
        ("Post it to 14 Elm Tree Road.", ["14 Elm Tree Road"]),
        ("I'm at number twelve, Mill Lane.", ["number twelve, Mill Lane"]),
        ("The label says BS1 4ZZ on it.", ["BS1 4ZZ"]),
        ("This is for my daughter Elsie.", ["my daughter Elsie"]),
        ("She goes to Park Lane Primary.", ["Park Lane Primary"]),
        ("This parcel is for Jane Smithers.", ["parcel is for Jane Smithers"]),
        ("Hello to Mrs Pemberton.", ["Mrs Pemberton"]),
    ],
)  # fmt: skip
def test_a_private_detail_is_found_as_it_was_said(text: str, expected: list[str]) -> None:
    """Telephone numbers also digit by digit, e-mail also spelt out, streets, children, customers (common practice)."""
    found = private(text)
    assert all(any(one in other for other in found) for one in expected), found


@pytest.mark.parametrize(
    "text",
    [
        "It's item 345678 in the catalogue, so call it the big one.",
        "Ask for 07700-900123 by its number.",
        "Cut it 8 and a half by 11, and then 4 by 5, and then 2 by 3.",
        "One, two, three, four, five of them.",
        "The set is 24 pounds and the page is 112.",
        "My daughter loves this one.",
        "We meet at nine on the road to town.",
        "Fold it, one two three four, and press.",
    ],
)
def test_codes_sizes_and_counting_are_not_private(text: str) -> None:
    """Catalogue codes are taken out first; sizes, prices and counting aloud are no telephone numbers."""
    assert private(text) == []


def test_a_person_who_agreed_to_be_named_is_left_alone() -> None:
    """Names in the settings raise nothing."""
    assert private("This is for my daughter Elsie.", "Elsie") == []


@pytest.mark.parametrize(
    "text",
    [
        "I earn a bit of extra money with this.",
        "Come and join my team.",
        "You could make two hundred pounds a week.",
        "I gave up my job for this.",
        "The kit pays for itself.",
        "Be your own boss.",
        "It's a second income for me.",
        "Message me to become a demonstrator.",
    ],
)
def test_talk_of_earnings_is_found(text: str) -> None:
    """Earnings and recruiting talk goes to the person (FTC staff guidance on multi-level marketing, 30 April 2024)."""
    (finding,) = statements.earnings_claims(spoken.sentences(text))
    assert finding.kind == "earnings_claim"


@pytest.mark.parametrize(
    "text",
    [
        "You earn points with every order.",
        "Make two of these a day.",
        "I made a card for my job.",
        "Join the two edges.",
    ],
)
def test_making_and_saving_are_no_earnings(text: str) -> None:
    """Points, pieces made and edges joined raise nothing."""
    assert statements.earnings_claims(spoken.sentences(text)) == ()


SAFE = Product(code="S1", name="Stamp Ink", maker_statement="Non-toxic (EN 71-3). Safe for children over 3.")
PLAIN = Product(code="P1", name="Wood Oil")


def claims(text: str) -> tuple[Finding, ...]:
    """Return the claims of safety in a text."""
    sentences, mentions = named.said(text, (SAFE, PLAIN))
    return statements.safety_claims(sentences, mentions, Catalogue(products=(SAFE, PLAIN)))


@pytest.mark.parametrize(
    "text",
    [
        "The *wood oil* is completely safe.",
        "The *wood oil* is food safe.",
        "The *wood oil*'s non-toxic so don't worry.",
        "It's chemical free, the *wood oil*.",
        "This *wood oil* is safe for children.",
        "The *stamp ink* is food safe.",
    ],
)
def test_a_claim_of_safety_needs_the_maker(text: str) -> None:
    """In talk, "Safe" and "non-toxic" are found where the row holds no such statement of the maker."""
    (finding,) = claims(text)
    assert finding.kind == "safety_claim"


@pytest.mark.parametrize(
    "text",
    [
        "The *stamp ink* is non-toxic.",
        "The *stamp ink* is safe for children.",
        "The *wood oil* is not food safe.",
        "Keep the *wood oil* in a safe place.",
        "Stay safe, and see you next week.",
    ],
)
def test_what_the_maker_states_or_nobody_claims_raises_nothing(text: str) -> None:
    """The maker's own words, a denial and a wish are no claims."""
    assert claims(text) == ()


@pytest.mark.parametrize("piece", ["1", '"', "1/2/", "a", "a at ", "My "])
def test_no_pattern_runs_away(piece: str) -> None:
    """However long a stretch of one thing is, every pattern finds in it what it finds in a short one."""
    table = resources.table("statements.toml")
    patterns = [privacy._pattern(name) for name in table["private"]]
    patterns += [
        re.compile(words, re.IGNORECASE) for name in ("earnings", "safety") for words in table[name]["patterns"]
    ]
    for pattern in patterns:
        assert sees_no_end(pattern, piece), pattern.pattern
    assert growth(lambda size: privacy.phone_numbers(piece * (size // len(piece)), set()), FAR) < EVENLY
