"""Money as it is said and written, and as it is printed."""

import re
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from functools import cache
from typing import Any, NamedTuple

from studio import resources
from studio.quantity import numbers
from studio.quantity.found import Found
from studio.quantity.tokens import END, NUMBER, SIGN, WORD, Tokens

DOLLARS = frozenset({"USD", "NZD", "AUD", "CAD", "SGD", "HKD"})
"""ISO 4217 codes of money that is called dollars."""
_MULTIPLIED = {"m": 10**6, "k": 10**3, "bn": 10**9}
_BIG_LETTERS = {"m": 10**6, "M": 10**6, "b": 10**9, "B": 10**9}
_LETTER_BEFORE_DOLLAR = frozenset("ASR")


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
        "plain": {tuple(name.split()): code for name, code in table["plain"].items()},
    }


@cache
def starters() -> frozenset[str]:
    """Return the lower-case tokens that money may begin with before its number."""
    table = _table()
    codes = {code.lower() for code in table["codes"]}
    return frozenset([*(sign.lower() for sign in table["signs"]), *table["before_sign"], *codes, "u"])


def sign_at(tokens: Tokens, at: int) -> Currency | None:
    """Read a currency sign or code, as in "£", "US$", "u.s. $", "EUR"."""
    raw, low, table = tokens.raw[at], tokens.low[at], _table()
    if raw in table["signs"]:
        return Currency(table["signs"][raw], at + 1)
    dollar = _country_dollar(tokens, at)
    if dollar is not None:
        return dollar
    code = low.upper()
    if raw in table["codes"] or (code in table["codes_small"] and (len(raw) == 3)):
        return Currency("CNY" if code == "RMB" else code, at + 1)
    return None


def _country_dollar(tokens: Tokens, at: int) -> Currency | None:
    low = tokens.low[at]
    if low == "u" and tokens.raw[at + 1] == "." and tokens.low[at + 2] == "s":
        low, end = "us", at + 3 + (tokens.raw[at + 3] == ".")
    else:
        end = at + 1
    if tokens.raw[end] != "$" or low not in _table()["before_sign"]:
        return None
    if len(low) == 1 and low != "c" and not (tokens.raw[at] in _LETTER_BEFORE_DOLLAR and tokens.glued(end)):
        return None
    return Currency(_table()["before_sign"][low], end + 1)


def name_at(tokens: Tokens, at: int) -> Currency | None:
    """Read the name of a currency after a number: "us dollars", "euros", "quid", "pounds sterling"."""
    table = _table()
    for length in (2, 1):
        code = table["plain"].get(tuple(tokens.low[at : at + length]))
        if code:
            return Currency(code, at + length)
    for length in (0, 1, 2, 3):
        name = table["names"].get(tokens.low[at + length])
        if name is None and length and tokens.low[at + length] in ("pound", "pounds"):
            name = "pound"
        country = table.get(name, {}).get(_country(tokens, at, length)) if name else None
        if country:
            return Currency(country, at + length + 1)
    return None


def _country(tokens: Tokens, at: int, length: int) -> str:
    said = (
        "".join(tokens.low[at : at + length]) if tokens.raw[at + 1] == "." else " ".join(tokens.low[at : at + length])
    )
    return said.rstrip(".")


def before_number(tokens: Tokens, at: int) -> Found | None:
    """Read money whose sign or code comes first: "£6.50", "USD115", "$ 3 million", "$-99.99"."""
    if tokens.low[at] not in starters():
        return None
    currency = sign_at(tokens, at)
    if currency is None:
        return None
    start = currency.end
    amount = numbers.number(tokens, start)
    if amount is None or amount.form in ("article", "fraction") or tokens.low[start] in ("a", "an", "point", "couple"):
        return None
    if tokens.kind[at] == WORD and tokens.kind[start] != NUMBER and tokens.raw[start] != "-":
        return None
    value, end = _big(tokens, amount.value, amount.end)
    follows = name_at(tokens, end)
    return money_found(tokens, at, follows.end if follows else end, value, currency.code)


def own_dollars(tokens: Tokens, quantities: list[Found], currency: str) -> None:
    """Take dollars of no named country for those of the person's own currency, in place."""
    if currency == "USD" or currency not in _table()["dollar"].values():
        return
    for found in quantities:
        if found.unit == "USD" and not _COUNTRY.intersection(tokens.low[found.first : found.last]):
            found.unit = currency


_COUNTRY = frozenset(["us", "usd", "u", "american"])


def _big(tokens: Tokens, value: Fraction, end: int) -> tuple[Fraction, int]:
    """Multiply by "million" or "M" after the currency or the figures."""
    if tokens.low[end] in numbers.SCALES:
        return value * numbers.SCALES[tokens.low[end]], end + 1
    if tokens.raw[end] in _BIG_LETTERS and tokens.glued(end):
        return value * _BIG_LETTERS[tokens.raw[end]], end + 1
    return value, end


