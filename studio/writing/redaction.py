"""Changes to a spoken sentence that can be traced and undone: deletions and listed substitutions, with their rules."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from studio import rule_files
from studio.model import Sentence

_NO_COMMA_AFTER = r"\b(is|are|was|were|the|an?|of|my|your|our|very|it's like),"
_TIDY = (
    (r"\s+([,.;:?!])", r"\1"),
    (r"([,;:])(?:\s?[,;:])+", r"\1"),
    (r"\b(which|and|but|so|because|or),\s(?=\w)", r"\1 "),
    (r"[,;:]+(?=[.?!])", ""),
    (r"([.?!])[.,;?!]+", r"\1"),
    (r"\b(sort of|kind of|a bit of),(?= \w)", r"\1"),
    (_NO_COMMA_AFTER + r"(?= (?!(?:and|but|or|so|because|not)\b)\w)", r"\1"),
)
_DANGLING = " ,;:–—-"


@dataclass(frozen=True)
class Edit:
    """What stands in place of the characters `start` to `end` of the sentence; an empty `shown` is a deletion."""

    start: int
    end: int
    shown: str
    rule: str


@dataclass(frozen=True)
class SaidPart:
    """A stretch of one sentence with its edits, and what joins it to the part before."""

    sentence: int
    start: int
    end: int
    edits: tuple[Edit, ...] = ()
    joint: str = ""


def applied(source: str, start: int, end: int, edits: Sequence[Edit]) -> str:
    """Return the characters `start` to `end` of the source with the edits made, not yet tidied."""
    pieces, at = [], start
    for edit in sorted(edits, key=lambda one: (one.start, one.end)):
        pieces += [source[at : edit.start], edit.shown]
        at = edit.end
    return "".join([*pieces, source[at:end]])


def tidied(text: str) -> str:
    """Return the text with spacing and commas in order, a capital at the start and a stop at the end."""
    text = " ".join(text.split())
    for said, shown in _TIDY:
        text = rule_files.expression(said, exact=True).sub(shown, text)
    text = text.lstrip(_DANGLING + ".?!").rstrip(_DANGLING)
    text = text[:1].upper() + text[1:]
    return text if not text or text.endswith((".", "?", "!", "…")) else text + "."


def rebuilt(parts: Sequence[SaidPart], sentences: Sequence[Sentence]) -> str:
    """Return the written text of some parts: what the trace says, worked out again from the spoken words."""
    said = [applied(sentences[part.sentence].text, part.start, part.end, part.edits) for part in parts]
    text = said[0]
    for part, more in zip(parts[1:], said[1:], strict=True):
        text = tidied(text).rstrip(".?!") + part.joint + more.strip()
    return tidied(text)


@dataclass
class Working:
    """A stretch of a sentence while it is worked on; rules see the text as it stands and change places in it."""

    source: str
    start: int
    end: int
    edits: list[Edit] = field(default_factory=list)

    @property
    def text(self) -> str:
        """The text as it stands."""
        return applied(self.source, self.start, self.end, self.edits)

    def replace(self, first: int, last: int, shown: str, rule: str) -> None:
        """Show something else for the characters `first` to `last` of the text as it stands."""
        source_first, before, _ = self._place(first, at_end=False)
        source_last, _, after = self._place(last, at_end=True) if last > first else (source_first, "", "")
        inside = [
            edit for edit in self.edits if source_first <= edit.start and edit.end <= max(source_first, source_last)
        ]
        rules = list(dict.fromkeys([*(name for edit in inside for name in edit.rule.split("; ")), rule]))
        self.edits = [edit for edit in self.edits if edit not in inside]
        self.edits.append(Edit(source_first, max(source_first, source_last), before + shown + after, "; ".join(rules)))
        self.edits.sort(key=lambda edit: (edit.start, edit.end))

    def is_plain(self, first: int, last: int) -> bool:
        """Return whether the characters `first` to `last` of the text as it stands are as they were said."""
        at, source = 0, self.start
        for edit in self.edits:
            at += edit.start - source
            if edit.shown and first < at + len(edit.shown) and at < last:
                return False
            at, source = at + len(edit.shown), edit.end
        return True

    def _place(self, position: int, *, at_end: bool) -> tuple[int, str, str]:
        """Return the place in the source, and what an edit that is cut through shows before and after it."""
        at, source = 0, self.start
        for edit in self.edits:
            plain = edit.start - source
            if position < at + plain or (at_end and position == at + plain):
                return source + position - at, "", ""
            at, source = at + plain, edit.end
            inside = position - at
            if inside < len(edit.shown) or (at_end and inside == len(edit.shown) and edit.shown):
                if at_end:
                    return edit.end, "", edit.shown[inside:]
                return edit.start, edit.shown[:inside], ""
            at += len(edit.shown)
        return source + position - at, "", ""

    def part(self) -> SaidPart:
        """Return the stretch as a part of the draft."""
        return SaidPart(0, self.start, self.end, tuple(self.edits))
