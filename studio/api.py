"""What other programs call, handed out by `import studio`: the whole job, a talk understood, amounts read."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from os import PathLike
from pathlib import Path
from tempfile import TemporaryDirectory

from studio import folio, pipeline, quantity, requests
from studio.folio import Folio
from studio.model import Document
from studio.pipeline import Progress, Request, silent
from studio.settings import Settings

__all__ = ["Document", "Folio", "Quantity", "Settings", "make", "read_quantity", "read_talk"]

File = str | PathLike[str]


@dataclass(frozen=True)
class Quantity:
    """An amount in a text, exact, with the place it was found at."""

    heard: str
    """The characters `start` to `end` of the text."""
    start: int
    """Index of the first character in the text."""
    end: int
    """Index after the last character."""
    values: tuple[Fraction | str, ...]
    """One value; two or three for a size; two for a range.

    A clock time is text, "19:30|07:30" where either may be meant.
    """
    unit: str
    """`in ft yd mm cm m g kg oz lb ml l fl oz tsp gsm s min h degF degC %`, an ISO 4217 code, the noun of a counted
    thing, or empty where none was said."""
    dimension: str
    """length, size, mass, volume, area, time, clock, temperature, percent, currency, count, number, ratio and the like;
    a range ends in `_range`."""
    approximate: bool = False
    """Whether "about" or the like was said."""


def make(
    source: File,
    folder: File | None = None,
    catalogue: File | None = None,
    *,
    recorded_on: date | None = None,
    settings: Settings | File | None = None,
    chapters: int | None = None,
    trimmed: str = "",
    progress: Progress = silent,
) -> Folio:
    """Do what `bonefolder make` does: fill a folder with everything that is owed for one recording.

    The same call again goes on from where it was stopped, and does nothing twice. Decisions in the folder's
    `edits.jsonl` are laid over the result.

    Args:
        source: a recording, or a caption file (.vtt, .srt) in its place; it is only read.
        folder: the folder to fill; else one beside the recording.
        catalogue: the products, a CSV, .xlsx or .ods file with at least code and name; else the one of the settings.
        recorded_on: the day of the recording, from which "Friday" is counted; else the one that the file tells.
        settings: choices, or the TOML file that holds them; else `bonefolder.toml` as the command finds it.
        chapters: how many chapters are wanted, 1 or more; else as many as the talk has.
        trimmed: what was cut out of the recording since, as in "cut 0:00-0:12".
        progress: called with what is being done, how much is done and how much there is, in milliseconds.

    Returns:
        The folder as it stands, with the document, and the files of the person's own that were left as they are.

    Raises:
        RecordingError: the recording or the caption file cannot be read.
        CatalogueError: the catalogue cannot be read at all; single bad rows are complaints in the report.
        SettingsError: a settings file is wrong, or sets what it may not.
        RetimeError: `trimmed` cannot be understood.
        ModelMissing: there is no speech model to hear with.
        FolioBusy: another run is at work on the folder.
        FolioDamaged: a file of the folder does not hold what was written, or a link leads out of it.
        StorageError: the system refused a file.
    """
    return folio.make(_asked(source, folder, catalogue, recorded_on, settings, chapters, trimmed)(progress))


def read_talk(
    source: File,
    catalogue: File | None = None,
    settings: Settings | File | None = None,
    *,
    recorded_on: date | None = None,
    progress: Progress = silent,
) -> Document:
    """Understand a talk, and leave no file behind.

    Everything is worked out but pictures: `stills` is empty, and no supply has one. Times are integer milliseconds from
    the start of the recording, lengths exact fractions, money decimal.

    Args:
        source: a caption file (.vtt, .srt), understood in seconds, or a recording, which is heard first.
        catalogue: the products, as for `make`.
        settings: choices, as for `make`.
        recorded_on: the day of the recording, as for `make`.
        progress: as for `make`.

    Returns:
        What is known of the talk; its JSON is that of `folio.json`.

    Raises:
        RecordingError: the recording or the caption file cannot be read.
        CatalogueError: the catalogue cannot be read at all.
        SettingsError: a settings file is wrong, or sets what it may not.
        ModelMissing: there is no speech model to hear with.
        StorageError: the system refused the temporary folder.
    """
    with TemporaryDirectory(prefix="bonefolder-") as folder:
        request = _asked(source, folder, catalogue, recorded_on, settings)(progress)
        folio.there(request)
        return pipeline.run(request, without=("stills",)).document()


def read_quantity(text: str) -> tuple[Quantity, ...]:
    """Return the amounts in a text, in their order: sizes, weights, times, counts, money.

    Args:
        text: talk or writing in English, of any length; its units are those of common craft talk.

    Returns:
        One `Quantity` for each amount that stands; a value that was withdrawn at once ("five, no, six inches") is none
        of its own. Nothing is returned for a text without amounts, and no text is an error.
    """
    return tuple(_amount(text, found) for found in quantity.read(text))


def _amount(text: str, found: quantity.Found) -> Quantity:
    ends = found.low is not None and found.high is not None
    return Quantity(
        heard=text[found.start : found.end],
        start=found.start,
        end=found.end,
        values=found.exact or found.values,
        unit=found.unit,
        dimension=f"{found.kind}_range" if ends else found.kind,
        approximate=found.approximate,
    )


def _asked(
    source: File,
    folder: File | None,
    catalogue: File | None,
    recorded_on: date | None,
    settings: Settings | File | None,
    chapters: int | None = None,
    trimmed: str = "",
) -> Callable[[Progress], Request]:
    products, into = (Path(one) if one is not None else None for one in (catalogue, folder))
    chosen = settings if settings is None or isinstance(settings, Settings) else Path(settings)
    return requests.request(Path(source), products, recorded_on, into, chosen, chapters, trimmed)
