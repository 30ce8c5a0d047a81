"""The published JSON Schema of `folio.json`: draft 2020-12, with a name of its own and a description of every part."""

from pydantic import JsonValue

from studio.model import SCHEMA_VERSION, Document

DIALECT = "https://json-schema.org/draft/2020-12/schema"
ID = f"urn:bonefolder:folio:{SCHEMA_VERSION}"
"""A name, not an address: nothing is looked up under it."""


def schema() -> dict[str, JsonValue]:
    """Return the JSON Schema of the file that a run writes."""
    return {"$schema": DIALECT, "$id": ID, **Document.model_json_schema(mode="serialization")}
