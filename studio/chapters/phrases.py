"""Noun phrases and techniques in running talk, by the word lists of `shared/cues.toml`; no trained model."""

import re
from collections.abc import Iterator, Sequence
from functools import cache, lru_cache

from studio import rule_files
from studio.chapters import cues
from studio.model import Sentence

_WORD = re.compile(r"'s\b|[\w'’&-]+")
_SMALL = frozenset({"a", "an", "and", "the", "of", "for", "in", "on", "to", "with", "or", "by", "at", "from"})
_IS_THE = re.compile(r"(?:\b(?:is|are|be)|'s|'re) (?:the|my|our|your|a|an|some|this|these)\b")
_COPULA = re.compile(r"(?:'s|'re| is| are) (?:the|my|our|what|where|how|when|why)\b")
_ARTICLE = re.compile(r"\b(?:the|an?|my|your|our|some|this|these)\b")
_ONE_THAT = re.compile(r"\b(?:the|my|this) (?:one|ones) (?:that|who|which)\b.*")
_EDGES = " \"'“”‘’().,;:!?…"
_LONGEST = 4
"""Words of a noun phrase."""
_CLEAR = 0.9
"""Weight of a cue that names a subject beyond doubt."""
_FURTHEST = 400
"""Characters of a sentence that are read for what it names."""
_REACH = 120
"""Characters in which a noun phrase must come."""


def topic(part: Sequence[Sentence], naming: int) -> str:
    """Return what the first sentences announce: the noun phrase behind the announcing words, or the technique in them.

    What is announced faintly ("I've got a") counts only where the part comes back to it.
    """
    for sentence in part[:naming]:
        heard = cues.opening_of(sentence.text)
        for one in cues.announcements(heard, 0.5):
            named = _announced(heard.text, one) if one.weight > 0 else ""
            if named and (one.weight >= _CLEAR or recurs(named, part)):
                return named
        bare = cues.bare_topic(heard)
        if bare and (heard.openers or sentence is part[0]):
            return noun_phrase(bare)
    return ""


def _announced(text: str, one: cues.Announcement) -> str:
    phrase, behind = text[one.start : one.end], text[one.end :]
    match one.names:
        case "itself":
            return _head_phrase(_COPULA.split(phrase)[0])
        case "nothing":
            return ""
        case "the clause behind it":
            return _clause(text[one.start :].partition(", ")[2])
    last = phrase.split()[-1:]
    return _technique(last[0], behind) if last and last[0] in _list("verbs") else noun_phrase(behind)


def _clause(text: str) -> str:
    """Return what a main clause is about: its technique ("we can cut the boards") or the thing it begins with."""
    found = _doing().match(text)
    if found and found[1] in _list("light"):
        return noun_phrase(text[found.end() :])
    if found:
        return _technique(found[1], text[found.end() :])
    return noun_phrase(text) if text.split(" ", 1)[0] in _list("determiners") else ""


def noun_phrase(text: str) -> str:
    """Return the noun phrase at the head of a lower-case text, without its article; empty where there is none.

    A phrase that only announces ("the star of the show, your needle") is passed over, and so are words that put the
    thing off ("the last thing I'm going to show you is the bands").
    """
    text = _ONE_THAT.sub("", text[:_FURTHEST])
    light = _lightly_done().match(text)
    text = text[light.end() :] if light else text
    to_do = _to_do().match(text)
    if to_do:
        return _technique(to_do[1], text[to_do.end() :])
    first = _WORD.search(text)
    put_off = _IS_THE.search(text[:_REACH])
    starts = [] if first is None or first[0] in _list("prepositions") - {"to", "with", "about", "on"} else [0]
    starts += [put_off.end()] if put_off else []
    stop = cues.STOP.search(text, 1)
    starts += [stop.end()] if stop else []
    for start in starts:
        found = _head_phrase(text[start : start + _REACH])
        if found and not _empty().fullmatch(found):
            return found
    return ""


def _head_phrase(text: str) -> str:
    kept: list[str] = []
    end = 0
    unfinished = False
    for match in _WORD.finditer(text):
        word = match[0]
        parted = cues.STOP.search(text, end, match.start()) is not None
        if parted and (kept or end):
            break
        end = match.end()
        if not kept and (word in _list("skipped") or word.startswith("'")):
            unfinished = word == "to"
            continue
        if not kept and (unfinished or word in _list("prepositions")):
            break
        if word in _list("stops") | _list("parting") or word[0].isdigit() or len(kept) == _LONGEST:
            break
        kept.append(word)
    while kept and kept[-1] in _SMALL | _list("skipped"):
        kept.pop()
    return " ".join(kept)


