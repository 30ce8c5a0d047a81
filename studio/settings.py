"""The person's choices: one TOML file, every one of them with a default."""

import tomllib
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from studio.errors import SettingsError
from studio.model import Money, OfferKind


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
    micropub_token_variable: str = "BONEFOLDER_MICROPUB_TOKEN"  # noqa: S105
    """Name of the environment variable that holds the token."""
    templates: str = ""
    """Folder with the person's own templates, beside the settings file."""

    def today(self) -> date:
        """Return the day that it is in the person's time zone."""
        return datetime.now(ZoneInfo(self.timezone)).date()


class PolishChoices(Choices):
    """Optional wording by a language model; off unless an endpoint is given."""

    endpoint: str = ""
    model: str = ""
    key_variable: str = "BONEFOLDER_POLISH_KEY"
    """Name of the environment variable that holds the key."""


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


def load(path: Path | None) -> Settings:
    """Read the settings file, or take every default where there is none.

    Raises:
        SettingsError: the file is missing, no TOML, or holds a key or a value that is not known.
    """
    if path is None:
        return Settings()
    try:
        return _placed(Settings.model_validate(tomllib.loads(path.read_text(encoding="utf-8-sig"))), path.parent)
    except OSError as error:
        raise SettingsError(f"The settings file {path} cannot be opened.", "Check its name and folder.") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise SettingsError(f"The settings file {path.name} is not valid TOML: {error}.", "Mend that line.") from error
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise SettingsError(f"In {path.name}, {where}: {first['msg']}.", "Mend or remove that entry.") from error


def _placed(settings: Settings, folder: Path) -> Settings:
    """Return the settings with the templates' folder found from where the settings file lies."""
    publishing = settings.publishing
    if not publishing.templates:
        return settings
    placed = publishing.model_copy(update={"templates": str((folder / publishing.templates).resolve())})
    return settings.model_copy(update={"publishing": placed})
