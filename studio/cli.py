"""The commands; no logic."""

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from studio import __version__
from studio.errors import BonefolderError, refused

if TYPE_CHECKING:
    from studio.folio import Folio

app = typer.Typer(no_args_is_help=True, add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)
catalogue_app = typer.Typer(no_args_is_help=True, help="Look after the catalogue.")
captions_app = typer.Typer(no_args_is_help=True, help="Look after caption files.")
app.add_typer(catalogue_app, name="catalogue")
app.add_typer(captions_app, name="captions")

RecordingFile = Annotated[Path, typer.Argument(help="The recording, or a caption file (.vtt, .srt) in its place.")]
CatalogueFile = Annotated[
    Path | None,
    typer.Option("--catalogue", help="Your products: a CSV, .xlsx or .ods file with at least code and name."),
]
SettingsFile = Annotated[Path | None, typer.Option("--settings", help="Your choices, a TOML file.")]
Day = Annotated[
    datetime | None,
    typer.Option("--recorded", formats=["%Y-%m-%d"], help="The day of the recording, for “ends Friday”."),
]


@app.callback(invoke_without_command=True)
def _top(version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False) -> None:
    """Turn a recorded demo and your catalogue into a folder that is ready to publish."""
    if version:
        typer.echo(__version__)
        raise typer.Exit


@app.command()
def make(
    recording: RecordingFile,
    catalogue: CatalogueFile = None,
    recorded: Day = None,
    out: Annotated[Path | None, typer.Option(help="The folder to fill; else one beside the recording.")] = None,
    settings: SettingsFile = None,
    chapters: Annotated[int | None, typer.Option(min=1, help="How many chapters you want.")] = None,
    retime: Annotated[str, typer.Option(help='What you have cut out since, as in "cut 0:00-0:12".')] = "",
    chapters_into_copy: Annotated[
        bool, typer.Option("--chapters-into-copy", help="Also make a copy of the recording with the chapters in it.")
    ] = False,
) -> None:
    """Make captions, chapters, description, post, supply list and cutting list from one recording."""
    from studio import requests

    day = recorded.date() if recorded else None
    request = requests.request(recording, catalogue, day, out, settings, chapters, retime)
    folio = _made(request)
    if chapters_into_copy:
        typer.echo(f"A copy with its chapters: {requests.copy_with_chapters(request, folio)}")
    _finish(folio)


@app.command()
def sample(out: Annotated[Path, typer.Option(help="The folder to fill.")] = Path("sample-folio")) -> None:
    """Do the whole job on the sample recording that comes with the program; it holds things to look at on purpose."""
    from studio import requests

    folio = _made(requests.sample(out))
    typer.echo(f"Look at {folio.folder / 'post.html'} first, then at {folio.folder / 'report.html'}.")
    _tell(folio)


@app.command()
def schema() -> None:
    """Print the JSON Schema of folio.json."""
    import json

    from studio.model import schema as published

    typer.echo(json.dumps(published.schema(), indent=2))


@app.command()
def read(
    phrase: Annotated[str, typer.Argument(help='What was said, as in "four and a quarter by five and a half".')],
) -> None:
    """Show how a spoken size, weight or price is understood."""
    from studio import quantity

    rows = quantity.explain(phrase)
    if not rows:
        typer.echo("No quantity in it.")
        return
    _table(list(rows[0]), [list(row.values()) for row in rows])


@catalogue_app.command("check")
def catalogue_check(
    file: Annotated[Path, typer.Argument(help="The catalogue: CSV, .xlsx or .ods.")], settings: SettingsFile = None
) -> None:
    """Print what is wrong in a catalogue, row by row, with the remedy."""
    from studio import catalogue
    from studio.settings import chosen

    found = catalogue.load(file, chosen(settings).settings.catalogue)
    if found.complaints:
        rows = [[c.file, str(c.row), c.column, c.problem, c.remedy] for c in found.complaints]
        _table(["file", "row", "column", "what is wrong", "what to do"], rows)
    typer.echo(f"{len(found.products)} products can be used; {len(found.complaints)} complaints.")
    raise typer.Exit(1 if found.complaints else 0)


@captions_app.command("check")
def captions_check(file: Annotated[Path, typer.Argument(help="A .vtt or .srt file.")]) -> None:
    """Print each breach of the caption rules, with its rule and source."""
    from studio import captions, timecode

    breaches = captions.check_file(file)
    if breaches:
        rows = [[timecode.clock(b.start_ms), b.severity, b.rule, b.message, b.source] for b in breaches]
        _table(["at", "weight", "rule", "what is wrong", "source"], rows)
    typer.echo(f"{len(breaches)} breaches.")
    raise typer.Exit(1 if breaches else 0)


@app.command()
def at(
    when: Annotated[str, typer.Argument(help='A time such as 6:20, or words such as "blue paper".')],
    folder: Annotated[Path, typer.Argument(help="A folio.")],
) -> None:
    """Say what was on the table at a time, or when something was."""
    from studio import folio, lookup, stored
    from studio.text import plain

    document = folio.read(folder)
    if newer := stored.told_of(document):
        typer.echo(plain(newer), err=True)
    for line in lookup.answer(document, when):
        typer.echo(line)


@app.command()
def find(
    words: Annotated[str, typer.Argument(help='What was said or shown, as in "blue paper".')],
    folder: Annotated[Path, typer.Argument(help="Where your folios are.")] = Path(),
) -> None:
    """Search everything that was said and shown in all your folios."""
    from studio import archive, timecode

    rows = [[hit.source, timecode.clock(hit.at_ms), hit.text, str(hit.folder)] for hit in archive.find(folder, words)]
    _table(["recording", "at", "what was said or shown", "folio"], rows)