def techniques(part: Sequence[Sentence]) -> Iterator[str]:
    """Give what is done in the sentences, as "wetting the sky": a making verb at the head, or after "we" or "you"."""
    for sentence in part:
        heard = cues.opening_of(sentence.text)
        found = _doing().match(heard.rest)
        if found and found[1] in _list("verbs") and (named := _technique(found[1], heard.rest[found.end() :])):
            yield named


@cache
def _doing() -> re.Pattern[str]:
    verbs = "|".join(sorted(_list("verbs") | _list("light")))
    who = r"we|you|i|we're|i'm|you're|i'll|we'll|you'll|let's"
    lead = rf"(?:(?:{who}|and|then|now|just|going to|gonna|can|want to|need to|go|ahead) ){{0,6}}"
    return rule_files.expression(rf"{lead}({verbs})\b", exact=True)


@cache
def _lightly_done() -> re.Pattern[str]:
    """Match a verb that says little, with its pronoun ("give it")."""
    light = "|".join(sorted(_list("light")))
    return rule_files.expression(rf"[\s,]*(?:{light})\b(?: (?:it|them|this|these|that|him|her)\b)?", exact=True)


@cache
def _to_do() -> re.Pattern[str]:
    verbs = "|".join(sorted(_list("verbs")))
    return rule_files.expression(rf"[\s,]*(?:is |are |was )?to ({verbs})\b", exact=True)


def _technique(verb: str, behind: str) -> str:
    first = _WORD.search(behind)
    if first is None or first[0] in _list("prepositions") or cues.STOP.search(behind, 0, first.start()):
        return gerund(verb)
    of = _head_phrase(behind[:_REACH])
    return f"{gerund(verb)} the {of}" if of and not _empty().fullmatch(of) else gerund(verb)


def gerund(verb: str) -> str:
    """Return the -ing form of a making verb."""
    if verb in _list("doubled"):
        return f"{verb}{verb[-1]}ing"
    if verb.endswith("ie"):
        return f"{verb[:-2]}ying"
    return f"{verb[:-1]}ing" if verb.endswith("e") and not verb.endswith(("ee", "ye", "oe")) else f"{verb}ing"


def introduced(part: Sequence[Sentence]) -> Iterator[str]:
    """Give the noun phrases that the sentences introduce ("this is the", "I'm using the")."""
    for sentence in part:
        text = cues.lowered(sentence.text)
        for match in _introducers().finditer(text):
            if named := noun_phrase(text[match.end() :]):
                yield named


def heads(part: Sequence[Sentence]) -> set[str]:
    """Return the words that end a noun phrase behind an article or a possessive: what is said of things."""
    found: set[str] = set()
    for sentence in part:
        found.update(_heads(sentence.text))
    return found


@lru_cache(maxsize=8192)
def _heads(said: str) -> tuple[str, ...]:
    text = cues.lowered(said)[:_FURTHEST]
    ends = (match.end() for match in _ARTICLE.finditer(text))
    return tuple(word for end in ends for word in _head_phrase(text[end : end + _REACH]).split()[-1:])


def nouns(part: Sequence[Sentence]) -> Iterator[str]:
    """Give every word that could name something."""
    for sentence in part:
        yield from _nouns(sentence.text)


@lru_cache(maxsize=8192)
def _nouns(text: str) -> tuple[str, ...]:
    words = _WORD.findall(cues.lowered(text))
    return tuple(word for word in words if len(word) > 2 and not word[0].isdigit() and word not in _common())


def recurs(phrase: str, part: Sequence[Sentence]) -> bool:
    """Return whether the part says the last word of the phrase twice or more."""
    return sum(word.rstrip("s") == stems(phrase)[-1] for word in nouns(part)) > 1 if stems(phrase) else False


def proper_names(part: Sequence[Sentence]) -> dict[str, str]:
    """Return the spelling of words that are always written with a capital inside a sentence, by their lower case."""
    forms: dict[str, set[str]] = {}
    for sentence in part:
        for word in sentence.words[1:]:
            bare = word.text.strip(_EDGES)
            if bare[1:].islower():
                forms.setdefault(cues.lowered(bare), set()).add(bare)
    return {low: next(iter(found)) for low, found in forms.items() if len(found) == 1 and found != {low}}


def stems(text: str) -> list[str]:
    """Return the words of a name without their plural, small words left out."""
    return [word.lower().rstrip("s") for word in _WORD.findall(text) if word.lower() not in _SMALL]


def _list(name: str) -> frozenset[str]:
    return rule_files.word_set("titles.toml", name)


def _empty() -> re.Pattern[str]:
    return rule_files.pattern("titles.toml", "empty", exact=True)


def _introducers() -> re.Pattern[str]:
    return rule_files.pattern("titles.toml", "introducers", exact=True)


@cache
def _common() -> frozenset[str]:
    openers = cues.cue_words("opener", "words")
    return openers | _list("common") | _list("stops") | _list("skipped") | cues.cue_words("bare_topic", "not_nouns")
