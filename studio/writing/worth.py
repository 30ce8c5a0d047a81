"""What a sentence does: an instruction, a fact, advice, talk; whether it has a verb; when it should be left out."""

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal

from studio import rule_files
from studio.text import word_list

Kind = Literal["step", "advice", "fact", "talk"]
_ALL_COMMAS = str.maketrans(dict.fromkeys(";:–—", ","))
_SUBJECTS = frozenset("i you we they he she it that this these those who which there here what where how".split())
_DETERMINERS = frozenset("that this these those which what here where how there".split())
_CONTRACTED = ("'s", "'re", "'ve", "'ll", "'d", "'m", "n't")
_SEQUENCE = frozenset("and then now next so first finally just always never please also but or don't do not".split())


def said_words(text: str) -> list[str]:
    """Return the words of a text, lower-case, with straight apostrophes."""
    return [word.lower().replace("’", "'") for word in word_list(text)]


FILE = "written.toml"
"""The rules of what is written."""


def listed(section: str, name: str) -> frozenset[str]:
    """Return a word list of the rules."""
    return rule_files.word_set(FILE, section, name)


@cache
def _vocabulary(section: str, name: str) -> frozenset[str]:
    return frozenset(word.replace("-", " ") for word in listed(section, name))


@cache
def plain_verbs() -> frozenset[str]:
    """Return the verbs that open an instruction, in their plain form."""
    return _vocabulary("verbs", "plain")


def forms_of(verb: str) -> set[str]:
    """Return the regular forms of a verb in -s and -ed."""
    stem = verb[:-1] if verb.endswith(("y", "e")) else verb
    if verb.endswith("y") and verb[-2] not in "aeiou":
        return {f"{stem}ies", f"{stem}ied"}
    if verb.endswith(("s", "sh", "ch", "x", "z")):
        return {f"{verb}es", f"{verb}ed"}
    return {f"{verb}s", f"{stem}ed" if verb.endswith("e") else f"{verb}ed", f"{verb}{verb[-1]}ed"}


@cache
def _verb_forms() -> frozenset[str]:
    every = plain_verbs() | _vocabulary("verbs", "other")
    return frozenset(form for verb in every for form in forms_of(verb))


@cache
def _pattern(name: str) -> re.Pattern[str]:
    other = listed("kind", "not_actions") | listed("kind", "not_steps")
    verbs = "|".join(sorted(plain_verbs() - other, key=lambda verb: (-len(verb), verb)))
    return rule_files.expression(rule_files.text(FILE, "kind", name).replace("VERBS", verbs))


@dataclass(frozen=True)
class _LeaveOut:
    reason: str
    patterns: tuple[str, ...]
    always: bool = False


@cache
def leave_out() -> tuple[tuple[str, bool, re.Pattern[str]], ...]:
    """Return what is left out: the reason, whether it always is, the pattern."""
    return tuple(
        (row.reason, bool(row.always), rule_files.expression(pattern))
        for row in rule_files.typed(tuple[_LeaveOut, ...], FILE, "leave_out")
        for pattern in row.patterns
    )


def is_auxiliary(word: str) -> bool:
    """Return whether the word is a finite auxiliary, contracted or not ("it's", "we'll", "don't", "can")."""
    return word in _vocabulary("verbs", "auxiliary") or (word.endswith(_CONTRACTED) and word != "let's")


def opens_instruction(text: str) -> bool:
    """Return whether the text begins as an instruction does: "Cut on the line", "Then fold it", "Don't press"."""
    said = said_words(text)
    at = 0
    while at < min(3, len(said)) and said[at] in _SEQUENCE:
        at += 1
    if at >= len(said) or said[at] not in plain_verbs():
        return at < len(said) and said[at] == "let's" and len(said) > at + 1
    if at + 1 == len(said):
        return len(said) == 1 or at > 0
    after = text.lower().partition(said[at])[2]
    return not is_auxiliary(said[at + 1]) and not after.startswith(",") and said[at + 1] not in {"and", "or"}


@lru_cache(maxsize=8192)
def has_finite_verb(text: str) -> bool:
    """Return whether a finite verb was found: an auxiliary, a verb after its subject, an instruction.

    Told from word lists: a plural or a participle that looks like a verb counts only where a subject or an object
    stands beside it.
    """
    said = said_words(text)
    said = [word for word in said if word not in _vocabulary("verbs", "between")] or said
    if any(_finite(one, before, after) for before, one, after in zip(["", *said], said, [*said[1:], ""], strict=False)):
        return True
    return any(opens_instruction(clause) for clause in text.translate(_ALL_COMMAS).split(","))


def _finite(word: str, before: str, after: str) -> bool:
    if word.endswith("'s") and word[:-2] not in _SUBJECTS:
        return after in _vocabulary("verbs", "after_verb")
    if is_auxiliary(word) or word in _vocabulary("verbs", "irregular"):
        return True
    if before in _SUBJECTS and word not in _vocabulary("verbs", "not_verbs"):
        return before not in _DETERMINERS or word in _verb_forms()
    return word in _verb_forms() and word.endswith("s") and after in _vocabulary("verbs", "after_verb")


def _only_advice(text: str) -> bool:
    """Return whether the instruction asks for no action of the hands ("Remember", "Look", "Don't buy")."""
    first = next((word for word in said_words(text) if word not in _SEQUENCE), "")
    return first in listed("kind", "not_steps")


@lru_cache(maxsize=8192)
def kind_of(text: str) -> Kind:
    """Return what the sentence does, told from its words alone."""
    opens = opens_instruction(text)
    if (opens and not _only_advice(text)) or _pattern("does").search(text):
        return "step"
    if opens:
        return "advice"
    if _pattern("reasons").search(text) or _pattern("advice").search(text):
        return "advice"
    return "fact" if _pattern("describes").search(text) else "talk"


def opens_step(text: str) -> bool:
    """Return whether the sentence begins a new step: "Next", "Then", "Now", or an instruction."""
    return opens_instruction(text) or bool(_pattern("sequence").search(text))


@lru_cache(maxsize=8192)
def reason_to_leave_out(text: str, *, holds_fact: bool) -> str:
    """Return why a sentence should not be in the post, or nothing.

    Args:
        text: the sentence.
        holds_fact: it holds a size, an item or an instruction, so that only the strictest reasons count.
    """
    for reason, always, pattern in leave_out():
        if (always or not holds_fact) and pattern.search(text):
            return reason
    return ""
