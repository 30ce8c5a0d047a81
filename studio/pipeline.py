"""`STAGES`, the ordered table of what is done to a recording, and the short loop that does it through what is kept."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from studio import (
    cache,
    catalogue,
    cautions,
    chapters,
    checks,
    corrections,
    cutting,
    edits,
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
    Naming,
    Offer,
    Recording,
    Sense,
    Sentence,
    SentenceKind,
    Span,
    Spelling,
    Still,
    Supply,
    Transcript,
)
from studio.reader import naming, sense, stops
from studio.settings import CatalogueChoices, HearingChoices, PublishingChoices, Settings
from studio.stage import Disk, InMemory, Keeper, Memory, NotKept, Result, Stage, Values, parts_of, result

Unsure = tuple[tuple[Span, ...], tuple[str, ...]]
"""Where names were unsure, and the names that are meant perhaps."""
_QUANTITIES = ("quantities", "units")
_SENTENCES = ("cues", "reader", *_QUANTITIES)
_MENTIONS = ("homophones", "names", "roles", "titles", *_QUANTITIES)
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


def _unsure(found: tuple[Mention, ...], products: Catalogue) -> Unsure:
    return mentions.unsure_spans(found), mentions.names_about(found, products)


def _heard_again(
    request: Request, source: Path, first: Transcript, unsure: Unsure, choices: HearingChoices
) -> Transcript:
    spans, names = unsure
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
    Stage("recording", _recording, Recording, media.VERSION, ("source", "recorded_on"), needs=("request",), slow=True),
    Stage("catalogue", _catalogue, Catalogue, catalogue.VERSION, ("catalogue_file",), ("catalogue",),
          reads=("catalogue_columns",)),
    Stage("listed", catalogue.listed, CatalogueSource | None, catalogue.VERSION, ("catalogue",)),
    Stage("names", catalogue.nameable, Catalogue, catalogue.VERSION, ("catalogue",)),
    Stage("heard", _heard, Transcript, transcript.VERSION, ("source", "recording"), ("hearing",), needs=("request",),
          slow=True),
    Stage("heard_sentences", stops.sentences, tuple[Sentence, ...], stops.VERSION, ("heard",), slow=True,
          reads=_SENTENCES),
    Stage("heard_mentions", mentions.mentions, tuple[Mention, ...], mentions.VERSION,
          ("heard_sentences", "names"), ("names",), reads=_MENTIONS, slow=True),
    Stage("unsure", _unsure, Unsure, mentions.VERSION, ("heard_mentions", "names"), reads=_QUANTITIES, slow=True),
    Stage("transcript", _heard_again, Transcript, transcript.VERSION,
          ("source", "heard", "unsure"), ("hearing",), needs=("request",), slow=True),
    Stage("sentences", stops.sentences, tuple[Sentence, ...], stops.VERSION, ("transcript",), reads=_SENTENCES,
          slow=True),
    Stage("uncorrected", stops.sentences, tuple[Sentence, ...], stops.VERSION, ("transcript",), slow=True,
          reads=_SENTENCES),
    Stage("senses", sense.senses, tuple[Sense, ...], sense.VERSION, ("uncorrected",), reads=("reader",), slow=True),
    Stage("kinds", sense.kinds, tuple[SentenceKind, ...], sense.VERSION, ("senses",), slow=True),
    Stage("proposed", mentions.mentions, tuple[Mention, ...], mentions.VERSION, (_SAID, "names"), ("names",),
          reads=_MENTIONS, slow=True),
    Stage("namings", naming.namings, tuple[Naming, ...], naming.VERSION, ("uncorrected", "names", "proposed"),
          reads=("reader",), slow=True),
    Stage("mentions", mentions.weighed, tuple[Mention, ...], mentions.VERSION,
          ("namings", "proposed", "names", _SAID, "uncorrected"), ("names",), reads=("names", "weights"), slow=True),
    Stage("rows", catalogue.named, Catalogue, catalogue.VERSION, ("mentions", "catalogue")),
    Stage("spellings", mentions.spellings, tuple[Spelling, ...], mentions.VERSION,
          (_SAID, "mentions", "rows"), ("names",), reads=("homophones", "names", *_QUANTITIES)),
    Stage("corrections", corrections.corrections, tuple[Correction, ...], corrections.VERSION, (_SAID,),
          reads=_QUANTITIES),
    Stage("measures", measures.measures, tuple[Measure, ...], measures.VERSION,
          (_SAID, "mentions", "catalogue"), ("publishing",), reads=_QUANTITIES),
    Stage("starts", chapters.starts, tuple[int, ...], chapters.VERSION, (_SAID, "senses", "recording"),
          ("chapters",), reads=("cues", "titles")),
    Stage("chapters", chapters.titled, tuple[Chapter, ...], chapters.VERSION, (_SAID, "starts", "mentions", "rows"),
          ("chapters",), reads=("cues", "titles")),
    Stage("supplies", _supplies, tuple[Supply, ...], supplies.VERSION,
          ("mentions", "rows", "recording"), ("publishing",)),
    Stage("offers", _offers, tuple[Offer, ...], offers.VERSION,
          (_SAID, "mentions", "catalogue", "recording"), ("publishing", "offers"),
          reads=("dates", "offers", *_QUANTITIES)),
    Stage("cuts", cutting.cuts, tuple[Cut, ...], cutting.VERSION, ("measures", _SAID, "mentions", "rows"),
          reads=("paper", *_QUANTITIES)),
    Stage("cautions", cautions.cautions, tuple[Caution, ...], cautions.VERSION, (_SAID, "mentions", "rows"),
          reads=("cautions",)),
    Stage("findings", checks.findings, tuple[Finding, ...], checks.VERSION,
          ("recording", "transcript", _SAID, "mentions", "measures", "corrections", "offers", "supplies", "catalogue"),
          ("publishing",), reads=("claims", "paper", "statements", *_QUANTITIES)),
    Stage("stills", _stills, tuple[Still, ...], stills.VERSION,
          ("source", "supplies", "chapters", "recording"), needs=("request",), slow=True),
    Stage("weak_stills", stills.weak_stills, tuple[Finding, ...], stills.VERSION, ("stills", "supplies")),
)  # fmt: skip


@dataclass(frozen=True)
class Results:
    """What every stage gave, and the digest of everything that the outputs are made from."""

    values: Mapping[str, Any]
    digests: Mapping[str, str]

    def document(self) -> Document:
        """Put the document together."""
        values = self.values
        parts = {name: values[name] for name in Document.model_fields if name in values and name != "catalogue"}
        parts["supplies"] = _with_stills(values["supplies"], values["stills"])
        parts["sentences"] = _with_kinds(values["sentences"], values["kinds"])
        parts["findings"] = (*values["findings"], *values["weak_stills"])
        return Document(catalogue=values["listed"], **parts)


def run(request: Request, without: tuple[str, ...] = ()) -> Results:
    """Run the stages in order: a result that is there is taken, and the person's decisions are laid over each.

    Args:
        request: what the person asked for.
        without: names of stages that are left out; each gives an empty list.

    Raises:
        RecordingError: the recording cannot be read.
        CatalogueError: the catalogue cannot be read at all.
        ModelMissing: there is no speech model.
        StorageError: the disk is full.
    """
    memory = cache.Digests(request.work / "inputs.json")
    given = _given(request, memory.of)
    memory.keep()
    return through(request, Disk(request.work, given), without)


def through(request: Request, keeper: Keeper, without: tuple[str, ...] = ()) -> Results:
    """Run the stages in order, through what keeps their results: the folder of the folio, or the memory of the desk."""
    results = {**keeper.given, "request": Result("", partial(_same, request))}
    digests = {name: one.digest for name, one in keeper.given.items()}
    values = Values(results)
    for stage in STAGES:
        if stage.name in without:
            results[stage.name], digests[stage.name] = Result("", tuple), ""
            continue
        name = stage.key(digests, request.settings)
        found = keeper.take(stage, name, partial(stage.fresh, values, request.settings))
        results[stage.name] = keeper.laid(stage, name, found, request.decided)
        digests[stage.name] = results[stage.name].digest
    keeper.close()
    return Results(values, digests)


def opened(request: Request, memory: Memory, document: Document) -> tuple[Results, InMemory]:
    """Return the results that a folio stands on, and what runs its stages in memory after the next decision.

    They are those that the last run has kept. Where they are not all there (a folio made elsewhere, or by another
    version) the document itself takes their place; what it holds of the person's decisions cannot be told apart then.

    Args:
        request: what was asked for, with the decisions that the files of the folio were made with.
        memory: what the desk remembers.
        document: the document as it stands.

    Raises:
        CatalogueError: the catalogue cannot be read.
    """
    try:
        known = cache.Digests(request.work / "inputs.json").known
        desk = InMemory(memory, Disk(request.work).load, _given(request, known))
        return through(request, desk), desk
    except (NotKept, OSError):
        parts = parts_of(document)
        beside = {name: Result("", partial(_same, parts[name])) for name in ("put_back", "struck")}
        given = {**_given(request, _unread), **beside}
        desk = InMemory(Memory(), lambda stage, _: _standing(stage, parts), given, of_document=True)
        return through(replace(request, decided=edits.Edits()), desk), desk


def _unread(path: Path) -> str:
    return f"{path} {path.stat().st_mtime_ns}"


def _standing(stage: Stage, parts: Mapping[str, Any]) -> Result | None:
    if stage.name in parts:
        return result(parts[stage.name], stage.gives)
    if stage.name == "senses":  # no document holds them; the talk is read again where chapters are counted anew
        return Result("not known", partial(sense.senses, parts[_SAID]))
    return Result("not known", partial(_same, None)) if stage.slow else None


def warm(results: Results, settings: Settings) -> None:
    """Run once what a decision may make run again, so that the first one finds every sentence read."""
    for stage in STAGES:
        if not stage.slow and "catalogue_file" not in stage.takes:
            stage.fresh(results.values, settings)


def _given(request: Request, of: Callable[[Path], str | None]) -> dict[str, Result]:
    """Return what the stages are made from, each with its digest."""
    given = {"source": request.source, "catalogue_file": request.catalogue, "recorded_on": request.recorded_on}
    return {name: Result(_digest(value, of), partial(_same, value)) for name, value in given.items()}


def _digest(value: object, of: Callable[[Path], str | None]) -> str:
    digest = of(value) if isinstance(value, Path) and value.is_file() else str(value)
    if digest is None:
        raise NotKept(str(value))
    return digest


def _same(value: Any) -> Any:  # noqa: ANN401
    return value


def _with_kinds(said: tuple[Sentence, ...], kinds: tuple[SentenceKind, ...]) -> tuple[Sentence, ...]:
    return tuple(one.but(kind=kind) for one, kind in zip(said, kinds, strict=True))


def _with_stills(rows: tuple[Supply, ...], pictures: tuple[Still, ...]) -> tuple[Supply, ...]:
    chosen = {still.subject: still.file for still in reversed(pictures)}
    return tuple(row.but(still=row.still or chosen.get(row.code or "")) for row in rows)
