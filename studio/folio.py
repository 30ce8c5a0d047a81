"""The folder that is ready to publish: made, written all or nothing, read back, locked."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path

from studio import (
    __version__,
    cache,
    captions,
    chapter_files,
    description,
    edits,
    feed,
    fence,
    letters,
    metadata,
    pipeline,
    post,
    report,
    resources,
    retime,
    stored,
    swap,
    tables,
    templating,
)
from studio.asked import keep
from studio.edition import Edition
from studio.errors import FolioBusy, FolioDamaged, RecordingError, StorageError, refused
from studio.model import Catalogue, Document, Severity
from studio.settings import Settings

Files = Mapping[str, str | bytes]
Writer = Callable[[Edition], Files]
NEEDS_A_LOOK = frozenset({"error", "ask", "warning"})

OUTPUTS: tuple[Writer, ...] = (
    captions.files,
    chapter_files.files,
    post.files,
    description.files,
    letters.files,
    tables.files,
    metadata.files,
    report.files,
    feed.files,
)
"""What is known becomes files; the order does not matter, no two may give the same name."""
READS = ("captions", "disclosure", "quantities", "units", "written")
"""The rule files of `shared/` that the outputs read."""


@dataclass(frozen=True)
class Folio:
    """A folio as it stands after a run, or as it lies on disk."""

    folder: Path
    document: Document
    """What is known of the recording."""
    kept: tuple[str, ...] = ()
    """Files that are the person's own, or that they have changed by hand: left, the new ones stand beside."""
    damage: str = ""
    """What could not be read of the person's decisions, in words; empty where all could."""

    @classmethod
    def read(cls, folder: str | PathLike[str]) -> "Folio":
        """Return a folio as it lies on disk; nothing is written.

        Raises:
            FolioDamaged: it holds no folio that can be read, or a link leads out of it.
            FolioNewer: a newer version of the program wrote it, in a form that this one cannot read.
        """
        return cls(Path(folder), read(Path(folder)))

    @property
    def needs_a_look(self) -> bool:
        """Whether something must be looked at before publishing."""
        return any(finding.severity in NEEDS_A_LOOK for finding in self.document.findings)

    def to_look_at(self) -> list[str]:
        """Return how many findings of each weight there are, in words."""
        counts = Counter(f.severity for f in self.document.findings if f.severity in NEEDS_A_LOOK)
        words: dict[Severity, str] = {"error": "wrong", "ask": "to decide", "warning": "to check"}
        return [f"{counts[weight]} {word}" for weight, word in words.items() if counts[weight]]


def make(request: pipeline.Request) -> Folio:
    """Do the main job: run every stage, and write the folio.

    Raises:
        FolioBusy: another run is at work on the folder.
        BonefolderError: as `pipeline.run`.
    """
    there(request)
    with locked(request.folder):
        swap.finish(request.folder)
        made = edits.load(request.folder / "edits.jsonl")
        keep(request)
        asked = decided(request, made)
        settings = asked.settings
        results = pipeline.run(asked)
        document = finished(results, asked)
        made_from = _made_from(document, results.digests["catalogue"], settings)
        if swap.stands(request.folder, made_from):
            swap.reach(request.folder, made.version)
            return Folio(request.folder, document, damage=made.damage)
        files = outputs(document, results.values["catalogue"], settings)
        files |= {path: (asked.work / fence.inside(path)).read_bytes() for path in _pictures(document)}
        kept = swap.write(request.folder, files, made_from, request.inputs, made.version)
        return Folio(request.folder, document, kept, made.damage)


def decided(request: pipeline.Request, made: edits.Edits) -> pipeline.Request:
    """Return what was asked for with the person's decisions, those that are settings among them."""
    return replace(request, decided=made, settings=edits.over_settings(request.settings, made))


def finished(results: pipeline.Results, request: pipeline.Request) -> Document:
    """Return the document as the folio holds it: with what was decided about it as a whole, and as it was trimmed."""
    document: Document = edits.lay_over("document", results.document(), request.decided)
    return retime.apply(document, retime.read(request.trimmed)) if request.trimmed else document


def there(request: pipeline.Request) -> None:
    """Refuse a request for a recording that is not there, before anything is begun.

    Raises:
        RecordingError: there is no such file.
    """
    if not request.source.is_file():
        raise RecordingError(f"There is no file {request.source}.", "Check the name and the folder.")


def outputs(document: Document, products: Catalogue, settings: Settings) -> dict[str, bytes]:
    """Return every file of the folio but the pictures, by name."""
    made: dict[str, bytes] = {"folio.json": document.model_dump_json(indent=1).encode() + b"\n"}
    edition = Edition.of(document, products, settings)
    for writer in OUTPUTS:
        for name, text in writer(edition).items():
            assert name not in made, f"two outputs are called {name}"
            made[name] = text.encode() if isinstance(text, str) else text
    return made


def read(folder: Path) -> Document:
    """Read the document of a folio back; nothing is written, also where an interrupted run has left something to do.

    Raises:
        FolioDamaged: there is no `folio.json`, it does not hold a document, or a link leads out of the folder.
        FolioNewer: a newer version of the program wrote it, in a form that this one cannot read.
    """
    fence.check(folder)
    try:
        return stored.read((folder / "folio.json").read_bytes())
    except (OSError, ValueError, RecursionError) as error:
        raise FolioDamaged(
            f"{folder} holds no folio that can be read.", "Make it again from the recording; your decisions are kept."
        ) from error


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the folder for one run; the system frees it when the program dies.

    Raises:
        FolioBusy: another run holds it.
        FolioDamaged: a link leads out of it.
        StorageError: the system refused a file, now or while it is held.
    """
    from filelock import FileLock, Timeout

    if folder.exists() and not folder.is_dir():
        raise StorageError(f"{folder} is a file, not a folder.", "Name another folder to fill, as with --out.")
    fence.check(folder)
    lock = FileLock(folder / fence.WORK / "lock")
    try:
        (folder / fence.WORK).mkdir(parents=True, exist_ok=True)
        lock.acquire(timeout=0)
        try:
            yield
        finally:
            lock.release()
    except Timeout as error:
        raise FolioBusy(
            f"Another run is at work on {folder.name}.", "Wait until it is done, or stop it; then try again."
        ) from error
    except OSError as error:
        raise refused(error) from error


def _made_from(document: Document, products: str, settings: Settings) -> str:
    """Return a name for all that the files are made from; of the catalogue its digest is enough."""
    own = templating.templates_digest(settings.publishing.templates)
    rules = "".join(map(resources.digest, READS))
    parts = (__version__, own, rules, document.model_dump_json(), products, settings.model_dump_json())
    return cache.digest("\n".join(parts).encode())


def _pictures(document: Document) -> set[str]:
    return {name for still in document.stills for name in (still.file, *still.others)}
