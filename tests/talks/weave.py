"""Weaves a plain talk and its sheet of marks into one marked talk, and checks it: `python weave.py PLAIN SHEET OUT`.

PLAIN holds one utterance a line, `B: ` before it for another speaker than A, `(2.5) ` before that for a silence.
SHEET begins with the head (`key: value` lines) and the offers (`! offer …`), an empty line, then for each line of PLAIN
its number and kind, with its marks below it, indented: `words of the line | mark`. `words#2 | mark` means the second
place where they stand.
A chapter stands above its line: `## Title | word word`. Lines of PLAIN that the sheet passes over are an error.
"""

import re
import sys
from pathlib import Path

_PLAIN = re.compile(r"(?:\((?P<pause>[\d.]+)\) )?(?:(?P<speaker>[A-Z]): )?(?P<text>.+)")


def weave(plain: str, sheet: str) -> str:
    """Return the marked talk of a plain talk and its sheet; a mark whose words do not stand in the line is an error."""
    lines = [line.strip() for line in plain.splitlines() if line.strip()]
    head, _, body = sheet.strip().partition("\n\n")
    offers = [line for line in head.splitlines() if line.startswith("!")]
    out = [line for line in head.splitlines() if not line.startswith("!")] + [""] + offers
    troubles, above, marks, at, kind = [], [], [], 0, ""

    def finish() -> None:
        if at:
            out.extend(above)
            above.clear()
            out.append(_line(lines[at - 1], kind, marks, at, troubles))
            marks.clear()

    for line in body.splitlines():
        if not line.strip():
            continue
        found = re.fullmatch(r"(\d+)[ .:]+([a-z]+)\s*", line)
        if line.startswith("!"):
            out.insert(len(out) if not at else len(head.splitlines()) + 1, line)
        elif line.startswith("##"):
            finish()
            at = -at if at else 0
            above.append(line)
        elif found:
            if at > 0:
                finish()
            number = int(found[1])
            if number != abs(at) + 1 or number > len(lines):
                troubles.append(
                    f"sheet: line {number} comes after {abs(at)}; name each of the {len(lines)} lines once, in order"
                )
            at, kind = min(number, len(lines)), found[2]
        elif line[0] in " \t" and "|" in line:
            marks.append(tuple(part.strip() for part in line.split("|", 1)))
        else:
            troubles.append(f"sheet: “{line}” is neither a line, a chapter nor a mark")
    if at > 0:
        finish()
    if abs(at) != len(lines):
        troubles.append(f"sheet: ends at line {abs(at)} of {len(lines)}")
    if troubles:
        raise SystemExit("\n".join(troubles))
    return "\n".join(out) + "\n"


def _line(text: str, kind: str, marks: list[tuple[str, str]], number: int, troubles: list[str]) -> str:
    found = _PLAIN.fullmatch(text)
    said = found["text"]
    spans: dict[tuple[int, int], list[str]] = {}
    for words, mark in marks:
        span = _place(said, words)
        if span is None:
            troubles.append(f"line {number}: “{words}” does not stand in “{said}”")
        else:
            spans.setdefault(span, []).append(mark)
    for a, b in spans:
        if any(a < c < b < d or c < a < d < b for c, d in spans):
            troubles.append(f"line {number}: two marks cross; one must lie inside the other")
    events = [(a, 1, -b, "[") for a, b in spans]
    events += [(b, 0, -a, "|" + "|".join(mark) + "]") for (a, b), mark in spans.items()]
    out, last = "", 0
    for place, _, _, what in sorted(events):
        out += said[last:place] + what
        last = place
    before = " ".join(
        [kind, *([found["speaker"]] if found["speaker"] else []), *([found["pause"]] if found["pause"] else [])]
    )
    return f"{before}: {out}{said[last:]}"


def _place(said: str, words: str) -> tuple[int, int] | None:
    words, _, nth = words.partition("#") if re.search(r"#\d+$", words) else (words, "", "1")
    found = [m.span() for m in re.finditer(r"(?<!\w)" + re.escape(words) + r"(?!\w)", said)]
    return found[int(nth) - 1] if len(found) >= int(nth) else None


def main() -> None:
    """Weave, write and check one talk."""
    plain, sheet, out = (Path(argument) for argument in sys.argv[1:4])
    out.write_text(weave(plain.read_text(encoding="utf-8"), sheet.read_text(encoding="utf-8")), encoding="utf-8")
    sys.path.insert(0, str(Path(__file__).parents[2]))
    from studio.reader.talks import WrongTalk, read_talk

    try:
        talk = read_talk(out)
    except WrongTalk as error:
        raise SystemExit(
            f"{error}\nThe line reads: {out.read_text(encoding='utf-8').splitlines()[error.line - 1]}"
        ) from error
    words = sum(len(one.words) for one in talk.utterances)
    marks = [m.mark for one in talk.utterances for m in one.marks]
    rows = sum(m.kind == "row" for m in marks)
    print(
        f"good: {words} words, {len(talk.utterances)} lines, {rows} row marks, {len(marks)} marks, "
        f"{len(talk.catalogue.products)} rows"
    )


if __name__ == "__main__":
    main()
