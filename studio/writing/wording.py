"""From spoken to written inside one sentence: listed deletions and substitutions, never of a protected word."""

import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise

from studio import rule_files
from studio.quantity.number_words import PARTS, SMALL, TENS
from studio.writing import worth
from studio.writing.redaction import Edit, Working

_TOKEN = re.compile(r"[^\W_]+(?:['’-][^\W_]+)*")
_CLAUSE = re.compile(r"[,;:]|\s[–—-]+\s")
_TURN = re.compile(r"^\W*(?:(?:well|so|and|but|no|sorry|hold on|hang on|actually|let me|um)\b\W*)*", re.IGNORECASE)
_LONGEST_REPEAT = 5
SHORT_WORDS = 9
"""A sentence with fewer words is not parted."""
_UNFINISHED = frozenset("a an the my your our of with for at and is are was it's that's i'm".split())
_NOT_BEFORE_FALSE_START = frozenset("not never of in with for to on at by from than like no".split())
_OBJECTS = frozenset("it that this those these them you me us one her him there here".split())
_SMALL_WORDS = frozenset(
    "i you we they he she it that this these those there here a an the my your our and but so if when it's that's i'm "
    "you're we're they're i've you've we've i'll you'll we'll there's here's is are was can could do don't to of in on "
    "for with what who which because i'd you'd we'd it'd he's she's what's don't let's as where how".split()
)
FREE_RULES = frozenset({"tag question", "opening word", "aside", "hesitation", "corrected aloud"})
"""Rules whose patterns hold a negation or a hedge of their own: a tag, "don't ask"."""


@cache
def protected() -> frozenset[str]:
    """Return the words that no rule takes out: negations and hedges."""
    words = worth.listed("protected", "negations") | worth.listed("protected", "hedges")
    return frozenset(word for word in words if "-" not in word)


@cache
def _number_words() -> frozenset[str]:
    return frozenset([*worth.listed("protected", "numbers"), *SMALL, *TENS, *PARTS, "oh"])


def _is_number(word: str) -> bool:
    """Return whether a word is a number, or holds one: "three", "3/4", "twenty-two"."""
    return any(char.isdigit() for char in word) or not _number_words().isdisjoint(word.split("-"))


def numbers(text: str) -> Counter[str]:
    """Return the numbers of a text, in words and in figures, each as often as it is said."""
    return Counter(word for word in worth.said_words(text) if _is_number(word))


@dataclass(frozen=True)
class _Deletion:
    rule: str
    patterns: tuple[str, ...]


@dataclass(frozen=True)
class _Substitution:
    rule: str
    pairs: tuple[tuple[str, str], ...]


@cache
def rewrites() -> tuple[tuple[str, re.Pattern[str], str], ...]:
    """Return the listed changes in order: rule, pattern, what is shown in its place."""
    removed = rule_files.typed(tuple[_Deletion, ...], worth.FILE, "deletion")
    swapped = rule_files.typed(tuple[_Substitution, ...], worth.FILE, "substitution")
    deletions = [(row.rule, pattern, "") for row in removed for pattern in row.patterns]
    swaps = [(row.rule, said, shown) for row in swapped for said, shown in row.pairs]
    return tuple((rule, rule_files.expression(pattern), shown) for rule, pattern, shown in [*deletions, *swaps])


def reword(working: Working) -> None:
    """Make every listed change in the text, until nothing changes any more (at most three times)."""
    working.edits = list(_written(working.source, working.start, working.end, tuple(working.edits)))


@lru_cache(maxsize=8192)
def _written(source: str, start: int, end: int, edits: tuple[Edit, ...]) -> tuple[Edit, ...]:
    """Return the edits after all changes; kept, so that a talk that is written again is written quickly."""
    working = Working(source, start, end, list(edits))
    for _ in range(3):
        before = working.text
        _repeats(working)
        for rule, pattern, shown in rewrites():
            _each(working, pattern, shown, rule)
        _repeats(working)
        _abandoned(working)
        if working.text == before:
            break
    return tuple(working.edits)


