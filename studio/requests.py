"""What the person typed or dropped, made into a request: the settings found, the catalogue found, the folder named."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

from studio import folio, media, resources, swap
from studio import settings as choices
from studio.errors import RecordingError
from studio.pipeline import Progress, Request
from studio.settings import FILE, Settings
from studio.text import slug

Asked = Callable[[Progress], Request]
SAMPLE_DAY = date(2026, 3, 5)


def request(
    source: Path,
    catalogue: Path | None = None,
    recorded_on: date | None = None,
    folder: Path | None = None,
    chosen: Settings | Path | None = None,
    chapters: int | None = None,
    trimmed: str = "",
) -> Asked:
    """Return what makes the request once somebody listens to its progress.

    Args:
        source: a recording, or a caption file in its place.
        catalogue: the products; else those that the settings name.
        recorded_on: the day of the recording.
        folder: the folio; else one beside the recording.
        chosen: the settings, or the file that they are in; else the file beside the recording or in the current folder.
        chapters: how many chapters are wanted.
        trimmed: what was cut out of the recording since.

    Raises:
        SettingsError: a settings file is wrong, or sets what it may not.
    """
    near = (source.parent / FILE, Path(FILE))
    found = choices.Chosen(chosen) if isinstance(chosen, Settings) else choices.chosen(chosen, near)
    settings = _with_count(found.settings, chapters)
    listed = catalogue or (Path(settings.catalogue.file) if settings.catalogue.file else None)
    into = folder or source.parent / f"{slug(source.stem) or 'recording'}-folio"

    def ask(progress: Progress) -> Request:
        return Request(source, into, listed, recorded_on, trimmed, settings, found.files, progress=progress)

    return ask


def sample(folder: Path) -> Asked:
    """Return the request for the sample recording, which comes out the same whatever the person's own settings are."""
    told = resources.sample("settings.toml")
    settings, listed = choices.load(told), resources.sample("catalogue.csv")

    def ask(progress: Progress) -> Request:
        source = resources.sample("recording.mp4")
        return Request(source, folder, listed, SAMPLE_DAY, "", settings, (told,), progress=progress)

    return ask


def copy_with_chapters(asked: Asked, made: folio.Folio) -> Path:
    """Make a copy of the recording, with the chapters in it, inside the folio; a file there that is not ours stays.

    Raises:
        RecordingError: a caption file was given, so there is nothing to copy.
    """
    source = asked(lambda *_: None).source
    if not made.document.recording.has_sound:
        raise RecordingError(f"{source.name} is no recording.", "Give the recording itself to get a copy of it.")
    target = swap.place(made.folder, f"with-chapters{source.suffix}")
    media.with_chapters(source, target, made.document.chapters)
    swap.note(made.folder, target)
    return target


def _with_count(settings: Settings, chapters: int | None) -> Settings:
    if chapters is None:
        return settings
    counted = settings.chapters.model_copy(update={"count": chapters})
    return settings.model_copy(update={"chapters": counted})
