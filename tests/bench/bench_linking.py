"""How well and how fast names in running talk find their rows, at 500, 10,000 and 200,000 rows, beside WRatio.

Run: python -m tests.bench.bench_linking [rows ...]; each size runs in a process of its own so that memory is its own.
Names and talk are invented; the talk is corrupted as a recogniser does it: small letters, plurals, words joined and
split, sound-alikes, slipped letters. The reference, `rapidfuzz.fuzz.WRatio` over all names, is given the true stretch
of words, which the linker must find by itself; so its recall is flattered.
"""

import random
import resource
import subprocess
import sys
import time

from rapidfuzz import fuzz, process, utils

from studio import language
from studio.mentions import mentions
from studio.mentions.words import fold, homophones, ordinary
from studio.model import Catalogue, Product, Sentence, Word

SIZES = (500, 10_000, 200_000)
WORDS = 10_000
_ONSETS = "b bl br c cl cr d dr f fl fr g gl gr h k l m n p pl pr r s sh sk sl sp st t th tr v w wh".split()
_VOWELS = "a e i o u ai ea ee oa oo ow".split()
_CODAS = "ck d l ll m n nd ng nt p r rk rn rt sh ss st t th ve x".split()
_NOUNS = """cardstock ink pad|stamp set|thread|ribbon reel|brush|paper pack|dies|needle set|glaze|wax|cutter|yarn
mould|bead mix|clasp|glue|frame|pen|tape|palette|fabric square|buckle|dye|punch|scissors|clay|varnish|envelope pack
buttons|pliers|wire|pattern|kit|board"""
_KINDS = "small|medium|large|fine|deep|clear|matt|gloss|black|white|cream|blue|green|red|grey".split("|")
_TALK = """I like to do this bit slowly and then turn it over|so we leave that for ten minutes while the kettle boils
and press along the line with your thumb until it gives|it makes a real difference to how the thing sits in the end
my neighbour came round and said it looked like a bird|you can always go back and neaten that up afterwards
do not worry if it looks a bit odd at first"""
_SHOWN = (
    "this is the {}",
    "I'm using the {} here",
    "next I've got the {}",
    "grab your {}",
    "and here's the {} again",
    "press it with the {}",
)