def _each(working: Working, pattern: re.Pattern[str], shown: str, rule: str) -> None:
    at = 0
    while found := pattern.search(working.text, at):
        new = found.expand(shown)
        if _may(found[0], new, rule):
            working.replace(found.start(), found.end(), _spaced(found[0], new, rule), rule)
            at = found.start()
            if not found[0] or new.lower() == found[0].lower():
                return
        else:
            at = found.end() + 1
        if at > len(working.text):
            return


def _may(old: str, new: str, rule: str) -> bool:
    """Return whether nothing protected is lost, and no figure."""
    if rule in FREE_RULES:
        return True
    lost = set(worth.said_words(old)) - set(worth.said_words(new))
    return not lost & protected() and not any(char.isdigit() for char in old)


def _spaced(old: str, new: str, rule: str) -> str:
    """Return the new text with the space that the old text held at its ends, so that words do not run together."""
    if new:
        return new
    if rule == "hesitation" and old.strip()[:1] == "," == old.strip()[-1:] and len(old.strip()) > 1:
        return ","
    return " " if old[:1].isspace() or old[-1:].isspace() else ""


def _repeats(working: Working) -> None:
    """Take out the first of two equal stretches: one word said twice, or a start of up to five words said again.

    A stretch with a number stays, whatever it repeats: "three, three inch strips" are three of three inches.
    """
    while span := _repeat(working.text):
        working.replace(*span, "", "said twice")


def _repeat(text: str) -> tuple[int, int] | None:
    places = [(found.start(), found.end(), found[0].lower().replace("’", "'")) for found in _TOKEN.finditer(text)]
    said = [place[2] for place in places]
    for length in range(_LONGEST_REPEAT, 0, -1):
        for at in range(len(said) - 2 * length + 1):
            if said[at : at + length] != said[at + length : at + 2 * length]:
                continue
            if any(_is_number(word) for word in said[at : at + length]):
                continue
            between = text[places[at + length - 1][1] : places[at + length][0]].strip()
            if between in {"", ",", "...", "…"} and _false_start(text, places[at][0], said[at], between, length):
                return _lesser(text, places[at : at + 2 * length])
    return None


def _lesser(text: str, twice: list[tuple[int, int, str]]) -> tuple[int, int]:
    """Return the stretch to take out: the first, but the second where only the first has the capital of a name."""
    half = len(twice) // 2
    if twice[0][0] > 0 and text[twice[0][0]].isupper() and text[twice[half][0]].islower():
        return twice[half - 1][1], twice[-1][1]
    return twice[0][0], twice[half][0]


def _false_start(text: str, at: int, word: str, between: str, length: int) -> bool:
    """Return whether the first of two equal stretches is a false start, not "round it, it frays" or "gone is gone"."""
    before = text[:at].rstrip()
    opens_clause = not before or before.endswith((",", ";", ":", "."))
    if length == 1:
        return not between or opens_clause or word not in _OBJECTS
    last = before.split(" ")[-1].lower()
    if last in _NOT_BEFORE_FALSE_START or (not between and last in {"when", "if", "what", "once"}):
        return False
    return word in _SMALL_WORDS


def _abandoned(working: Working) -> None:
    """Take out a clause that was given up: it ends in an article or a preposition, and a new one begins."""
    for (start, end), (_, next_end) in pairwise(clauses(working.text)):
        clause = working.text[start:end]
        said = worth.said_words(clause)
        begins_anew = said[-1:] in (["a"], ["an"], ["the"]) or stands_alone(_TURN.sub("", working.text[end:next_end]))
        given_up = len(said) > 1 and said[-1] in _UNFINISHED and not set(said) & protected()
        if given_up and begins_anew and not any(char.isdigit() for char in clause) and said[-2:] != ["and", "and"]:
            working.replace(start, end, "", "given up")
            return


