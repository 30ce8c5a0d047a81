"""A quantity told in one line, as the fixture files write it."""

from studio.quantity import Found

_MARKS = (
    ("approximate", "about"), ("unit_implied", "implied"), ("computed", "computed"), ("conflict", "conflict"),
    ("question", "asked"), ("repaired", "repaired"),
)  # fmt: skip


def told(found: Found) -> str:
    """Return values, unit, kind and marks: `43/8 x 33/8 in size implied`."""
    between = " to " if found.kind.endswith("_range") or found.low is not None else " x "
    values = between.join(str(value) for value in found.exact or found.values)
    marks = [mark for name, mark in _MARKS if getattr(found, name)]
    marks += [found.bound] if found.bound else []
    marks += [f"relative{found.relative}"] if found.relative else []
    marks += [f"pieces={found.quantity}"] if found.quantity else []
    marks += [f"of={found.of}"] if found.of else []
    marks += [f"per={found.per}"] if found.per else []
    marks += ["instead-of=" + "x".join(str(value) for value in found.replaces)] if found.replaces else []
    marks += ["or=" + ",".join(found.ambiguous)] if found.ambiguous else []
    return " ".join([values, found.unit or "-", found.kind, *marks])
