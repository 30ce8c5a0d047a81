"""The person's choices: TOML files, every choice with a default; some choices only from a file of the person's own.

A file that lies beside a recording, or in the current folder, may have come with a download. So it may not say where
anything is sent, which model or template is used, or name a file elsewhere: `--settings` and the person's own
configuration folder alone may.
"""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from studio import own_folder
from studio.errors import SettingsError
from studio.model import Money, OfferKind

FILE = "bonefolder.toml"
PRIVATE = {
    "hearing": ("model",),
    "publishing": ("micropub_endpoint", "templates"),
    "polish": ("endpoint", "model"),
}
"""Table -> entries that only a file of the person's own may set."""


class Choices(BaseModel):
    """A table of the settings file; a misspelled key is refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class HearingChoices(Choices):
    """How the recording is heard."""

    language: str = "en"
    model: str = ""
    """A folder with a CTranslate2 Whisper model, or a size name, which alone may use the network. Empty: the
    embedded model."""
    batch: int = Field(8, ge=1, le=64)
    beam: int = Field(5, ge=1, le=10)
    second_pass: bool = True
    """Hear the stretches with unsure names again, with the names that the recording is about."""


class CatalogueChoices(Choices):
    """Where the catalogue is, and what its columns are called."""

    file: str = ""
    columns: dict[str, str] = Field(default_factory=dict)
    """Own header words: header in the file -> column of the program."""


class KnownOffer(Choices):
    """An offer that the person has in writing."""

    kind: OfferKind
    threshold: Money | None = None
    percent: Money | None = None
    promo_code: str = ""
    reward_code: str = ""
    starts_on: date | None = None
    ends_on: date | None = None
    terms: str = ""
    basis: Literal["goods", "goods_after_discount", "order_total", ""] = ""
    """What counts towards the threshold."""


class ShopChoices(Choices):
    """The person's own shop, as it is printed."""

    name: str = ""
    url: str = ""
    promo_code: str = ""
    promo_code_until: date | None = None
    contact: str = ""
    author: str = ""


class ChapterChoices(Choices):
    """How chapters are made. The defaults are common practice of upload hosts (no standard; check your host)."""

    count: int | None = Field(None, ge=1)
    shortest_s: int = Field(10, ge=1)
    fewest: int = Field(3, ge=1)
    title_length: int = Field(60, ge=10)


class CaptionChoices(Choices):
    """Departures from the caption rules in `shared/captions.toml`."""

    line_length: int | None = Field(None, ge=10, le=80)
    lines: int | None = Field(None, ge=1, le=4)


class PublishingChoices(Choices):
    """What the written pieces need to know."""

    jurisdiction: Literal["UK", "US", "none"] = "UK"
    market: str = "GB"
    """ISO 3166 code of the market that prices are for."""
    currency: str = "GBP"
    units: Literal["in", "cm"] = "in"
    """Taken for a length that was said without a unit, where the talk around gives none."""
    locale: str = "en_GB"
    timezone: str = "Europe/London"
    publish_on: date | None = None
    """Day of publishing; the recording day where empty."""
    disclosure: str = ""
    """The person's own words; else the customary line of the jurisdiction."""
    description_limit: int = Field(5000, ge=200)
    site_url: str = ""
    keep_names: tuple[str, ...] = ()
    """People who agreed to be named."""
    micropub_endpoint: str = ""
    """The token for it is in the environment variable BONEFOLDER_MICROPUB_TOKEN."""
    templates: str = ""
    """Folder with the person's own templates, beside the settings file."""

    def today(self) -> date:
        """Return the day that it is in the person's time zone."""
        return datetime.now(ZoneInfo(self.timezone)).date()


class PolishChoices(Choices):
    """Optional wording by a language model; off unless an endpoint is given."""

    endpoint: str = ""
    """Its key, where it needs one, is in the environment variable BONEFOLDER_POLISH_KEY."""
    model: str = ""


class CostChoices(Choices):
    """How material is counted."""

    kerf_in: Decimal = Field(Decimal(0), ge=0, le=1)
    """Width in inches that a cut takes away: 0 for a knife or a trimmer, the blade's for a saw."""


class Settings(Choices):
    """All choices."""

    hearing: HearingChoices = HearingChoices()
    catalogue: CatalogueChoices = CatalogueChoices()
    names: dict[str, str] = Field(default_factory=dict)
    """Nicknames and spellings: what is said -> catalogue code, or the right spelling."""
    offers: tuple[KnownOffer, ...] = ()
    shop: ShopChoices = ShopChoices()
    chapters: ChapterChoices = ChapterChoices()
    captions: CaptionChoices = CaptionChoices()
    publishing: PublishingChoices = PublishingChoices()
    polish: PolishChoices = PolishChoices()
    cost: CostChoices = CostChoices()


