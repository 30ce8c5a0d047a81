"""Statements that advertising and safety rules ask one to look at: earnings talk, and claims that a thing is safe."""

import re
from collections.abc import Sequence
from functools import lru_cache

from studio import rule_files, text
from studio.model import Catalogue, Finding, Mention, Sentence

_LEADS = frozenset(
    "completely perfectly totally entirely absolutely quite really very so it's they're that's is are".split()
)
_CARRY_MS = 15_000
"""How long "it" still means the item named before."""


def _found(said: str, table: str) -> re.Match[str] | None:
    every = rule_files.patterns("statements.toml", table, "patterns")
    return next((hit for pattern in every for hit in [pattern.search(said)] if hit), None)


@lru_cache(maxsize=8192)
def _earning(said: str) -> re.Match[str] | None:
    never = rule_files.pattern("statements.toml", "earnings", "never")
    return _found(never.sub(lambda hit: "." * len(hit.group()), said.replace("’", "'")), "earnings")


@lru_cache(maxsize=8192)
def _safe(said: str) -> re.Match[str] | None:
    plain = said.replace("’", "'")
    hit = _found(plain, "safety")
    return hit if hit and not rule_files.finds(plain[: hit.start()], "statements.toml", "safety", "negated") else None


def earnings_claims(sentences: Sequence[Sentence]) -> tuple[Finding, ...]:
    """Return a finding for each sentence that talks of money to be made or of joining a team."""
    found = []
    for sentence in sentences:
        hit = _earning(sentence.text)
        if hit:
            message = "This is talk of earnings: such claims need evidence of typical results. Leave it out of print."
            found.append(_finding("earnings_claim", sentence, hit, message, None))
    return tuple(found)


def safety_claims(
    sentences: Sequence[Sentence], mentions: Sequence[Mention], catalogue: Catalogue
) -> tuple[Finding, ...]:
    """Return a finding for each "safe" or "non-toxic" that no maker's statement in the catalogue bears out."""
    products = catalogue.by_code()
    named = [mention for mention in mentions if mention.code in products]
    found = []
    for sentence in sentences:
        hit = _safe(sentence.text)
        if hit is None:
            continue
        near = [m for m in named if sentence.start_ms - _CARRY_MS <= m.start_ms <= sentence.end_ms]
        code = near[-1].code if near else None
        if code and _is_stated(hit.group(), products[code].maker_statement):
            continue
        message = "A claim of safety needs the maker's own statement, and the catalogue row has none that says so."
        found.append(_finding("safety_claim", sentence, hit, message, code))
    return tuple(found)


def _is_stated(claim: str, statement: str) -> bool:
    """Return whether the maker's statement holds what was claimed, in the same words but for hyphens."""
    first, _, rest = claim.lower().partition(" ")
    core = rest if first in _LEADS and rest else claim.lower()
    return bool(statement) and text.letters_of(core) in text.letters_of(statement.lower())


def _finding(kind: str, sentence: Sentence, hit: re.Match[str], message: str, code: str | None) -> Finding:
    return Finding.model_validate({
        "kind": kind, "severity": "warning", "message": message, "heard": hit.group().strip(), "code": code,
        "start_ms": sentence.time_of(hit.start(), hit.end())[0],
    })  # fmt: skip
