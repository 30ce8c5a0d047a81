"""What was said, word by word with its times: heard in a recording, or read from a caption file given in its place."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import accumulate
from pathlib import Path
from typing import Any, TypedDict

from studio import cache, caption_files, media
from studio.caption_files import Cue
from studio.errors import CaptionsError, RecordingError
from studio.hearing import loudness, recogniser, rehearing, speech_model, word_times
from studio.hearing.journal import Journal
from studio.hearing.recogniser import RATE, HeardWord, Recogniser
from studio.model import Recording, Segment, Span, Transcript, Word
from studio.settings import HearingChoices

VERSION = 2
MOST_NAMES = 25
MOST_TOKENS = 220
_LOW_MEMORY_KB = 1 << 20
Progress = Callable[[int, int], None]
"""Called with the milliseconds heard and the milliseconds in all."""
Spans = list[tuple[int, int]]


# --- heard in a recording --------------------------------------------------------------------------------------------


def hear(
    path: Path, recording: Recording, choices: HearingChoices, names: Sequence[str], work: Path, progress: Progress
) -> Transcript:
    """Return the words said in a recording.

    Each chunk of speech is journalled in `work` as soon as its batch is done. A run that was killed goes on with the
    next batch, and ends with the same result: the chunks are planned once and a batch carries nothing to the next.

    Args:
        path: the recording.
        recording: what it holds.
        choices: language, model, batch and beam.
        names: names that may be said; as many as fit are given to the recogniser.
        work: folder for the journal and the decoded sound.
        progress: told after each batch.

    Raises:
        RecordingError: there is no sound, or it cannot be decoded.
        ModelMissing: there is no speech model.
        StorageError: the disk refused.
    """
    if not recording.has_sound:
        raise RecordingError(f"{path.name} holds no sound.", "Give a recording with speech, or a caption file.")
    hearer = Recogniser(speech_model.find_model(choices.model))
    hearer.start()
    work.mkdir(parents=True, exist_ok=True)
    decoded = work / "sound.s16"
    try:
        sound = media.sound(path, recording.duration_ms, decoded)
        return _heard(sound, recording, choices, names, hearer, work / "heard.journal", progress)
    finally:
        decoded.unlink(missing_ok=True)


def _heard(
    sound: media.Sound, recording: Recording, choices: HearingChoices, names: Sequence[str], hearer: Recogniser,
    journal_file: Path, progress: Progress,
) -> Transcript:  # fmt: skip
    hotwords = names_prompt(names, hearer.tokens)
    task = _task(recording, choices, hotwords, sound, hearer)
    with Journal.resumed(journal_file, task) or Journal.begun(
        journal_file, task, _plan(sound, choices, hearer)
    ) as kept:
        plan: _Plan = kept.records[0]["plan"]
        chunks = recogniser.chunks(plan["speech"], sound.samples)
        for batch in _left(kept, chunks, plan["batch"], sound.samples, progress):
            pieces = [[(start, sound.part(start, end)) for start, end in chunk] for chunk in batch]
            said = hearer.words(pieces, language=plan["language"], beam=choices.beam, hotwords=hotwords)
            kept.append([_record(word) for word in words] for words in said)
        speech, missed = (_spans(plan[name]) for name in ("speech", "missed"))
        blocks = (word_times.fitted(_words(records), speech) for records in kept.records[1:] if records)
        return Transcript(
            language=plan["language"],
            recogniser=hearer.model.identity,
            segments=word_times.rising([word_times.block(words) for words in blocks]),
            speech=speech,
            missed=missed,
            heard_ms=sound.heard_ms,
        )


class _Plan(TypedDict):
    """How the sound is heard, as it stands in the journal; places are samples."""

    speech: Spans
    missed: Spans
    batch: int
    language: str


def _task(recording: Recording, choices: HearingChoices, hotwords: str, sound: media.Sound, hearer: Recogniser) -> str:
    made_from = {"recording": recording.sha256, "model": hearer.model.identity, "samples": str(sound.samples)}
    read = choices.model_dump_json(include={"language", "batch", "beam"})
    return cache.key("hear", VERSION, made_from, {"choices": read, "hotwords": hotwords}, {})


def _plan(sound: media.Sound, choices: HearingChoices, hearer: Recogniser) -> "_Plan":
    even = loudness.evened(sound.part, sound.samples)
    speech = recogniser.speech(even, sound.samples)
    missed = loudness.like_speech(even, sound.samples, speech)
    language = choices.language
    if not language:
        first = speech[0][0] if speech else 0
        language = hearer.language(sound.part(first, min(first + recogniser.LONGEST, sound.samples)))
    return {"speech": speech, "missed": missed, "batch": _batch(choices.batch), "language": language}


def _batch(wanted: int) -> int:
    """Return how many chunks are decoded at once: fewer where less than 1 GB of memory is free (Linux only)."""
    try:
        told = Path("/proc/meminfo").read_text(encoding="ascii")
    except OSError:
        return wanted
    told_kb = (int(line.split()[1]) for line in told.splitlines() if line.startswith("MemAvailable:"))
    free = next(told_kb, _LOW_MEMORY_KB)
    return min(wanted, 4) if free < _LOW_MEMORY_KB else wanted


def _left(kept: Journal, chunks: list[Spans], batch: int, samples: int, progress: Progress) -> Iterable[list[Spans]]:
    done = len(kept.records) - 1
    if done != len(chunks):
        done -= done % batch
        kept.keep(1 + done)
    for start in range(done, len(chunks), batch):
        progress(_ms(chunks[start][0][0]), _ms(samples))
        yield chunks[start : start + batch]
    progress(_ms(samples), _ms(samples))


def _ms(samples: int) -> int:
    return samples * 1000 // RATE


def _spans(pairs: Spans) -> tuple[Span, ...]:
    return tuple(Span(start_ms=_ms(start), end_ms=_ms(end)) for start, end in pairs)


def _record(word: HeardWord) -> list[Any]:
    return [word.start_ms, word.end_ms, word.text, word.confidence]


def _words(records: Iterable[Sequence[Any]]) -> tuple[Word, ...]:
    return tuple(Word(start_ms=a, end_ms=b, text=text, confidence=sure) for a, b, text, sure in records)


def hear_again(
    path: Path, first: Transcript, spans: Sequence[Span], names: Sequence[str], choices: HearingChoices, work: Path,
    progress: Progress,
) -> Transcript:  # fmt: skip
    """Return the transcript with some stretches heard again by a recogniser that was given names.

    Only speech around the spans is heard, and only a name that the first hearing lacks is taken over: where the second
    says nothing new, the first stays.

    Args:
        path: the recording.
        first: what was heard without names.
        spans: where a name is unsure.
        names: names that the recording is about; as many as fit are given to the recogniser.
        choices: language, model and beam.
        work: folder of the first hearing; nothing is left in it.
        progress: told before and after, in milliseconds of what is heard again.

    Raises:
        RecordingError: the recording cannot be decoded.
        ModelMissing: there is no speech model.
    """
    wanted = rehearing.unsure_stretches(first, spans)
    if not wanted or not names:
        return first
    total = sum(span.end_ms - span.start_ms for span in wanted)
    progress(0, total)
    hearer = Recogniser(speech_model.find_model(choices.model))
    hotwords = names_prompt(names, hearer.tokens)
    said = word_times.fitted(tuple(_said_again(path, wanted, first.language, choices, hearer, hotwords)), first.speech)
    recogniser.forget()
    progress(total, total)
    heard = [(span, [word for word in said if span.start_ms <= word.start_ms < span.end_ms]) for span in wanted]
    told = rehearing.merged(first, heard, hotwords.split(", "))
    return first if told is first else told.but(segments=word_times.rising(told.segments))


def _said_again(
    path: Path, wanted: Sequence[Span], language: str, choices: HearingChoices, hearer: Recogniser, hotwords: str
) -> Iterator[Word]:
    sounds = media.stretches(path, wanted)
    pieces = [(span.start_ms * RATE // 1000, sound) for span, sound in zip(wanted, sounds, strict=True)]
    chunks, batch = recogniser.in_chunks(pieces), _batch(choices.batch)
    for at in range(0, len(chunks), batch):
        heard = hearer.words(chunks[at : at + batch], language=language, beam=choices.beam, hotwords=hotwords)
        yield from _words(_record(word) for words in heard for word in words)


def names_prompt(names: Sequence[str], count: Callable[[str], int]) -> str:
    """Return the names that fit into the recogniser's prompt: at most 25, at most 220 tokens, in their order.

    Over its limit the recogniser loses speech without a word, so what does not fit is left out.
    """
    kept: list[str] = []
    for name in dict.fromkeys(" ".join(name.replace(",", " ").split()) for name in names):
        if name and len(kept) < MOST_NAMES and count(", ".join([*kept, name])) <= MOST_TOKENS:
            kept.append(name)
    return ", ".join(kept)


# --- read from a caption file ----------------------------------------------------------------------------------------


_TOUCHING_MS = 50
_FLASH_MS = 250
"""A rolling caption shows a finished line alone for a moment; nobody reads a caption as short as this."""


def captions_recording(path: Path) -> Recording:
    """Return the recording that a caption file stands for: no sound, no picture, as long as its last caption.

    Raises:
        CaptionsError: the file cannot be read.
    """
    last = max(cue.end_ms for cue in caption_files.read_cues(path))
    return Recording(source=path.name, sha256=cache.file_digest(path), duration_ms=last)


def read_captions(path: Path, language: str = "en") -> Transcript:
    """Return the words of a WebVTT or SubRip file; word times are shared out inside each cue by the words' lengths.

    A line that a rolling caption repeats from the one before is taken once. The file does not tell its language.

    Raises:
        CaptionsError: the file cannot be read, or no caption holds a word.
    """
    cues = sorted(caption_files.read_cues(path), key=lambda cue: cue.start_ms)
    segments = tuple(_cue_segment(cue, lines) for cue, lines in _said_once(cues) if lines)
    if not segments:
        raise CaptionsError(f"No caption of {path.name} holds a word.", "Give another file, or the recording itself.")
    last = max(segment.end_ms for segment in segments)
    return Transcript(language=language, recogniser=caption_files.form(path), segments=segments, heard_ms=last)


def _said_once(cues: list[Cue]) -> list[tuple[Cue, tuple[str, ...]]]:
    said: list[tuple[Cue, tuple[str, ...]]] = []
    before: Cue | None = None
    for cue in cues:
        repeated = _repeated(before, cue) if before else 0
        said.append((cue, cue.lines[repeated:]))
        before = cue if cue.lines else before
    return said


def _repeated(before: Cue, cue: Cue) -> int:
    """Return how many of the first lines only repeat the last lines of the cue before."""
    if cue.start_ms - before.end_ms > _TOUCHING_MS:
        return 0
    longest = min(len(before.lines), len(cue.lines))
    same = next((n for n in range(longest, 0, -1) if before.lines[-n:] == cue.lines[:n]), 0)
    said_again = same == len(cue.lines) == len(before.lines) and _lasts(cue) and _lasts(before)
    return 0 if said_again else same


def _lasts(cue: Cue) -> bool:
    return cue.end_ms - cue.start_ms > _FLASH_MS


def _cue_segment(cue: Cue, lines: tuple[str, ...]) -> Segment:
    text = " ".join(lines)
    end = max(cue.end_ms, cue.start_ms)
    return Segment(start_ms=cue.start_ms, end_ms=end, text=text, words=_shared_out(text.split(), cue.start_ms, end))


def _shared_out(words: list[str], start_ms: int, end_ms: int) -> tuple[Word, ...]:
    ends = list(accumulate(len(word) + 1 for word in words))
    times = [start_ms + (end_ms - start_ms) * at // ends[-1] for at in (0, *ends)]
    return tuple(Word(start_ms=a, end_ms=b, text=w) for w, a, b in zip(words, times, times[1:], strict=False))
