"""One marked talk: a text file that can be read aloud, with marks in the line, and its catalogue beside it."""

import re
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

from studio import catalogue
from studio.model import Catalogue
from studio.reader.marks import KINDS, OFFER_KEYS, OFFER_KINDS, Mark, WrongMark, read_date, read_mark
from studio.settings import CatalogueChoices

HEAD = ("talk", "hand", "craft", "voice", "situation", "currency", "recorded", "catalogue")
MAY = ("market", "units", "speakers", "makes")
_LINE = re.compile(r"(?P<kind>[a-z]+)(?: (?P<speaker>[A-Z]))?(?: (?P<pause>\d+(?:\.\d+)?))?: (?P<text>.+)")
_CHAPTER = re.compile(r"##(?P<maybe>\?)? (?P<title>[^|]+?)(?:\s*\|\s*(?P<words>.+))?")
_OFFER = re.compile(r"! offer (?P<id>[a-z0-9]+) (?P<parts>.+)")


class WrongTalk(ValueError):
    """A marked talk that cannot be read: its file, its line, what is wrong and what to do."""

    def __init__(self, file: str, line: int, what: str) -> None:
        self.file, self.line, self.what = file, line, what
        super().__init__(f"{file}, line {line}: {what}")


@dataclass(frozen=True)
class Marked:
    """A mark, and the words of its utterance that it covers: from `first` up to, not including, `last`."""

    mark: Mark
    first: int
    last: int


@dataclass(frozen=True)
class Utterance:
    """One line: what was said in one breath, what kind of sentence it is, and its marks."""

    line: int
    kind: str
    speaker: str
    pause: float
    """Seconds of silence before it; 0 where none is told."""
    words: tuple[str, ...]
    marks: tuple[Marked, ...]

    @property
    def text(self) -> str:
        """The words as they stand, without marks."""
        return " ".join(self.words)


@dataclass(frozen=True)
class Start:
    """Where a chapter begins: before the utterance of this index."""

    utterance: int
    title: str
    words: tuple[str, ...]
    """Words one of which a good title holds."""
    optional: bool


@dataclass(frozen=True)
class Talk:
    """A marked talk with its catalogue."""

    file: Path
    head: dict[str, str]
    offers: dict[str, dict[str, str]]
    utterances: tuple[Utterance, ...]
    starts: tuple[Start, ...]
    catalogue: Catalogue

    @property
    def name(self) -> str:
        """The file's name without its ending."""
        return self.file.stem

    @property
    def recorded(self) -> date:
        """The day of the recording."""
        return date.fromisoformat(self.head["recorded"])


def read_talk(path: Path) -> Talk:
    """Read one marked talk and its catalogue.

    Raises:
        WrongTalk: If a line, a mark or a code does not fit; it names the line and the remedy.
    """
    return _Reading(path).talk()


def read_part(folder: Path) -> tuple[Talk, ...]:
    """Read all talks of a part of the corpus, in the order of their names."""
    return tuple(read_talk(path) for path in sorted(folder.glob("*.txt")))


@cache
def _catalogue(path: Path) -> Catalogue:
    return catalogue.load(path, CatalogueChoices())


