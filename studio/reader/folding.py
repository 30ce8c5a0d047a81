"""Words of a talk and of a catalogue in one form, so that they can be compared: numbers, units, endings."""

import re
from collections.abc import Sequence
from itertools import pairwise

from studio.reader.digits import in_digits

_ALIKE = {
    "mil": "mm", "mils": "mm", "millimetre": "mm", "millimeter": "mm", "centimetre": "cm", "centimeter": "cm",
    "inches": "in", "inch": "in", "metre": "m", "meter": "m", "gram": "g", "gramme": "g", "kilo": "kg",
    "kilogram": "kg", "ounce": "oz", "pound": "lb", "litre": "l", "liter": "l", "color": "colour", "gray": "grey",
    "half": "1/2", "quarter": "1/4", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7",
    "eight": "8", "nine": "9", "ten": "10", "eleven": "11", "twelve": "12", "nought": "0", "matte": "matt",
}  # fmt: skip
"""Other ways to say the same word (common practice, no source)."""
_WORD = re.compile(r"\d+/\d+|\d+(?:\.\d+)?|[^\W\d_]+(?:'[^\W\d_]+)?")


def fold(text: str) -> list[str]:
    """Return the words of a text in one form: lower case, digits, no plural s, units by their signs."""
    return [key for keys, _ in folded(text.split()) for key in keys]


def folded(words: Sequence[str]) -> list[tuple[list[str], int]]:
    """Return the words of a talk or a name in one form, each with the number of the word where it begins.

    Numbers are decimals; two said together are one number more: "one and a half", "oh three", "seven fifty".
    """
    found = [(_keys(word), first) for word, first, _ in in_digits(list(words), money=False)]
    flat = [(key, keys) for keys, _ in found for key in keys]
    for (one, keys), (two, _) in pairwise(flat):
        keys.extend(_together(one, two))
    return found


def _keys(word: str) -> list[str]:
    found = []
    for part in _WORD.findall(word.lower()):
        bare = part.removesuffix("'s")
        bare = bare[:-1] if len(bare) > 3 and bare.endswith("s") and not bare.endswith("ss") else bare
        key = _ALIKE.get(part) or _ALIKE.get(bare, bare)
        found.append(_decimal(key) if key[0].isdigit() else key)
    return found


def _decimal(number: str) -> str:
    """Return a number as the shortest decimal; one with a nought before it is a name and stays."""
    if number[0] == "0" and number.isdigit():
        return number
    return f"{round(value(number), 4):g}"


def _together(one: str, two: str) -> list[str]:
    """Return the number that two words make together, if they make one."""
    if not two[0].isdigit():
        return []
    if one == "oh" and two.isdigit():
        return [f"0{two}"]
    if not one.isdigit():
        return []
    if two.startswith("0."):
        return [f"{float(one) + float(two):g}"]
    return [f"{float(f'{one}.{two}'):g}"] if two.isdigit() and len(two) == 2 else []


def value(number: str) -> float:
    """Return a decimal or a fraction as a number."""
    whole, _, part = number.partition("/")
    return float(whole) / float(part) if part and float(part) else float(whole)
