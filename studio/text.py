"""Text made safe for where it goes: no control characters, Markdown escaped, names for files and addresses."""

import re
import unicodedata

_ESCAPED = re.compile(r"""([!"#$%&'()*+,\-./:;<=>?@\[\\\]^_`{|}~])""")
_SPACE = re.compile(r"\s+")
_FRACTIONS = {sign: unicodedata.normalize("NFKC", sign).replace("⁄", "/") for sign in "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"}


def plain(text: str) -> str:
    """Return the text without control and format characters; line feeds and tabs stay."""
    return "".join(
        sign for sign in text if sign in "\n\t" or unicodedata.category(sign) not in {"Cc", "Cf", "Co", "Cs"}
    )


def one_line(text: str) -> str:
    """Return the text without control characters, on one line, with single spaces."""
    return _SPACE.sub(" ", plain(text)).strip()


def md(text: str) -> str:
    """Return the text so that CommonMark shows just these characters: every ASCII punctuation is escaped.

    Source: CommonMark 0.31.2, section 2.4, "any ASCII punctuation character may be backslash-escaped".
    """
    return _ESCAPED.sub(r"\\\1", one_line(text))


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
    """Return a lower-case ASCII name with hyphens, for a file or an address; never empty, never leaving its folder."""
    from slugify import slugify

    return slugify(ascii_fractions(plain(text)), max_length=longest, word_boundary=True) or fallback
