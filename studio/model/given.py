"""What went in: the recording, and the catalogue with what was wrong in it."""

from datetime import date

from studio.model.base import Exact, Money, Ms, Part


class Recording(Part):
    """The file that was given: a recording, or a caption file in its place."""

    source: str
    """File name, without its folder."""
    sha256: str
    """SHA-256 of the file, in hex."""
    duration_ms: Ms
    """Length of the recording, in milliseconds."""
    recorded_on: date | None = None
    """The day of the recording: as the person said, else as the file says."""
    width: int | None = None
    """Pixels as shown, after the rotation that the file asks for."""
    height: int | None = None
    """Pixels as shown."""
    fps: Exact | None = None
    """Average frame rate; never to be used to compute a time."""
    has_picture: bool = False
    """Whether there is a picture that can be decoded."""
    has_sound: bool = False
    """Whether there is sound that can be decoded."""


class Product(Part):
    """One row of the maker's catalogue: the only source of names, codes, prices, pages, links and availability."""

    code: str
    """The maker's own number of the item; no two rows share one."""
    name: str
    """The name as it is printed everywhere."""
    kind: str = ""
    """What it is, as in "paper" or "ink"."""
    price: Money | None = None
    """Price of one pack, in `currency`."""
    currency: str = ""
    """ISO 4217 code, or empty."""
    page: str = ""
    """Page of the printed catalogue."""
    contents: str = ""
    """What one pack holds, as in "24 sheets"."""
    size: str = ""
    """Its size as the catalogue writes it."""
    url: str = ""
    """Address of the item in the person's own shop."""
    available_from: date | None = None
    """First day on sale."""
    available_until: date | None = None
    """Last day on sale."""
    colour: str = ""
    """Colour of the item, where the name does not tell."""
    hazard: str = ""
    """Name of the hazard that its use brings, as in "blade"."""
    maker_statement: str = ""
    """What the maker states of its safety, word for word."""
    pack_quantity: int | None = None
    """Number of pieces in one pack."""
    gtin: str = ""
    """Global Trade Item Number, with its check digit (GS1 General Specifications)."""
    substitute: str = ""
    """Code of the row that the catalogue itself names as the replacement."""
    line: int = 0
    """Line or row number in the file, counted from 1."""


class Complaint(Part):
    """Something wrong in the catalogue file, with the place and the remedy."""

    file: str
    """Name of the catalogue file."""
    row: int
    """Row of the file, counted from 1."""
    column: str
    """The column, or empty where it is the whole row."""
    problem: str
    """What is wrong, in one sentence."""
    remedy: str
    """What to do about it, in one sentence."""


class Catalogue(Part):
    """The products read from one file, with what was wrong in it."""

    source: str = ""
    """File name, without its folder."""
    sha256: str = ""
    """SHA-256 of the file, in hex; empty where no catalogue was given."""
    products: tuple[Product, ...] = ()
    """The rows that can be used, in the order of the file."""
    complaints: tuple[Complaint, ...] = ()
    """What was wrong, in the order of the rows."""

    def by_code(self) -> dict[str, Product]:
        """Return the products by their codes."""
        return {product.code: product for product in self.products}


class CatalogueSource(Part):
    """Which catalogue the document was made with."""

    source: str
    """File name, without its folder."""
    sha256: str
    """SHA-256 of the file, in hex."""
    products: int
    """Number of rows that can be used."""
    complaints: int
    """Number of things that were wrong in it."""