def clauses(text: str) -> list[tuple[int, int]]:
    """Return the stretches between commas, semicolons, colons and dashes, each with the mark after it."""
    ends = [found.end() for found in _CLAUSE.finditer(text) if not _inside_number(text, found.start())]
    return list(pairwise([0, *ends, len(text)]))


def _inside_number(text: str, at: int) -> bool:
    return text[at - 1 : at].isdigit() and text[at + 1 : at + 2].isdigit()


def without_clauses(working: Working, bad: Callable[[str], bool], good: Callable[[str], bool], rule: str) -> bool:
    """Take out every clause that is bad and holds nothing good; return whether nothing bad is left."""
    changed = True
    while changed:
        changed = False
        for start, end in reversed(clauses(working.text)):
            clause = working.text[start:end]
            if bad(clause) and not good(clause):
                whole = start == 0 and end == len(working.text)
                working.replace(start, end, "" if end < len(working.text) or whole else _stop(clause), rule)
                changed = bool(working.text.strip(" .,;:!?")) and not whole
                break
    return not bad(working.text)


def _stop(clause: str) -> str:
    """Return the end mark of a last clause, so that the sentence keeps it."""
    return clause.rstrip()[-1:] if clause.rstrip()[-1:] in ".!?" else ""


_JOINT = re.compile(r"(?:,|;|\.)\s+(?:(and then|and so|and|but|so|then)\s+)?", re.IGNORECASE)

_RESUMES = re.compile(
    r"[^,]{1,80}, (?:and|but) not (?:with|in|on|at|to|into|onto|from|under|over|for)\b", re.IGNORECASE
)
"""Goes on with the clause before the one that was put in: "I rub it with a cloth, it's soft, and not with a sponge"."""


def joints(text: str, long: bool) -> Iterator[tuple[int, int]]:
    """Yield the places where a sentence may be parted in two: what is taken out, first and last character.

    Args:
        text: the sentence.
        long: it has more words than a written sentence should, so that any joint before a clause of its own will do.
    """
    for found in _JOINT.finditer(text):
        left, right = text[: found.start()], text[found.end() :]
        if len(worth.said_words(left)) < 4 or len(worth.said_words(right)) < 3 or _open_ended(left):
            continue
        if not worth.has_finite_verb(left) or not stands_alone(right):
            continue
        if found[0].strip() != "." and len(worth.said_words(text)) < SHORT_WORDS:
            continue
        conjunction = (found[1] or "").lower()
        if depends(left) and not (long and conjunction):
            continue
        if not conjunction and _RESUMES.match(right):
            continue
        if conjunction and not long:
            continue
        kept = found.end() if conjunction in {"", "and"} else found.end(1) - len(conjunction.split()[-1])
        yield found.start(), kept


def _open_ended(left: str) -> bool:
    """Return whether the text cannot end here: its last clause is a word or two, or it waits for what is said."""
    last = worth.said_words(left[clauses(left)[-1][0] :])
    return len(last) < 3 or last[-1] in worth.listed("kind", "waiting")


def depends(text: str) -> bool:
    """Return whether the last clause opens with a word that needs a main clause still to come ("if you like it")."""
    at = clauses(text)[-1][0]
    said = worth.said_words(text[at:]) or worth.said_words(text)
    first = next((word for word in said if word not in {"and", "so", "but", "then", "now"}), "")
    return first in worth.listed("kind", "subordinators") or first in {"if", "when", "because"}


def stands_alone(text: str) -> bool:
    """Return whether a clause has its own subject and verb, or is an instruction."""
    said = worth.said_words(text)
    if worth.opens_instruction(text):
        clause = text[: clauses(text)[0][1]]
        return len(worth.said_words(clause)) > 3 or worth.said_words(text)[0] in {"don't", "never", "always", "then"}
    return bool(said) and said[0] in worth.listed("kind", "own_clause") and worth.has_finite_verb(" ".join(said[:6]))
