"""What may be published of a document: everything but what only a person can settle; and how much of that waits."""

from studio.model import Document


def settled(document: Document) -> Document:
    """Return the document without rows, sizes, pieces and offers in state `ask`, and without pictures of such rows."""
    sure = {row.code for row in document.supplies if row.state != "ask"}
    asked = {row.code for row in document.supplies if row.state == "ask"} - sure
    kept = {
        name: tuple(one for one in getattr(document, name) if one.state != "ask")
        for name in ("supplies", "measures", "cuts", "offers")
    }
    kept["stills"] = tuple(still for still in document.stills if still.subject not in asked)
    return document.but(**kept)  # type: ignore[no-any-return]


def waiting(document: Document) -> str:
    """Return how many rows, sizes and offers wait for a person ("2 rows and 1 size wait"), or nothing."""
    parts = (("row", document.supplies), ("size", document.measures), ("offer", document.offers))
    counts = [(word, sum(one.state == "ask" for one in rows)) for word, rows in parts]
    told = [f"{count} {word}" if count == 1 else f"{count} {word}s" for word, count in counts if count]
    if not told:
        return ""
    listed = " and ".join(filter(None, [", ".join(told[:-1]), told[-1]]))
    return f"{listed} {'waits' if sum(count for _, count in counts) == 1 else 'wait'}"