class _Reading:
    """The reading of one file, line by line."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.lines = path.read_text(encoding="utf-8").splitlines()
        self.at = 0
        self.head: dict[str, str] = {}
        self.offers: dict[str, dict[str, str]] = {}
        self.utterances: list[Utterance] = []
        self.starts: list[Start] = []
        self.fixes: dict[str, set[str]] = {}

    def wrong(self, what: str) -> WrongTalk:
        return WrongTalk(self.path.name, self.at, what)

    def talk(self) -> Talk:
        body = self._head()
        self.rows = self._rows()
        for number, line in enumerate(self.lines[body:], start=body + 1):
            self.at = number
            if line.strip():
                self._line(line)
        self._whole()
        rows = _catalogue(self.path.parent / self.head["catalogue"])
        return Talk(self.path, self.head, self.offers, tuple(self.utterances), tuple(self.starts), rows)

    def _head(self) -> int:
        for number, line in enumerate(self.lines, start=1):
            self.at = number
            if not line.strip():
                break
            key, sign, value = line.partition(": ")
            if not sign or key not in HEAD + MAY:
                raise self.wrong(
                    f"“{line}” is no line of the head. Write “key: value” with a key of {', '.join(HEAD + MAY)}."
                )
            self.head[key] = value.strip()
        missing = [key for key in HEAD if key not in self.head]
        if missing:
            raise self.wrong(
                f"The head lacks {', '.join(missing)}. Add a line “{missing[0]}: …” before the first empty line."
            )
        self._date(self.head["recorded"])
        return self.at

    def _date(self, text: str) -> None:
        try:
            read_date(text)
        except WrongMark as error:
            raise self.wrong(str(error)) from error

    def _rows(self) -> frozenset[str]:
        path = self.path.parent / self.head["catalogue"]
        if not path.is_file():
            raise self.wrong(
                f"There is no catalogue “{path.name}” beside the talk. Put it there or mend its name in the head."
            )
        return frozenset(product.code for product in _catalogue(path).products)

    def _line(self, line: str) -> None:
        if line.startswith("!"):
            self._offer(line)
        elif line.startswith("##"):
            self._chapter(line)
        else:
            self._utterance(line)

    def _offer(self, line: str) -> None:
        found = _OFFER.fullmatch(line)
        if not found:
            raise self.wrong("An offer is written “! offer o1 kind=percent_off, percent=20, ends=2026-04-30”.")
        parts = dict(part.split("=", 1) for part in re.split(r",\s+", found["parts"]) if "=" in part)
        strange = [key for key in parts if key not in OFFER_KEYS]
        if strange or parts.get("kind") not in OFFER_KINDS:
            raise self.wrong(
                f"The offer has {'an unknown part ' + strange[0] if strange else 'no known kind'}. "
                f"Parts are {', '.join(OFFER_KEYS)}; kinds are {', '.join(OFFER_KINDS)}."
            )
        for key in ("starts", "ends"):
            if key in parts:
                self._date(parts[key])
        if found["id"] in self.offers:
            raise self.wrong(f"Offer {found['id']} is defined twice. Give each its own id.")
        for key in ("gift", "applies", "excludes"):
            for code in re.findall(r"\b[A-Z]+[-.]?\d[\w.-]*\b", parts.get(key, "")):
                self._known(code)
        self.offers[found["id"]] = parts

    def _chapter(self, line: str) -> None:
        found = _CHAPTER.fullmatch(line.strip())
        if not found:
            raise self.wrong(
                "A chapter is written “## Title | word word”, or “##? Title | word” where it may be left out."
            )
        words = tuple((found["words"] or "").split()) or content_words(found["title"])
        if self.starts and self.starts[-1].utterance == len(self.utterances):
            raise self.wrong("Two chapters begin at one line. Keep one of them.")
        self.starts.append(Start(len(self.utterances), found["title"], words, bool(found["maybe"])))

    def _utterance(self, line: str) -> None:
        found = _LINE.fullmatch(line.strip())
        if not found or found["kind"] not in KINDS:
            raise self.wrong(
                f"A line is written “kind: words”, with a kind of {', '.join(KINDS)}, "
                "a speaker (A, B) and a pause in seconds if any."
            )
        if found["speaker"] and not re.search(rf"\b{found['speaker']}\b", self.head.get("speakers", "")):
            raise self.wrong(f"Speaker {found['speaker']} is not in the head. Add “speakers: {found['speaker']} Name”.")
        words, marks = self._marked(found["text"])
        for marked in marks:
            self._fits(marked.mark)
        pause = float(found["pause"] or 0)
        self.utterances.append(Utterance(self.at, found["kind"], found["speaker"] or "A", pause, words, marks))

    def _marked(self, text: str) -> tuple[tuple[str, ...], tuple[Marked, ...]]:
        plain, open_at = "", list[int]()
        spans: list[tuple[int, int, str]] = []
        for part in re.findall(r"\[|\|[^\[\]]*\]|[^\[\]|]+|.", text):
            if part == "[":
                open_at.append(len(plain))
            elif part in ("]", "|") or (part[0] == "|" and not open_at):
                raise self.wrong("A bracket does not fit. Write “[words|mark]”, with “|” before each mark.")
            elif part[0] == "|":
                spans.append((open_at.pop(), len(plain), part[1:-1]))
            else:
                plain += part
        if open_at:
            raise self.wrong("A bracket is not closed. Write “[words|mark]”.")
        words = list(re.finditer(r"\S+", plain))
        marks = [marked for span in spans for marked in self._spanned(words, *span)]
        return tuple(word[0] for word in words), tuple(marks)

    def _spanned(self, words: list[re.Match[str]], begin: int, end: int, text: str) -> list[Marked]:
        covered = [n for n, word in enumerate(words) if word.start() < end and word.end() > begin]
        if begin == end or not covered:
            raise self.wrong(f"The mark “{text}” covers no words. Put the words between “[” and “|”.")
        try:
            return [Marked(read_mark(one), covered[0], covered[-1] + 1) for one in text.split("|")]
        except WrongMark as error:
            raise self.wrong(str(error)) from error

    def _fits(self, mark: Mark) -> None:
        for code in mark.codes:
            self._known(code)
        if mark.kind == "offer" and mark.about not in self.offers:
            raise self.wrong(
                f"Offer {mark.about} is not defined. Write “! offer {mark.about} kind=…” above the first line."
            )
        if "code" in mark.attributes:
            self._known(mark.attributes["code"])
        for side in ("wrong", "right"):
            if side in mark.attributes:
                self.fixes.setdefault(mark.attributes[side], set()).add(side)

    def _known(self, code: str) -> None:
        if code not in self.rows:
            raise self.wrong(
                f"The catalogue has no row {code}. Mend the code, or write “-” for a thing that it does not have."
            )

    def _whole(self) -> None:
        for name, sides in sorted(self.fixes.items()):
            if "wrong" not in sides:
                raise self.wrong(f"Correction {name} has no withdrawn value. Mark it with “wrong={name}”.")
        used = {marked.mark.about for one in self.utterances for marked in one.marks if marked.mark.kind == "offer"}
        if unused := sorted(set(self.offers) - used):
            raise self.wrong(f"Offer {unused[0]} is defined and never told. Mark its words with “offer {unused[0]}”.")
        if not self.starts or self.starts[0].utterance != 0:
            raise self.wrong("The first chapter must begin at the first line. Write “## Title” above it.")


def content_words(title: str) -> tuple[str, ...]:
    """Return the words of a title that carry it: four letters or more, lower case."""
    found = tuple(re.findall(r"[^\W\d_]{4,}", title.lower()))
    return found or tuple(title.lower().split())