_Entries = Mapping[str, Any]
"""Settings as read, by table and entry; they leave this module checked."""


@dataclass(frozen=True)
class Chosen:
    """The choices, and the files that they were read from; the later file goes before the earlier one."""

    settings: Settings
    files: tuple[Path, ...] = ()


def chosen(given: Path | None = None, near: Sequence[Path] = ()) -> Chosen:
    """Return the choices of the person's own configuration folder, with those of one more file laid over them.

    Args:
        given: the file that the person has named.
        near: where a file may lie that nobody has named; the first that is there is taken if none is given.

    Raises:
        SettingsError: a file is wrong, or one that nobody has named sets what only the person may.
    """
    own = own_folder.folder() / FILE
    named = [path for path in (own if own.is_file() else None, given) if path]
    found = [] if given else [path for path in near if path.is_file() and not (named and path.samefile(own))][:1]
    choices: _Entries = {}
    for path in (*named, *found):
        choices = _over(choices, _told(path, trusted=path not in found))
    return Chosen(Settings.model_validate(choices), (*named, *found))


def load(path: Path | None) -> Settings:
    """Read one settings file that the person has named, or take every default where there is none.

    Raises:
        SettingsError: the file is missing, no TOML, or holds a key or a value that is not known.
    """
    return Settings.model_validate(_told(path)) if path else Settings()


def with_addresses(settings: Settings, own: Settings) -> Settings:
    """Return settings with the network addresses of others laid over them, where those name any."""
    changes: dict[str, object] = {}
    if own.publishing.micropub_endpoint:
        told = {"micropub_endpoint": own.publishing.micropub_endpoint}
        changes["publishing"] = settings.publishing.model_copy(update=told)
    if own.polish.endpoint:
        changes["polish"] = own.polish
    return settings.model_copy(update=changes)


def kept(told: object, *, private: bool) -> Settings:
    """Return settings as they were written down in a folio; those that only the person may choose only where `private`.

    What is not known any more goes too: an older version of the program wrote it.
    """
    return Settings.model_validate(told if private or not isinstance(told, dict) else _without_private(told))


def _without_private(told: _Entries) -> _Entries:
    tables = Settings.model_fields
    kept = {name: value for name, value in told.items() if name in tables}
    for name, value in kept.items():
        known = getattr(tables[name].annotation, "model_fields", None)
        if known and isinstance(value, dict):
            fit = known.keys() - set(PRIVATE.get(name, ()))
            kept[name] = {entry: one for entry, one in value.items() if entry in fit}
    return kept


def _told(path: Path, *, trusted: bool = True) -> _Entries:
    """Return what a settings file sets, with the files that it names found from where it lies."""
    try:
        read = Settings.model_validate(tomllib.loads(path.read_text(encoding="utf-8-sig")))
    except OSError as error:
        raise SettingsError(f"The settings file {path} cannot be opened.", "Check its name and folder.") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise SettingsError(f"The settings file {path.name} is not valid TOML: {error}.", "Mend that line.") from error
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise SettingsError(f"In {path.name}, {where}: {first['msg']}.", "Mend or remove that entry.") from error
    told = read.model_dump(exclude_unset=True)
    for table, entry in (("catalogue", "file"), ("publishing", "templates")):
        if told.get(table, {}).get(entry):
            told[table][entry] = str((path.parent / told[table][entry]).resolve())
    if not trusted:
        _check_private(path, told)
    return told


def _check_private(path: Path, told: _Entries) -> None:
    """Refuse what a file that nobody has named may not set."""
    own = own_folder.folder() / FILE
    remedy = f"If it is yours, give that file with --settings, or move the entry to {own}; else remove the entry."
    for table, entries in PRIVATE.items():
        for entry in entries:
            if told.get(table, {}).get(entry):
                raise SettingsError(f"{path} lies beside the work and may not set {table}.{entry}.", remedy)
    listed = told.get("catalogue", {}).get("file")
    if listed and not Path(listed).is_relative_to(path.parent.resolve()):
        raise SettingsError(f"{path} may not name a catalogue outside its folder ({listed}).", remedy)


def _over(below: _Entries, above: _Entries) -> _Entries:
    """Return two settings as one: what the upper one sets goes first, table by table."""
    both = {name: _over(below[name], above[name]) for name in below if isinstance(above.get(name), dict)}
    return {**below, **above, **both}
