"""What the person typed or dropped, made into a request: the settings found, the catalogue found, the folder named."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

from studio import folio, media, resources
from studio import settings as choices
from studio.errors import RecordingError
from studio.pipeline import Progress, Request
from studio.settings import Settings
from studio.text import slug

Asked = Callable[[Progress], Request]
SETTINGS_FILE = "bonefolder.toml"
SAMPLE_DAY = date(2026, 3, 5)


def request(
    source: Path,
    catalogue: Path | None = None,
    recorded_on: date | None = None,
    folder: Path | None = None,
    settings_file: Path | None = None,
    chapters: int | None = None,
    trimmed: str = "",
) -> Asked:
    """Return what makes the request once somebody listens to its progress.

    Raises:
        SettingsError: the settings file is wrong.
    """
    found = settings_file or _beside(source)
    settings = _with_count(choices.load(found), chapters)
    named = settings.catalogue.file
    listed = catalogue or ((found.parent if found else Path()) / named if named else None)
    into = folder or source.parent / f"{slug(source.stem) or 'recording'}-folio"

    def ask(progress: Progress) -> Request:
        return Request(source, into, listed, recorded_on, trimmed, settings, progress=progress)

    return ask


def sample(folder: Path) -> Asked:
    """Return the request for the sample recording."""
    return request(
        resources.sample("recording.mp4"),
        resources.sample("catalogue.csv"),
        SAMPLE_DAY,
        folder,
        resources.sample("settings.toml"),
    )


def copy_with_chapters(asked: Asked, made: folio.Folio) -> Path:
    """Make a copy of the recording, with the chapters in it, inside the folio.

    Raises:
        RecordingError: a caption file was given, so there is nothing to copy.
    """
    source = asked(lambda *_: None).source
    if not made.document.recording.has_sound:
        raise RecordingError(f"{source.name} is no recording.", "Give the recording itself to get a copy of it.")
    target = made.folder / f"with-chapters{source.suffix}"
    media.with_chapters(source, target, made.document.chapters)
    return target


def _beside(source: Path) -> Path | None:
    places = (source.parent / SETTINGS_FILE, Path(SETTINGS_FILE))
    return next((place for place in places if place.is_file()), None)


def _with_count(settings: Settings, chapters: int | None) -> Settings:
    if chapters is None:
        return settings
    counted = settings.chapters.model_copy(update={"count": chapters})
    return settings.model_copy(update={"chapters": counted})
