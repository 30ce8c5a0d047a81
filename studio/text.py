"""Text made safe for where it goes: no control characters, Markdown escaped, links checked, names for files."""

import json
import re
import unicodedata
from urllib.parse import quote, urlsplit

_UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn"}
_WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)*")
_MARKS = re.compile(r"[\\`*_\[\]<>#|~{}^]|&(?=[#\w])")
_LINE_START = re.compile(r"^(?:([-+=:])|(\d{1,9})([.)])(?=\s|$))")
_AUTO_LINK = re.compile(r"(?<=\w)(:)(?=//)|(?<=www)(\.)|(@)", re.IGNORECASE)
_RESERVED = frozenset(
    ["con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10))]
)
_FRACTIONS = {sign: unicodedata.normalize("NFKC", sign).replace("⁄", "/") for sign in "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"}
_SAFE_URL = "/:?#@!$&*+,;=%-._~"


def plain(text: str) -> str:
    """Return the text without control and format characters; line breaks and tabs stay.

    These are the Unicode categories Cc, Cf, Cs, Co and Cn; line and paragraph separators become spaces (Unicode
    Standard, section 4.5). Joiners, direction marks and escape sequences go with them.
    """
    if text.isascii() and text.isprintable():
        return text
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\u2028", " ").replace("\u2029", " ")
    return "".join(sign for sign in text if sign in "\n\t" or unicodedata.category(sign) not in _UNSEEN)


def word_list(text: str) -> list[str]:
    """Return the words of a text, with the apostrophes inside them."""
    return _WORD.findall(text)


def letters_of(text: str) -> str:
    """Return the letters and digits alone."""
    return "".join(filter(str.isalnum, text))


def spaced_words(text: str) -> str:
    """Return the text with nothing but spaces between its words of letters and digits."""
    return " ".join("".join(sign if sign.isalnum() else " " for sign in text).split())


def one_line(text: str) -> str:
    """Return the text without control characters, on one line, with single spaces."""
    return " ".join(plain(text).split())


def single_spaced(text: str) -> str:
    """Return the text with at most one empty line between two lines, and none at its ends."""
    lines = text.strip().split("\n")
    return "\n".join(line for before, line in zip(["x", *lines], lines, strict=False) if line or before)


def md(text: object) -> str:
    """Return text that Markdown shows as it is: no mark-up, no link, no heading, no list, no table cell.

    Source: CommonMark 0.31.2, section 2.4: a backslash before ASCII punctuation makes it plain. Marks that could begin
    something are escaped, apostrophes and commas are not, so that the file stays readable.
    """
    line = _MARKS.sub(r"\\\g<0>", one_line(str(text)))
    line = _AUTO_LINK.sub(r"\\\g<0>", line)
    return _LINE_START.sub(lambda found: f"\\{found[1]}" if found[1] else f"{found[2]}\\{found[3]}", line)


def json_safe(made: str) -> str:
    """Return JSON text in which control and format characters are written as escapes: nothing is lost or acts."""
    if made.isascii():
        return made
    return "".join(
        sign if unicodedata.category(sign) not in _UNSEEN | {"Zl", "Zp"} or sign in "\n\t" else json.dumps(sign)[1:-1]
        for sign in made
    )


def link(url: str) -> str:
    """Return a web address that is fit to be printed as a link, or nothing: http and https only, no user name in it."""
    try:
        parts = urlsplit(one_line(url))
        fit = parts.scheme in {"http", "https"} and parts.hostname and parts.username is None
    except ValueError:
        return ""
    return quote(parts.geturl(), safe=_SAFE_URL) if fit else ""


def ascii_fractions(text: str) -> str:
    """Return the text with each vulgar fraction sign written out, apart from a whole number before it: 5¼ is 5 1/4."""
    out: list[str] = []
    for sign in text:
        if sign in _FRACTIONS:
            out.append((" " if out and out[-1][-1:].isdigit() else "") + _FRACTIONS[sign])
        else:
            out.append(sign)
    return "".join(out)


def slug(text: str, fallback: str = "recording", longest: int = 60) -> str:
    """Return a lower-case ASCII name with hyphens, for a file or an address; never empty, never leaving its folder.

    Args:
        text: a title; may hold anything.
        fallback: taken where nothing of the title is left, or where Windows keeps the name for itself.
        longest: in characters; cut between words.
    """
    from slugify import slugify

    made = slugify(ascii_fractions(plain(text)).replace("/", "-"), max_length=longest, word_boundary=True)
    return slugify(plain(fallback)) or "recording" if not made or made in _RESERVED else made


def shortened(text: str, limit: int) -> str:
    """Return at most `limit` characters on one line, cut between words, with an ellipsis where something was cut."""
    line = one_line(text)
    if len(line) <= limit:
        return line
    kept = line[: limit - 1]
    return (kept.rsplit(" ", 1)[0] if " " in kept else kept).rstrip(" ,;:-") + "…"
