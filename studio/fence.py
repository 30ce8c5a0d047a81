"""A folio is a closed place: no link in it leads out, and no name that is read from it leaves it."""

import os
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

from studio.errors import FolioDamaged

WORK = ".work"


def check(folder: Path) -> None:
    """See to it that nothing below a folder leads out of it; one that is not there leads nowhere.

    A link in the work folder is refused wherever it leads: the program makes none there, and moves what lies there.

    Raises:
        FolioDamaged: there is such a link.
    """
    home = folder.resolve()
    for link in _links(folder):
        if WORK in link.relative_to(folder).parts or not _stays(link, home):
            raise FolioDamaged(
                f"{link} is a link that leads out of the folio; nothing was read or written through it.",
                "Delete the link, or put what it leads to in its place; then run the same command again.",
            )


def inside(name: str) -> str:
    """Return a name that was read from a folio's files, if it stays in the folder and out of the work folder.

    Raises:
        FolioDamaged: it leads elsewhere.
    """
    parts = PurePosixPath(name).parts
    odd = any(sign in name for sign in "\\:\0") or not name.isprintable()
    if odd or not parts or parts[0] in {"/", "//", WORK} or ".." in parts:
        raise FolioDamaged(
            f"The work folder of this folio names a file outside it: {name}.",
            f"Delete its folder {WORK} and make the folio again from the recording; your decisions are kept.",
        )
    return name


def _links(folder: Path) -> Iterator[Path]:
    is_junction = getattr(os.path, "isjunction", lambda _: False)  # Windows; known to Python from 3.12 on
    for place, folders, files in os.walk(folder):
        for path in (Path(place, name) for name in (*folders, *files)):
            if path.is_symlink() or is_junction(path):
                yield path


def _stays(link: Path, home: Path) -> bool:
    try:
        return link.resolve().is_relative_to(home)
    except (OSError, RuntimeError):  # links in a ring
        return False