def after_number(tokens: Tokens, at: int, amount: numbers.Number) -> Found | None:
    """Read money whose sign, code or name comes after its number, with the hundredths after it."""
    value, end = _big(tokens, amount.value, amount.end) if tokens.glued(amount.end) else (amount.value, amount.end)
    if amount.form == "fraction" and tokens.low[end] in ("a", "of"):
        end += 1 + (tokens.low[end + 1] == "a")
    end += tokens.raw[end] == "-"
    hundredth = _hundredth(tokens, end)
    if hundredth:
        found = money_found(tokens, at, end + 1, value, hundredth)
        found.form = amount.form
        return found
    currency = _multiplied(tokens, end) or sign_at(tokens, end) or name_at(tokens, end)
    if isinstance(currency, tuple) and isinstance(currency[0], int):
        return money_found(tokens, at, end + 1, value * currency[0], currency[1])
    if not isinstance(currency, Currency) or _belongs_to_next(tokens, end, currency):
        return None
    value, end = _big(tokens, value, currency.end)
    name = name_at(tokens, end) if tokens.kind[currency.end - 1] != WORD else None
    value, end = with_hundredths(tokens, value, name.end if name else end)
    return money_found(tokens, at, end, value, currency.code)


def _belongs_to_next(tokens: Tokens, at: int, currency: Currency) -> bool:
    """Return whether a sign after a number begins the next amount, as in "3 USD50 cards"."""
    if tokens.kind[currency.end] != NUMBER:
        return False
    return tokens.glued(currency.end) and not tokens.glued(at)


def _multiplied(tokens: Tokens, at: int) -> tuple[int, str] | None:
    """Read "MEUR" and "kUSD"."""
    low = tokens.low[at]
    for prefix, scale in _MULTIPLIED.items():
        code = low[len(prefix) :].upper()
        if low.startswith(prefix) and code in _table()["codes_small"] and low.upper() not in _table()["codes"]:
            return scale, code
    return None


def _hundredth(tokens: Tokens, at: int) -> str:
    """Return "cent" or "pence" where the word stands there; a "p" only glued to its number."""
    word = tokens.low[at]
    if word == "p":
        spoken = tokens.kind[at - 1] == WORD or tokens.low[at + 1] in ("each", "a", "per", "apiece", "off")
        return "pence" if tokens.glued(at) or spoken else ""
    if word == "¢":
        return "cent"
    found: str = _table()["hundredths"].get(word, "")
    return found


def with_hundredths(tokens: Tokens, value: Fraction, end: int) -> tuple[Fraction, int]:
    """Add cents or pence said after the whole: "six pounds fifty", "15 dollars and 50", "3 dollars 50 cents"."""
    joined = tokens.low[end] == "and"
    more = numbers.cardinal(tokens, end + joined)
    if more is None or more.form == "article" or not 0 < more.value < 100 or more.value.denominator > 1:
        return value, end
    if tokens.kind[end + joined] == NUMBER and tokens.raw[end] == ",":
        return value, end
    if _hundredth(tokens, more.end):
        return value + more.value / 100, more.end + 1
    if value.denominator > 1 or numbers.fraction(tokens, end + joined) is not None:
        return value, end
    return (value + more.value / 100, more.end) if _ends_price(tokens, more.end, joined=joined) else (value, end)


def _ends_price(tokens: Tokens, at: int, *, joined: bool) -> bool:
    """Return whether a price may end at this piece; after "and" only at the end of a clause."""
    kind, raw = tokens.kind[at], tokens.raw[at]
    if kind == WORD:
        return tokens.low[at] in ({"and"} if joined else _AFTER_HUNDREDTHS)
    return kind == END or (kind == SIGN and raw not in _table()["signs"] and raw not in "%-/\"'°")


_AFTER_HUNDREDTHS = frozenset(
    "and for a an each the per in on at with which but so or to plus including if when more they it it's that that's "
    "this he she we you i would only was is apiece off altogether today because from instead".split()
)


def money_found(tokens: Tokens, first: int, last: int, value: Fraction, unit: str) -> Found:
    """Return an amount of money that reaches from one token to before another."""
    start, end = tokens.start[first], tokens.end[last - 1]
    return Found(start, end, (value,), unit, "currency", first, last, glued_unit=True)


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


_FIGURES = re.compile(r"\d[\d.,]*")
_PRICE = re.compile(r"[^\d.,\-]")


def read_money(text: str, currency: str = "GBP") -> tuple[Decimal, str] | None:
    """Read one amount of money as it is written in a list or a settings file.

    Args:
        text: such as "£6.50", "6,50 €" or "12.5".
        currency: ISO 4217 code taken where the text names none.

    Returns:
        The amount and its ISO 4217 code, or None where the text is no amount.
    """
    from studio.quantity.tokens import cut

    tokens = cut(text)
    named = [place for place in (sign_at(tokens, at) for at in range(tokens.count)) if place]
    bare = _PRICE.sub("", text).strip(".,")
    if re.fullmatch(r"-?\d{1,12},\d{1,2}", bare):
        bare = bare.replace(",", ".")
    bare = bare.replace(",", "")
    alone = len(_FIGURES.findall(text)) == 1
    if not alone or not re.fullmatch(r"-?\d{1,15}(\.\d{1,6})?", bare):
        return None
    return Decimal(bare), named[0].code if named else currency
