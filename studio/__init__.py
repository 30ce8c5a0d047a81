"""bonefolder: a recording and the maker's catalogue go in, a folder that is ready to publish comes out.

    import studio

    folio = studio.make("demo.mp4", "demo-folio", "spring.csv")     # what `bonefolder make` does -> Folio
    document = studio.read_talk("demo.vtt", "spring.csv")           # the understanding alone -> Document
    amounts = studio.read_quantity("four and a quarter by five")    # exact amounts in a text -> Quantity, ...

Every refusal is a `studio.BonefolderError`: one sentence on what is wrong, one on what to do. Nothing heavy is loaded
before the first of these names is used. A folder that was made is read back with `Folio.read`.

Three walks through the rooms, as a stranger would take them; `DEVELOPERS.md` has the map of all.

**A recording to a post.** `cli` takes what was typed, `requests` finds the settings, the catalogue and the folder, and
`folio` locks the folder and asks `pipeline`, whose table is the order of the rest: `media` opens the recording,
`hearing` gives its words with their times to `transcript`, `language` cuts them into sentences. `mentions` names the
products, `measures` and `corrections` read the sizes and what was put right, and `chapters`, `supplies`, `offers`,
`cutting`, `cautions`, `checks` and `stills` each add their part to the one document (`model`). Then `writing` drafts
the text, `post` prints it, and `swap` puts all files in place in one step.

**A catalogue row to the supply list.** `sheets` turns the file into rows of text, `catalogue` into products, each cell
checked and each fault a complaint with its row. `mentions` looks for their names in the sentences and says how sure it
is, and which rows come next. `supplies` gives one line to each item that was shown, with the row's own price, page and
link; `settled` leaves out what is still to be asked; `tables` and `post` print the rest.

**A decision at the desk to every output.** The page sends an answer to `desk`, which has `edits` write it down (a line
of `edits.jsonl`) and lets `pipeline` run in memory what depends on it (`stage.InMemory`), so that the page shows it at
once. Then a run begins: `asked` tells from what the folio was made, `pipeline` lays the decision over the stage that it
is about (`edits` again) and does over only what follows from it, `folio` asks every writer for its files, and `swap`
puts them in place.
"""

import os

TYPE_CHECKING = False
"""True to a type checker alone; importing `typing` for it would take longer than all the rest of this file."""

if TYPE_CHECKING:
    from studio.api import Document, Folio, Quantity, Settings, make, read_quantity, read_talk
    from studio.errors import BonefolderError

os.environ |= {
    "ORT_DISABLE_TELEMETRY": "1",  # else onnxruntime (voice detection) reports to its maker and keeps an id at home
    "HF_HUB_DISABLE_TELEMETRY": "1",  # the hub that a model named by its size comes from
    "HF_HUB_DISABLE_IMPLICIT_TOKEN": "1",  # and no token of the person's is sent along
    "DO_NOT_TRACK": "1",
}
"""Set before any other module of the program, and so before any library, is loaded; native code reads them once."""

__version__ = "0.1.0"

__all__ = ["BonefolderError", "Document", "Folio", "Quantity", "Settings", "make", "read_quantity", "read_talk"]

if not TYPE_CHECKING:  # a type checker knows the names from above, and shall refuse all others

    def __getattr__(name: str) -> object:
        """Load what other programs call when it is first asked for (PEP 562)."""
        from importlib import import_module

        if name not in __all__:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        found = getattr(import_module("studio.errors" if name == "BonefolderError" else "studio.api"), name)
        globals()[name] = found
        return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
