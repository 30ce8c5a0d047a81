"""The words of a sentence as the grammar of days walks over them, and what it finds there."""

import re
from dataclasses import dataclass
from datetime import date

_TOKEN = re.compile(r"\d{4}-\d\d-\d\d|\d+(?:st|nd|rd|th)\b|\d+|[^\W\d_]+(?:['’][a-z]+)?")


@dataclass(frozen=True)
class Token:
    """A word or number in lower case, and where it stands."""

    text: str
    start: int
    end: int


@dataclass(frozen=True)
class Said:
    """A day (`first` is `last`) or a stretch of days in a text.

    `number_only` marks "the 4th", whose month a neighbouring day may still settle; `doubt` says why it must be asked.
    """

    start: int
    end: int
    first: date
    last: date
    number_only: bool = False
    month_said: bool = False
    stretch: bool = False
    weekday: int | None = None
    """The weekday said with a number alone; 0 is Monday."""
    doubt: str = ""


@dataclass(frozen=True)
class Place:
    """A place among the words of a sentence, and the day on which it was said."""

    tokens: list[Token]
    at: int
    on: date
    text: str

    def word(self, ahead: int = 0) -> str:
        """Return the word so many places on, or nothing beyond the ends."""
        place = self.at + ahead
        return self.tokens[place].text if 0 <= place < len(self.tokens) else ""

    def said(self, count: int, first: date, last: date | None = None, **more: object) -> tuple[Said, int]:
        """Return what the next `count` words say, with how many they are."""
        start, end = self.tokens[self.at].start, self.tokens[self.at + count - 1].end
        return Said(start, end, first, last or first, **more), count  # type: ignore[arg-type]


def day_tokens(text: str) -> list[Token]:
    """Return the words and numbers of a text in lower case, with their places."""
    return [Token(m.group().lower().replace("’", "'"), m.start(), m.end()) for m in _TOKEN.finditer(text)]
