"""One mark of a marked talk: what the words inside its brackets are.

| mark | example |
|---|---|
| row | `KB114 shown, n=2, colour=rust`, `KB114/KB115 unclear`, `- own` |
| amount | `= 4 1/4 x 5 1/2 in, of=card base, n=2`, `= 2 to 4 min, about` |
| day | `day 2026-04-14` |
| statement | `says KB114 price false 4.50` |
| availability | `gone KB114`, `coming KB114 2026-05-01` |
| span of an offer | `offer o1` |
| warning, private detail, earnings talk, claim | `warn blade`, `private phone`, `earn income`, `claim food_safe` |
| other words of a correction | `fix, wrong=c1` |

A row, an amount, a day or a `fix` may carry `wrong=c1` or `right=c1`: the withdrawn value and the final one.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

KINDS = ("step", "tip", "fact", "warning", "offer", "chat", "greeting", "viewer")
ROLES = ("shown", "mentioned", "rejected", "given", "own", "unclear")
FIELDS = ("price", "page", "contents", "size", "colour", "pack", "material", "availability", "other")
PRIVATE = ("address", "phone", "email", "bank", "code", "plate", "absence", "school", "health", "customer", "person")
EARN = ("income", "promise", "recruit")
CLAIMS = (
    "food_safe", "non_toxic", "germs", "skin", "child_safe", "eco", "rival", "was_now", "scarcity", "other",
)  # fmt: skip
HAZARDS = (
    "blade", "needle", "heat", "flame", "hot_liquid", "steam", "wax", "caustic", "acid", "solvent", "fumes", "dust",
    "resin", "adhesive", "eyes", "power_tool", "electric", "pressure", "glass", "choking", "child", "pet", "allergen",
    "food", "poison", "lead", "skin", "strain", "trip", "battery", "other",
)  # fmt: skip
OFFER_KINDS = (
    "gift_over_threshold", "gift_with_purchase", "percent_off", "free_delivery", "buy_n_get_m", "dates", "last_chance",
    "amount_off",
)  # fmt: skip
OFFER_KEYS = (
    "kind", "threshold", "percent", "amount", "promo", "gift", "applies", "excludes", "starts", "ends", "over", "buy",
    "get", "region", "stacks", "limit",
)  # fmt: skip
_CLOSED = {"warn": HAZARDS, "private": PRIVATE, "earn": EARN, "claim": CLAIMS}
_NUMBER = re.compile(r"(\d+) (\d+/\d+)|\d+/\d+|\d+\.\d+|\d+")
_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*|-")


class WrongMark(ValueError):
    """A mark that cannot be read; the text says what is wrong and what to write."""


@dataclass(frozen=True)
class Mark:
    """What a stretch of words is."""

    kind: str
    """row, amount, day, says, gone, coming, offer, warn, private, earn, claim, fix."""
    role: str = ""
    codes: tuple[str, ...] = ()
    """Catalogue codes; empty for a thing that the catalogue does not have."""
    values: tuple[Fraction, ...] = ()
    unit: str = ""
    is_range: bool = False
    day: date | None = None
    about: str = ""
    """The field of a statement, the id of an offer, the hazard of a warning, the kind of a detail or claim."""
    true: bool | None = None
    said: str = ""
    attributes: dict[str, str] = field(default_factory=dict)

    @property
    def wrong(self) -> str:
        """The correction that withdraws this, or empty."""
        return self.attributes.get("wrong", "")

    @property
    def right(self) -> str:
        """The correction whose final value this is, or empty."""
        return self.attributes.get("right", "")


def read_mark(text: str) -> Mark:
    """Read one mark.

    Raises:
        WrongMark: If the mark is none of the kinds, or its parts do not fit its kind.
    """
    head, *rest = re.split(r",\s+", text.strip())
    attributes = dict(_attribute(part) for part in rest)
    word = head.split(" ")[0]
    if word == "=":
        return _amount(head[1:].strip(), attributes)
    if word in _READERS:
        return _READERS[word](head.split(" ")[1:], attributes)
    return _row(head, attributes)


def _attribute(part: str) -> tuple[str, str]:
    key, sign, value = part.partition("=")
    if key.strip() == "about" and not sign:
        return "about", "yes"
    known = ("of", "n", "colour", "code", "dim", "wrong", "right", "piece")
    if not sign or key.strip() not in known:
        raise WrongMark(f"“{part}” is no attribute. Write one of {', '.join(known)} as key=value, or “about”.")
    return key.strip(), value.strip()


def _amount(text: str, attributes: dict[str, str]) -> Mark:
    values: list[Fraction] = []
    at, is_range = 0, False
    while found := _NUMBER.match(text, at):
        values.append(sum((Fraction(part) for part in found[0].split(" ")), Fraction(0)))
        at = found.end()
        joint = re.match(r"\s*(x|to|:)\s*(?=\d)", text[at:])
        if not joint:
            break
        is_range = is_range or joint[1] == "to"
        at += joint.end()
    unit = text[at:].strip()
    if not values or not unit:
        raise WrongMark(
            f"“= {text}” is no amount. Write numbers and a unit, like “= 4 1/4 x 5 1/2 in” or “= 2 to 4 min”."
        )
    return Mark("amount", values=tuple(values), unit=unit, is_range=is_range, attributes=attributes)


def _row(head: str, attributes: dict[str, str]) -> Mark:
    parts = head.split(" ")
    if len(parts) != 2 or parts[1] not in ROLES:
        raise WrongMark(f"“{head}” is no mark. A row is written “CODE role”, with a role of {', '.join(ROLES)}.")
    codes = tuple(parts[0].split("/"))
    if not all(_CODE.fullmatch(code) for code in codes):
        raise WrongMark(f"“{parts[0]}” is no code. Write catalogue codes joined by “/”, or “-” for none.")
    if parts[1] == "unclear" and len(codes) < 2:
        raise WrongMark(f"“{head}”: what is unclear needs two codes or more, like “A1/A2 unclear”.")
    if parts[1] != "unclear" and len(codes) > 1:
        raise WrongMark(f"“{head}”: only what is unclear has several codes. Mark each row by its own words.")
    return Mark("row", role=parts[1], codes=tuple(c for c in codes if c != "-"), attributes=attributes)


def _day(parts: list[str], attributes: dict[str, str]) -> Mark:
    return Mark("day", day=read_date(" ".join(parts)), attributes=attributes)


def read_date(text: str) -> date:
    """Read an ISO 8601 date.

    Raises:
        WrongMark: If it is none.
    """
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise WrongMark(f"“{text}” is no date. Write it like 2026-04-14.") from error


def _says(parts: list[str], attributes: dict[str, str]) -> Mark:
    if len(parts) < 4 or parts[1] not in FIELDS or parts[2] not in ("true", "false"):
        raise WrongMark(
            f"“says {' '.join(parts)}” is no statement. "
            f"Write “says CODE FIELD true VALUE” with a field of {', '.join(FIELDS)}."
        )
    said = " ".join(parts[3:])
    return Mark("says", codes=(parts[0],), about=parts[1], true=parts[2] == "true", said=said, attributes=attributes)


def _gone(parts: list[str], attributes: dict[str, str]) -> Mark:
    if len(parts) != 1:
        raise WrongMark("“gone” takes one code: “gone KB114”.")
    return Mark("gone", codes=(parts[0],), attributes=attributes)


def _coming(parts: list[str], attributes: dict[str, str]) -> Mark:
    if len(parts) not in (1, 2):
        raise WrongMark("“coming” takes a code and the day where it is told: “coming KB114 2026-05-01”.")
    day = read_date(parts[1]) if len(parts) == 2 else None
    return Mark("coming", codes=(parts[0],), day=day, attributes=attributes)


def _offer(parts: list[str], attributes: dict[str, str]) -> Mark:
    if len(parts) != 1:
        raise WrongMark("“offer” takes the id of an offer defined at the top: “offer o1”.")
    return Mark("offer", about=parts[0], attributes=attributes)


def _fix(parts: list[str], attributes: dict[str, str]) -> Mark:
    if parts or not {"wrong", "right"} & set(attributes):
        raise WrongMark("“fix” takes only “wrong=ID” or “right=ID”: “fix, wrong=c1”.")
    return Mark("fix", attributes=attributes)


def _closed(kind: str, parts: list[str], attributes: dict[str, str]) -> Mark:
    if len(parts) != 1 or parts[0] not in _CLOSED[kind]:
        raise WrongMark(
            f"“{kind} {' '.join(parts)}” is not known. Write “{kind}” and one of {', '.join(_CLOSED[kind])}."
        )
    return Mark(kind, about=parts[0], attributes=attributes)


_READERS: dict[str, Callable[[list[str], dict[str, str]], Mark]] = {
    "day": _day, "says": _says, "gone": _gone, "coming": _coming, "offer": _offer, "fix": _fix,
    "warn": lambda parts, more: _closed("warn", parts, more),
    "private": lambda parts, more: _closed("private", parts, more),
    "earn": lambda parts, more: _closed("earn", parts, more),
    "claim": lambda parts, more: _closed("claim", parts, more),
}  # fmt: skip
