"""Money as it is said and written, and as it is printed."""

from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from functools import cache
from typing import Any, NamedTuple

from studio import resources
from studio.quantity import numbers
from studio.quantity.found import Found, found_at
from studio.quantity.tokens import END, NUMBER, SIGN, WORD, Tokens
from studio.quantity.words import words

DOLLARS = frozenset({"USD", "NZD", "AUD", "CAD", "SGD", "HKD"})
"""ISO 4217 codes of money that is called dollars."""
_MULTIPLIED = {"m": 10**6, "k": 10**3, "bn": 10**9}
_BIG_LETTERS = {"m": 10**6, "M": 10**6, "b": 10**9, "B": 10**9}


class Currency(NamedTuple):
    """A currency named at a place: its code, and the index after its last token."""

    code: str
    end: int


@cache
def _table() -> dict[str, Any]:
    table: dict[str, Any] = resources.table("units.toml")["money"]
    return table | {
        "codes": frozenset(table["codes"].split()),
        "codes_small": frozenset(code.upper() for code in table["codes_small"].split()),
    }


@cache
def starters() -> frozenset[str]:
    """Return the lower-case tokens that money may begin with before its number."""
    table = _table()
    codes = {code.lower() for code in table["codes"]}
    return frozenset([*(sign.lower() for sign in table["signs"]), *table["before_sign"], *codes, "u"])


def sign_at(t: Tokens, at: int) -> Currency | None:
    """Read a currency sign or code, as in "£", "US$", "u.s. $", "EUR"."""
    raw, table = t.raw[at], _table()
    if raw in table["signs"]:
        return Currency(table["signs"][raw], at + 1)
    code = raw.upper()
    if raw in table["codes"] or (code in table["codes_small"] and len(raw) == 3 and t.raw[at + 1] != "$"):
        return Currency("CNY" if code == "RMB" else code, at + 1)
    return _country_dollar(t, at)


def _country_dollar(t: Tokens, at: int) -> Currency | None:
    low, end = t.low[at], at + 1
    if t.says(at, "u", ".", "s"):
        low, end = "us", at + 3 + (t.raw[at + 3] == ".")
    if t.raw[end] != "$" or low not in _table()["before_sign"]:
        return None
    if len(low) == 1 and low != "c" and not (t.raw[at] in "ASR" and t.glued(end)):
        return None
    return Currency(_table()["before_sign"][low], end + 1)


def name_at(t: Tokens, at: int) -> Currency | None:
    """Read the name of a currency after a number: "us dollars", "euros", "quid", "pounds sterling"."""
    table = _table()
    for length in (2, 1):
        code = table["plain"].get(" ".join(t.low[at : at + length]))
        if code:
            return Currency(code, at + length)
    for length in range(4):
        low = t.low[at + length]
        name = "pound" if length and low in ("pound", "pounds") else table["names"].get(low)
        between = "" if t.raw[at + 1] == "." else " "
        country = table.get(name, {}).get(between.join(t.low[at : at + length]).rstrip("."))
        if country:
            return Currency(country, at + length + 1)
    return None


def before_number(t: Tokens, at: int) -> Found | None:
    """Read money whose sign or code comes first: "£6.50", "USD115", "$ 3 million", "$-99.99"."""
    currency = sign_at(t, at) if t.low[at] in starters() else None
    amount = numbers.number(t, currency.end) if currency else None
    if currency is None or amount is None or amount.form in ("article", "fraction"):
        return None
    start = currency.end
    if t.low[start] in ("a", "an", "point", "couple"):
        return None
    if t.kind[at] == WORD and t.kind[start] != NUMBER and t.raw[start] != "-":
        return None
    value, end = _big(t, amount.value, amount.end)
    follows = name_at(t, end)
    return money_found(t, at, follows.end if follows else end, value, currency.code)


def own_dollars(t: Tokens, quantities: list[Found], currency: str) -> None:
    """Take dollars of no named country for those of the person's own currency, in place."""
    if currency == "USD" or currency not in _table()["dollar"].values():
        return
    for found in quantities:
        if found.unit == "USD" and not {"us", "usd", "u", "american"}.intersection(t.low[found.first : found.last]):
            found.unit = currency


def _big(t: Tokens, value: Fraction, end: int) -> tuple[Fraction, int]:
    """Multiply by "million" or "M" after the currency or the figures."""
    if t.low[end] in numbers.SCALES:
        return value * numbers.SCALES[t.low[end]], end + 1
    size = _BIG_LETTERS.get(t.raw[end], 0) if t.glued(end) else 0
    return (value * size, end + 1) if size else (value, end)


