"""`STAGES`, the ordered table of what is done to a recording, and the short loop that does it through the cache."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from operator import attrgetter
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from studio import (
    cache,
    catalogue,
    cautions,
    chapters,
    checks,
    corrections,
    cutting,
    edits,
    language,
    measures,
    media,
    mentions,
    offers,
    stills,
    supplies,
    transcript,
)
from studio.model import (
    Catalogue,
    CatalogueSource,
    Caution,
    Chapter,
    Correction,
    Cut,
    Document,
    Finding,
    Measure,
    Mention,
    Offer,
    Recording,
    Sense,
    Sentence,
    Spelling,
    Still,
    Supply,
    Transcript,
)
from studio.reader import sense
from studio.settings import CatalogueChoices, HearingChoices, PublishingChoices, Settings

CAPTION_FILES = {".vtt", ".srt"}
Progress = Callable[[str, int, int], None]
"""Called with what is being done, how much is done, and how much there is in all (milliseconds of recording)."""


def silent(what: str, done: int, total: int) -> None:
    """Tell nobody."""


@dataclass(frozen=True)
class Request:
    """What the person asked for."""

    source: Path
    """A recording, or a caption file in its place."""
    folder: Path
    """The folio."""
    catalogue: Path | None = None
    recorded_on: date | None = None
    trimmed: str = ""
    """What the person has cut out of the recording since, as in "cut 0:00-0:12"."""
    settings: Settings = field(default_factory=Settings)
    settings_files: tuple[Path, ...] = ()
    """The files that the settings were read from."""
    decided: edits.Edits = field(default_factory=edits.Edits)
    progress: Progress = silent

    @property
    def work(self) -> Path:
        """The folder inside the folio for stage results, the recognition journal and pictures."""
        return self.folder / ".work"

    @property
    def inputs(self) -> tuple[Path, ...]:
        """The files that are read for it, which are never written."""
        return (self.source, *((self.catalogue,) if self.catalogue else ()), *self.settings_files)

    @property
    def is_captions(self) -> bool:
        """Whether a caption file was given in place of a recording."""
        return self.source.suffix.lower() in CAPTION_FILES


@dataclass(frozen=True)
class Stage:
    """One row of the table: a plain function, what it takes from earlier rows, and the choices that it reads."""

    name: str
    run: Callable[..., Any]
    gives: Any
    version: int
    takes: tuple[str, ...]
    choices: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    """What it is handed that does not decide the result: the progress report, the work folder."""


def _recording(request: Request, source: Path, recorded_on: date | None) -> Recording:
    found = transcript.captions_recording(source) if request.is_captions else media.probe(source)
    return found.but(recorded_on=recorded_on or found.recorded_on)  # type: ignore[no-any-return]


def products(request: Request) -> Catalogue:
    """Return the catalogue that was given, or an empty one."""
    return _catalogue(request.catalogue, request.settings.catalogue)


def _catalogue(path: Path | None, choices: CatalogueChoices) -> Catalogue:
    return catalogue.load(path, choices) if path else Catalogue()


def _heard(request: Request, source: Path, recording: Recording, choices: HearingChoices) -> Transcript:
    if request.is_captions:
        return transcript.read_captions(source)
    progress = partial(request.progress, "hearing")
    return transcript.hear(source, recording, choices, (), request.work, progress)


def _heard_again(
    request: Request,
    source: Path,
    first: Transcript,
    found: tuple[Mention, ...],
    products: Catalogue,
    choices: HearingChoices,
) -> Transcript:
    spans, names = mentions.unsure_spans(found), mentions.names_about(found, products)
    if request.is_captions or not choices.second_pass or not spans or not names:
        return first
    progress = partial(request.progress, "hearing names again")
    return transcript.hear_again(source, first, spans, names, choices, request.work, progress)


def _supplies(
    found: tuple[Mention, ...], products: Catalogue, recording: Recording, publishing: PublishingChoices
) -> tuple[Supply, ...]:
    return supplies.supplies(found, products, publishing.publish_on or recording.recorded_on)


def _offers(
    said: tuple[Sentence, ...],
    found: tuple[Mention, ...],
    products: Catalogue,
    recording: Recording,
    publishing: PublishingChoices,
    known: Any,  # noqa: ANN401
) -> tuple[Offer, ...]:
    return offers.offers(said, found, products, recording.recorded_on, publishing, known)


def _stills(
    request: Request, source: Path, rows: tuple[Supply, ...], parts: tuple[Chapter, ...], recording: Recording
) -> tuple[Still, ...]:
    if not recording.has_picture:
        return ()
    request.progress("choosing pictures", 0, recording.duration_ms)
    return stills.stills(source, rows, parts, recording, request.work)


_SAID = "sentences"
STAGES = (
    Stage("recording", _recording, Recording, media.VERSION, ("source", "recorded_on"), needs=("request",)),
    Stage("catalogue", _catalogue, Catalogue, catalogue.VERSION, ("catalogue_file",), ("catalogue",)),
    Stage("heard", _heard, Transcript, transcript.VERSION, ("source", "recording"), ("hearing",), ("request",)),
    Stage("heard_sentences", language.sentences, tuple[Sentence, ...], language.VERSION, ("heard",)),
    Stage("heard_mentions", mentions.mentions, tuple[Mention, ...], mentions.VERSION,
          ("heard_sentences", "catalogue"), ("names",)),
    Stage("transcript", _heard_again, Transcript, transcript.VERSION,
          ("source", "heard", "heard_mentions", "catalogue"), ("hearing",), ("request",)),
    Stage("sentences", language.sentences, tuple[Sentence, ...], language.VERSION, ("transcript",)),
    Stage("senses", sense.senses, tuple[Sense, ...], sense.VERSION, (_SAID,)),
    Stage("mentions", mentions.mentions, tuple[Mention, ...], mentions.VERSION, (_SAID, "catalogue"), ("names",)),
    Stage("spellings", mentions.spellings, tuple[Spelling, ...], mentions.VERSION,
          (_SAID, "mentions", "catalogue"), ("names",)),
    Stage("corrections", corrections.corrections, tuple[Correction, ...], corrections.VERSION, (_SAID,)),
    Stage("measures", measures.measures, tuple[Measure, ...], measures.VERSION,
          (_SAID, "mentions", "catalogue"), ("publishing",)),
    Stage("chapters", chapters.chapters, tuple[Chapter, ...], chapters.VERSION,
          (_SAID, "mentions", "catalogue", "recording"), ("chapters",)),
    Stage("supplies", _supplies, tuple[Supply, ...], supplies.VERSION,
          ("mentions", "catalogue", "recording"), ("publishing",)),
    Stage("offers", _offers, tuple[Offer, ...], offers.VERSION,
          (_SAID, "mentions", "catalogue", "recording"), ("publishing", "offers")),
    Stage("cuts", cutting.cuts, tuple[Cut, ...], cutting.VERSION, ("measures", _SAID, "mentions", "catalogue")),
    Stage("cautions", cautions.cautions, tuple[Caution, ...], cautions.VERSION, (_SAID, "mentions", "catalogue")),
    Stage("findings", checks.findings, tuple[Finding, ...], checks.VERSION,
          ("recording", "transcript", _SAID, "mentions", "measures", "corrections", "offers", "supplies", "catalogue"),
          ("publishing",)),
    Stage("stills", _stills, tuple[Still, ...], stills.VERSION,
          ("source", "supplies", "chapters", "recording"), needs=("request",)),
    Stage("weak_stills", stills.weak_stills, tuple[Finding, ...], stills.VERSION, ("stills", "supplies")),
)  # fmt: skip


@dataclass(frozen=True)
class Results:
    """What every stage gave, and the digest of everything that the outputs are made from."""

    values: dict[str, Any]
    digests: dict[str, str]

    def document(self) -> Document:
        """Put the document together."""
        values = self.values
        parts = {name: values[name] for name in Document.model_fields if name in values and name != "catalogue"}
        parts["supplies"] = _with_stills(values["supplies"], values["stills"])
        parts["sentences"] = _with_kinds(values["sentences"], values["senses"])
        parts["findings"] = (*values["findings"], *values["weak_stills"])
        return Document(catalogue=_catalogue_source(values["catalogue"]), **parts)


def run(request: Request) -> Results:
    """Run the stages in order: a result that is there is taken, and the person's decisions are laid over each.

    Raises:
        RecordingError: the recording cannot be read.
        CatalogueError: the catalogue cannot be read at all.
        ModelMissing: there is no speech model.
        StorageError: the disk is full.
    """
    store = cache.Cache(request.work / "stages")
    given = {"source": request.source, "catalogue_file": request.catalogue, "recorded_on": request.recorded_on}
    values: dict[str, Any] = {**given, "request": request}
    digests = {name: _given_digest(value, request.work) for name, value in given.items()}
    used = set()
    for stage in STAGES:
        name = _key(stage, digests, request.settings)
        used.add(store.path(stage.run.__name__, name))
        kept = store.load(stage.run.__name__, name, stage.gives)
        if kept is None or not _pictures_there(kept[0], request.work):
            kept = _fresh(stage, name, values, request.settings, store)
        values[stage.name], digests[stage.name] = _decided(stage, *kept, request.decided)
    store.keep_only(used)
    return Results(values, digests)


def _key(stage: Stage, digests: dict[str, str], settings: Settings) -> str:
    inputs = {str(place): digests[name] for place, name in enumerate(stage.takes)}
    choices = {name: _text(attrgetter(name)(settings)) for name in stage.choices}
    return cache.key(stage.run.__name__, stage.version, inputs, choices)


def _text(choice: Any) -> str:  # noqa: ANN401
    return TypeAdapter[Any](type(choice)).dump_json(choice).decode()


def _fresh(stage: Stage, name: str, values: dict[str, Any], settings: Settings, store: cache.Cache) -> tuple[Any, str]:
    handed = [values[need] for need in (*stage.needs, *stage.takes)]
    result = stage.run(*handed, *(attrgetter(choice)(settings) for choice in stage.choices))
    return result, store.save(stage.run.__name__, name, result, stage.gives)


def _decided(stage: Stage, result: Any, digest: str, decided: edits.Edits) -> tuple[Any, str]:  # noqa: ANN401
    laid = edits.lay_over(stage.name, result, decided)
    return (result, digest) if laid is result else (laid, cache.digest(cache.to_bytes(laid, stage.gives)))


def _given_digest(value: object, work: Path) -> str:
    if isinstance(value, Path) and value.is_file():
        return cache.remembered_digest(value, work / "inputs.json")
    return str(value)


def _pictures_there(result: object, work: Path) -> bool:
    pictures = [item for item in result if isinstance(item, Still)] if isinstance(result, tuple) else []
    return all((work / name).exists() for still in pictures for name in (still.file, *still.others))


def _catalogue_source(found: Catalogue) -> CatalogueSource | None:
    if not found.sha256:
        return None
    counts = {"products": len(found.products), "complaints": len(found.complaints)}
    return CatalogueSource(source=found.source, sha256=found.sha256, **counts)


def _with_kinds(said: tuple[Sentence, ...], senses: tuple[Sense, ...]) -> tuple[Sentence, ...]:
    return tuple(one.but(kind=sense.kind(read)) for one, read in zip(said, senses, strict=True))


def _with_stills(rows: tuple[Supply, ...], pictures: tuple[Still, ...]) -> tuple[Supply, ...]:
    chosen = {still.subject: still.file for still in reversed(pictures)}
    return tuple(row.but(still=row.still or chosen.get(row.code or "")) for row in rows)
