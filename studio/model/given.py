"""What went in: the recording, and the catalogue with what was wrong in it."""

from datetime import date

from studio.model.base import Exact, Money, Ms, Part


class Recording(Part):
    """The file that was given: a recording, or a caption file in its place."""

    source: str
    """File name, without its folder."""
    sha256: str
    duration_ms: Ms
    recorded_on: date | None = None
    width: int | None = None
    """Pixels as shown, after the rotation that the file asks for."""
    height: int | None = None
    fps: Exact | None = None
    """Average frame rate; never to be used to compute a time."""
    has_picture: bool = False
    has_sound: bool = False


class Product(Part):
    """One row of the maker's catalogue: the only source of names, codes, prices, pages, links and availability."""

    code: str
    name: str
    kind: str = ""
    price: Money | None = None
    currency: str = ""
    """ISO 4217 code, or empty."""
    page: str = ""
    contents: str = ""
    size: str = ""
    url: str = ""
    available_from: date | None = None
    available_until: date | None = None
    """Last day on sale."""
    colour: str = ""
    hazard: str = ""
    maker_statement: str = ""
    pack_quantity: int | None = None
    gtin: str = ""
    substitute: str = ""
    """Code of the row that the catalogue itself names as the replacement."""
    line: int = 0
    """Line or row number in the file, counted from 1."""


class Complaint(Part):
    """Something wrong in the catalogue file, with the place and the remedy."""

    file: str
    row: int
    column: str
    problem: str
    remedy: str


class Catalogue(Part):
    """The products read from one file, with what was wrong in it."""

    source: str = ""
    sha256: str = ""
    products: tuple[Product, ...] = ()
    complaints: tuple[Complaint, ...] = ()

    def by_code(self) -> dict[str, Product]:
        """Return the products by their codes."""
        return {product.code: product for product in self.products}


class CatalogueSource(Part):
    """Which catalogue the document was made with."""

    source: str
    sha256: str
    products: int
    complaints: int