def after_number(t: Tokens, at: int, amount: numbers.Number) -> Found | None:
    """Read money whose sign, code or name comes after its number, with the hundredths after it."""
    value, end = _big(t, amount.value, amount.end) if t.glued(amount.end) else (amount.value, amount.end)
    if amount.form == "fraction" and t.low[end] in ("a", "of"):
        end += 1 + (t.low[end + 1] == "a")
    end += t.raw[end] == "-"
    if hundredth := _hundredth(t, end):
        return money_found(t, at, end + 1, value, hundredth, form=amount.form)
    if many := _multiplied(t.low[end]):
        return money_found(t, at, end + 1, value * many[0], many[1])
    currency = sign_at(t, end) or name_at(t, end)
    belongs_to_next = currency and t.kind[currency.end] == NUMBER and t.glued(currency.end) and not t.glued(end)
    if currency is None or belongs_to_next:  # "3 USD50 cards"
        return None
    value, end = _big(t, value, currency.end)
    name = name_at(t, end) if t.kind[currency.end - 1] != WORD else None
    value, end = with_hundredths(t, value, name.end if name else end)
    return money_found(t, at, end, value, currency.code)


def _multiplied(low: str) -> tuple[int, str] | None:
    """Read "MEUR" and "kUSD"."""
    for prefix, scale in _MULTIPLIED.items():
        code = low[len(prefix) :].upper()
        if low.startswith(prefix) and code in _table()["codes_small"] and low.upper() not in _table()["codes"]:
            return scale, code
    return None


def _hundredth(t: Tokens, at: int) -> str:
    """Return "cent" or "pence" where the word stands there; a "p" only glued to its number."""
    if t.low[at] == "p":
        spoken = t.kind[at - 1] == WORD or t.low[at + 1] in ("each", "a", "per", "apiece", "off")
        return "pence" if t.glued(at) or spoken else ""
    found: str = _table()["hundredths"].get(t.low[at], "")
    return found


def with_hundredths(t: Tokens, value: Fraction, end: int) -> tuple[Fraction, int]:
    """Add cents or pence said after the whole: "six pounds fifty", "15 dollars and 50", "3 dollars 50 cents"."""
    joined = t.low[end] == "and"
    more = numbers.cardinal(t, end + joined)
    if more is None or not more.whole or not 0 < more.value < 100:
        return value, end
    if _hundredth(t, more.end):
        return value + more.value / 100, more.end + 1
    apart = value.denominator > 1 or numbers.fraction(t, end + joined) is not None
    ends = not apart and _ends_price(t, more.end, joined=joined)
    return (value + more.value / 100, more.end) if ends else (value, end)


def _ends_price(t: Tokens, at: int, *, joined: bool) -> bool:
    """Return whether a price may end at this piece; after "and" only at the end of a clause."""
    if t.kind[at] == WORD:
        return t.low[at] == "and" if joined else t.low[at] in words("price", "after_hundredths")
    return t.kind[at] == END or (
        t.kind[at] == SIGN and t.raw[at] not in _table()["signs"] and t.raw[at] not in "%-/\"'°"
    )


def money_found(t: Tokens, first: int, last: int, value: Fraction, unit: str, form: str = "") -> Found:
    """Return an amount of money that reaches from one token to before another."""
    return found_at(t, first, last, (value,), unit, "currency", glued_unit=True, form=form)


# --- printing --------------------------------------------------------------------------------------------------------


def money_places(currency: str) -> int:
    """Return how many decimals a currency has: 2 for GBP, 0 for JPY (ISO 4217, as CLDR lists them)."""
    from babel.numbers import get_currency_precision

    return get_currency_precision(currency)


def show_money(amount: Decimal | Fraction, currency: str, locale: str = "en_GB") -> str:
    """Print money as the locale writes it (CLDR), rounded half up to the currency's own hundredths.

    Args:
        amount: how much.
        currency: ISO 4217 code.
        locale: such as "en_GB" or "de_DE".
    """
    from babel.numbers import format_currency, get_currency_precision

    step = Decimal(1).scaleb(-get_currency_precision(currency))
    with localcontext(prec=_DIGITS):
        exact = Decimal(amount.numerator) / Decimal(amount.denominator) if isinstance(amount, Fraction) else amount
        return format_currency(exact.quantize(step, ROUND_HALF_UP), currency, locale=locale)


_DIGITS = 200
"""So many digits are kept; no amount that can be read has more."""
