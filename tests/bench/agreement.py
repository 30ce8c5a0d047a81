"""How far two readers agree on the marks of the same talks: `python tests/bench/agreement.py SECOND_FOLDER`.

SECOND_FOLDER holds talks marked again by a second reader, who saw the words and the catalogue alone; the first reader's
stand in the corpus under the same names. `--plain TALK` prints a talk without its marks, for a second reader.
"""

import sys
from collections import Counter
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1])]

from studio.reader.talks import Talk, read_talk  # noqa: E402

TALKS = HERE.parent / "talks"


def plain(talk: Talk) -> str:
    """Return the words of a talk, a line an utterance, with speakers."""
    two = len({one.speaker for one in talk.utterances}) > 1
    return "\n".join((f"{one.speaker}: " if two else "") + one.text for one in talk.utterances) + "\n"


def shown(talk: Talk) -> set[str]:
    """Return the codes that a reader marked as shown and not withdrawn."""
    marks = (m.mark for one in talk.utterances for m in one.marks if m.mark.kind == "row")
    return {code for mark in marks for code in mark.codes if mark.role == "shown" and not mark.wrong}


def roles(first: Talk, second: Talk) -> tuple[int, int, int, int]:
    """Return: rows marked by the first, by the second, the same words with the same row, and of these the same role."""
    mine, theirs = _rows(first), _rows(second)
    same = right = 0
    for line, a, b, codes, role in mine:
        near = [r for n, c, d, k, r in theirs if (n == line and c < b and a < d and set(codes) & set(k)) or
                (n == line and c < b and a < d and not codes and not k)]  # fmt: skip
        same += bool(near)
        right += role in near
    return len(mine), len(theirs), same, right


def _rows(talk: Talk) -> list[tuple[int, int, int, tuple[str, ...], str]]:
    return [
        (n, m.first, m.last, m.mark.codes, m.mark.role)
        for n, one in enumerate(talk.utterances) for m in one.marks if m.mark.kind == "row"
    ]  # fmt: skip


def kappa(pairs: list[tuple[str, str]]) -> float:
    """Return Cohen's kappa of two readers' kinds of line (Cohen 1960)."""
    total = len(pairs)
    agreed = sum(a == b for a, b in pairs) / total
    one, two = Counter(a for a, _ in pairs), Counter(b for _, b in pairs)
    chance = sum(one[kind] * two[kind] for kind in one) / total**2
    return (agreed - chance) / (1 - chance)


def main() -> None:
    """Print a talk without marks, or compare a folder of second readings with the corpus."""
    if sys.argv[1] == "--plain":
        print(plain(read_talk(next(TALKS.glob(f"*/{sys.argv[2]}.txt")))), end="")
        return
    both = rows = seen = right = firsts = seconds = 0
    kinds: list[tuple[str, str]] = []
    names = sorted(Path(sys.argv[1]).glob("*.txt"))
    for path in names:
        first, second = read_talk(next(TALKS.glob(f"*/{path.name}"))), read_talk(path)
        mine, theirs = shown(first), shown(second)
        both, firsts, seconds = both + len(mine & theirs), firsts + len(mine), seconds + len(theirs)
        a, _, b, c = roles(first, second)
        rows, seen, right = rows + a, seen + b, right + c
        kinds += [(x.kind, y.kind) for x, y in zip(first.utterances, second.utterances, strict=True)]
    print(f"{len(names)} talks: items F1 {2 * both / (firsts + seconds):.3f} ({both} of {firsts} and {seconds})")
    print(f"row marks found again {seen / rows:.3f} ({seen}/{rows}), with the same role {right / max(1, seen):.3f}")
    print(
        f"kinds of line {sum(a == b for a, b in kinds) / len(kinds):.3f}, kappa {kappa(kinds):.3f}, {len(kinds)} lines"
    )


if __name__ == "__main__":
    main()