def invented(count: int, dice: random.Random) -> list[str]:
    """Return so many different names: one or two invented words, a trade noun, sometimes a size or colour."""
    nouns, stock = _NOUNS.replace("\n", "|").split("|"), [_word(dice) for _ in range(max(400, count // 8))]
    names: dict[str, None] = {}
    while len(names) < count:
        parts = [dice.choice(stock).capitalize() for _ in range(dice.choice((1, 2, 2)))]
        parts.append(dice.choice(nouns).title())
        if dice.random() < 0.35:
            parts.append(dice.choice(_KINDS).capitalize())
        names[" ".join(parts)] = None
    return list(names)


def _word(dice: random.Random) -> str:
    """Return an invented word; one that happens to be ordinary English is thrown away."""
    syllables = dice.choice((1, 2, 2, 3))
    word = "".join(dice.choice(_ONSETS) + dice.choice(_VOWELS) for _ in range(syllables)) + dice.choice(_CODAS)
    return _word(dice) if fold(word) in ordinary() else word


def corrupted(name: str, dice: random.Random) -> str:
    """Return a name as a recogniser may write it."""
    words = name.lower().split()
    if dice.random() < 0.4:
        return " ".join(words)
    at = dice.randrange(len(words))
    match dice.randrange(5):
        case 0:
            words[at] = dice.choice(homophones().get(words[at], (_slip(words[at], dice),)))
        case 1:
            words[-1] = words[-1].removesuffix("s") if words[-1].endswith("s") else f"{words[-1]}s"
        case 2 if len(words) > 1:
            words[at : at + 2] = ["".join(words[at : at + 2])]
        case 3 if len(words[at]) > 6:
            words[at : at + 1] = [words[at][: len(words[at]) // 2], words[at][len(words[at]) // 2 :]]
        case _:
            words[at] = _slip(words[at], dice)
    return " ".join(words)


def _slip(word: str, dice: random.Random) -> str:
    swaps = {
        "c": "k",
        "k": "c",
        "ea": "ee",
        "ee": "ea",
        "oa": "o",
        "ai": "ay",
        "th": "f",
        "ll": "l",
        "ss": "s",
        "x": "cks",
        "v": "f",
        "oo": "u",
    }
    fitting = [key for key in swaps if key in word]
    if fitting:
        return word.replace(key := dice.choice(fitting), swaps[key], 1)
    at = dice.randrange(len(word))
    return word[:at] + dice.choice("aeiou") + word[at + 1 :]


def talk(names: list[str], dice: random.Random) -> tuple[tuple[Sentence, ...], list[tuple[int, str, str]]]:
    """Return talk of `WORDS` words, and sentence, heard words and name of each product in it."""
    chatter = _TALK.replace("\n", "|").split("|")
    sentences: list[Sentence] = []
    planted: list[tuple[int, str, str]] = []
    spoken = 0
    while spoken < WORDS:
        text = dice.choice(chatter)
        if dice.random() < 0.4:
            name = dice.choice(names)
            said = corrupted(name, dice)
            planted.append((len(sentences), said, name))
            text = dice.choice(_SHOWN).format(said)
        at = len(sentences) * 8000
        words = [
            Word(text=word, start_ms=at + 300 * n, end_ms=at + 300 * n + 250) for n, word in enumerate(text.split())
        ]
        sentences.append(language.sentence(len(sentences), words))
        spoken += len(words)
    return tuple(sentences), planted


def measure(rows: int) -> None:
    """Print one line: recall at 1, precision, seconds, and memory of this process, and the reference."""
    dice = random.Random(rows)
    names = invented(rows, dice)
    products = tuple(Product(code=f"C{at}", name=name) for at, name in enumerate(names))
    code = {name: f"C{at}" for at, name in enumerate(names)}
    sentences, planted = talk(names, dice)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    started = time.process_time()
    from studio.mentions.index import Index

    index = Index(products)
    built = time.process_time() - started
    del index
    language.pipeline()
    started = time.process_time()
    found = mentions(sentences, Catalogue(products=products), {})
    whole = time.process_time() - started
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    got = {(sentences_at(mention.start_ms), mention.code) for mention in found}
    sure = {(sentences_at(mention.start_ms), mention.code) for mention in found if mention.state == "confirmed"}
    want = {(at, code[name]) for at, _, name in planted}
    sample = dice.sample(planted, min(60 if rows > 50_000 else 200, len(planted)))
    started = time.process_time()
    right = sum(_by_reference(said, names) == name for _, said, name in sample)
    each = (time.process_time() - started) / len(sample)
    hit, sure_hit = len(got & want), len(sure & want)
    print(f"{rows:>8} rows: recall@1 {hit / len(want):.3f}, precision {hit / max(1, len(got)):.3f},", end=" ")
    print(f"of the sure ones {sure_hit / max(1, len(sure)):.3f};", end=" ")
    print(
        f"index {built:.1f} s, index and {WORDS} words {whole:.1f} s of processor time, {memory / 1024:.0f} MB;",
        end=" ",
    )
    print(f"WRatio, stretch given: recall@1 {right / len(sample):.3f}, {each * len(planted):.1f} s")


def sentences_at(start_ms: int) -> int:
    """Return the sentence of a time."""
    return start_ms // 8000


def _by_reference(said: str, names: list[str]) -> str:
    return process.extractOne(said, names, scorer=fuzz.WRatio, processor=utils.default_process)[0]


if __name__ == "__main__":
    if len(sys.argv) == 2:
        measure(int(sys.argv[1]))
    else:
        for size in [int(word) for word in sys.argv[1:]] or SIZES:
            subprocess.run([sys.executable, "-m", "tests.bench.bench_linking", str(size)], check=True)