@app.command()
def retired(
    catalogue: Annotated[Path, typer.Argument(help="The catalogue of today.")],
    folder: Annotated[Path, typer.Argument(help="Where your folios are.")] = Path(),
    on: Annotated[datetime | None, typer.Option(formats=["%Y-%m-%d"], help="For which day; else today.")] = None,
    settings: SettingsFile = None,
) -> None:
    """List the folios that show items which are no longer sold, to change their posts."""
    from studio import archive, timecode
    from studio import catalogue as products
    from studio.settings import chosen

    choices = chosen(settings).settings
    day = on.date() if on else choices.publishing.today()
    stale = archive.retired(folder, products.load(catalogue, choices.catalogue), day)
    rows = [[s.code, s.name, s.why, s.substitute, s.source, timecode.clock(s.at_ms), str(s.folder)] for s in stale]
    _table(["code", "item", "why", "substitute", "recording", "at", "folio"], rows)


@app.command()
def polish(folder: Annotated[Path, typer.Argument(help="A folio.")], settings: SettingsFile = None) -> None:
    """Let the language model of your settings reword the post, beside the plain one; a changed fact is refused."""
    from studio import sending

    result = sending.polish_folio(folder, typer.echo, settings)
    typer.echo(f"{result.taken} sentences reworded, {result.refused.total()} refused: post.polished.html")


@app.command()
def publish(
    folder: Annotated[Path, typer.Argument(help="A folio.")],
    anyway: Annotated[bool, typer.Option("--anyway", help="Send it though something is to be decided.")] = False,
    settings: SettingsFile = None,
) -> None:
    """Send the post as a draft to your own site, by Micropub."""
    from studio import sending

    typer.echo(f"The draft is at {sending.published(folder, typer.echo, settings, anyway=anyway)}")


@app.command()
def desk(
    folder: Annotated[Path, typer.Argument(help="Where your folios are, or one folio.")] = Path(),
    port: Annotated[int, typer.Option(help="The port on this machine; 0 takes a free one.")] = 0,
    browser: Annotated[bool, typer.Option(help="Open the page in the browser.")] = True,
) -> None:
    """Open the page where you settle what is unsure and take the result away."""
    from studio.desk import serve

    serve(folder, port, browser)


def main() -> None:
    """Run a command; a known problem is two sentences and an exit code, never a traceback."""
    try:
        app()
    except BonefolderError as error:
        _refuse(error)
    except OSError as error:
        _refuse(refused(error))
    except Exception as error:
        if os.environ.get("BONEFOLDER_TRACE"):
            raise
        from studio.text import one_line

        sys.stderr.write(f"Something went wrong that should not: {type(error).__name__}: {one_line(str(error))}.\n")
        sys.stderr.write(
            "Nothing that was done is lost. Set BONEFOLDER_TRACE=1, run it again, and report what it prints.\n"
        )
        sys.exit(70)
    except KeyboardInterrupt:
        sys.stderr.write("\nStopped. Run the same command again to go on from here.\n")
        sys.exit(130)


def _refuse(error: BonefolderError) -> None:
    from studio.text import plain

    sys.stderr.write(f"{plain(error.problem)}\n{plain(error.remedy)}\n")
    sys.exit(error.exit_code)


def _made(ask: Any) -> "Folio":  # noqa: ANN401
    from studio import folio
    from studio.text import plain

    with _progress() as tell:
        request = ask(tell)
        for path in request.settings_files:
            typer.echo(f"Settings used: {plain(str(path))}")
        return folio.make(request)


@contextmanager
def _progress() -> Iterator[Callable[[str, int, int], None]]:
    """Show what is being done once something takes time: seconds of the recording done, of all, and the time left."""
    from rich.progress import BarColumn, Progress, TaskID, TextColumn, TimeRemainingColumn

    what, seconds = TextColumn("{task.description}", markup=False), TextColumn("{task.fields[seconds]}")
    bar = Progress(what, BarColumn(), seconds, TimeRemainingColumn(), transient=True)
    rows: dict[str, TaskID] = {}

    def tell(doing: str, done: int, total: int) -> None:
        bar.start()
        if doing not in rows:
            rows[doing] = bar.add_task(doing, total=total, seconds="")
        bar.update(rows[doing], completed=done, total=total, seconds=f"{done // 1000} s of {total // 1000} s")

    try:
        yield tell
    finally:
        if rows:
            bar.stop()


def _finish(folio: "Folio") -> None:
    _tell(folio)
    raise typer.Exit(1 if folio.needs_a_look else 0)


def _tell(folio: "Folio") -> None:
    from studio.text import plain

    typer.echo(f"Made: {folio.folder}")
    if folio.damage:
        typer.echo(plain(folio.damage))
    for name in folio.kept:
        typer.echo(f"{plain(name)} is yours and is left as it is; the new one stands beside it.")
    if folio.needs_a_look:
        counts = folio.to_look_at()
        typer.echo(
            f"To look at before you publish: {', '.join(counts)}. See {plain(str(folio.folder / 'report.html'))}."
        )


def _table(head: list[str], rows: list[list[str]]) -> None:
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    from studio.text import plain

    table = Table(*head)
    for row in rows:
        table.add_row(*(escape(plain(cell)) for cell in row))
    Console(width=None if sys.stdout.isatty() else 200).print(table)
