"""Numbers written in words made into the digits that a recogniser of today writes."""

import re

_ONES = {w: n for n, w in enumerate(
    "nought one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen".split()
)}  # fmt: skip
_TENS = {w: 10 * n for n, w in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), start=2)}
_PARTS = {
    "half": "1/2",
    "quarter": "1/4",
    "third": "1/3",
    "eighth": "1/8",
    "quarters": "/4",
    "eighths": "/8",
    "thirds": "/3",
}
_UNITS = frozenset(
    "inch inches mil millimetre millimetres millimeter millimeters centimetre centimetres centimeter centimeters "
    "metre metres foot feet yard yards gram grams kilo kilos ounce ounces pound pounds dollars euro euros pence cents "
    "litre litres ml mils minute minutes hour hours second seconds degrees percent".split()
)
_SIGNS = {"pounds": "£", "pound": "£", "dollars": "$", "dollar": "$", "euros": "€", "euro": "€"}


def _bare(word: str) -> str:
    return re.sub(r"[^\w'-]", "", word.lower())


def in_digits(words: list[str], *, money: bool = True) -> list[tuple[str, int, int]]:
    """Return the words with numbers in digits, each with the first word it stands for and the one after its last.

    A number under ten stays a word unless a unit follows; "four and a quarter" becomes "4 1/4", "twelve pounds" £12.
    """
    out: list[tuple[str, int, int]] = []
    at = 0
    while at < len(words):
        end, value = _number(words, at)
        if value is None:
            out.append((words[at], at, at + 1))
            at += 1
            continue
        end, fraction = _fraction(words, end)
        follows = _bare(words[end]) if end < len(words) else ""
        small = end - at == 1 and value < 10 and not fraction and follows not in _UNITS
        if small or (end - at == 1 and words[at].lower().startswith("nought")):
            out.extend((word, n, n + 1) for n, word in enumerate(words[at:end], start=at))
        else:
            out.append(_written(words, at, end, f"{value}{fraction}", follows if money else ""))
            end = out[-1][2]
        at = end
    return out


def _written(words: list[str], at: int, end: int, digits: str, follows: str) -> tuple[str, int, int]:
    tail = re.search(r"[^\w'-]*$", words[end - 1])
    mark = tail[0] if tail else ""
    if follows in _SIGNS and not mark and follows != "pound":
        pence_end, pence = _number(words, end + 1) if not re.search(r"[^\w'-]$", words[end]) else (end, None)
        cents = f".{pence:02d}" if pence is not None and pence < 100 and "." not in digits else ""
        last = pence_end if cents else end + 1
        after = re.search(r"[^\w'-]*$", words[last - 1])
        return f"{_SIGNS[follows]}{digits}{cents}{after[0] if after else ''}", at, last
    if follows == "percent" and not mark:
        after = re.search(r"[^\w'-]*$", words[end])
        return f"{digits}%{after[0] if after else ''}", at, end + 1
    return digits + mark, at, end


def _number(words: list[str], at: int) -> tuple[int, int | None]:
    total, group, end, seen = 0, 0, at, False
    while end < len(words):
        word = _bare(words[end])
        parts = word.split("-")
        if len(parts) == 2 and parts[0] in _TENS and parts[1] in _ONES:
            group += _TENS[parts[0]] + _ONES[parts[1]]
        elif word in _TENS and not group % 100:
            group += _TENS[word]
        elif word in _ONES and (
            not seen
            or (group % 100 >= 20 and not group % 10 and 0 < _ONES[word] < 10)
            or (group and not group % 100)
            or (total and not group)
        ):
            group += _ONES[word]
        elif word == "hundred" and seen and 0 < group < 100:
            group *= 100
        elif word == "thousand" and seen and group:
            total, group = total + group * 1000, 0
        elif (
            word == "and"
            and group
            and not group % 100
            and end + 1 < len(words)
            and _bare(words[end + 1]).split("-")[0] in {*_ONES, *_TENS}
        ):
            end += 1
            continue
        elif word == "a" and not seen and end + 1 < len(words) and _bare(words[end + 1]) == "hundred":
            group, seen, end = 1, True, end + 1
            continue
        else:
            break
        seen, end = True, end + 1
        if re.search(r"[^\w'-]$", words[end - 1]):
            break
    return end, total + group if seen else None


def _fraction(words: list[str], at: int) -> tuple[int, str]:
    said = [_bare(word) for word in words[at : at + 4]]
    clean = not at or not re.search(r"[,.;?!]$", words[at - 1])
    if clean and said[:2] == ["and", "a"] and len(said) > 2 and said[2] in ("half", "quarter", "third", "eighth"):
        return at + 3, f" {_PARTS[said[2]]}"
    if (
        clean
        and said[:1] == ["and"]
        and len(said) > 2
        and said[1] in _ONES
        and said[2] in ("quarters", "eighths", "thirds")
    ):
        return at + 3, f" {_ONES[said[1]]}{_PARTS[said[2]]}"
    if clean and said[:1] == ["point"] and len(said) > 1 and said[1] in _ONES:
        return at + 2, f".{_ONES[said[1]]}"
    return at, ""
