"""What every part of the document is made of: frozen records, exact quantities, decimal money, milliseconds."""

from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer, WithJsonSchema

State = Literal["confirmed", "ask", "absent"]
Role = Literal["shown", "mentioned", "rejected", "gift", "unlisted"]
Severity = Literal["error", "ask", "warning", "note"]
OfferKind = Literal[
    "gift_over_threshold", "gift_with_purchase", "percent_off", "free_delivery", "buy_n_get_m", "dates", "last_chance"
]
FindingKind = Literal[
    "contradiction", "self_correction", "ambiguous_item", "unlisted_item", "unclear_measure", "impossible_size",
    "not_on_sale", "retired", "offer_unclear", "offer_expired", "private_detail", "earnings_claim", "sound_lost",
    "unheard_speech", "safety_claim", "weak_still",
]  # fmt: skip


def _exact(value: object) -> object:
    if isinstance(value, bool):
        raise ValueError("A truth value is no quantity.")
    return Fraction(value) if isinstance(value, str | int) else value


def _money(value: object) -> object:
    if isinstance(value, bool):
        raise ValueError("A truth value is no sum of money.")
    return Decimal(value) if isinstance(value, str | int) else value


Exact = Annotated[
    Fraction,
    BeforeValidator(_exact),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^-?\d+(/\d+)?$", "examples": ["17/4"]}),
]
Money = Annotated[
    Decimal,
    BeforeValidator(_money),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^-?\d+(\.\d+)?$", "examples": ["12.50"]}),
]
Ms = Annotated[int, Field(ge=0)]


class Part(BaseModel):
    """A frozen part of the document that takes no field it does not know; its docstrings are read for the schema."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True, use_attribute_docstrings=True)

    def but(self, **changes: Any) -> "Any":  # noqa: ANN401  (the same part, whichever it is)
        """Return a copy with some fields changed."""
        return self.model_copy(update=changes)
