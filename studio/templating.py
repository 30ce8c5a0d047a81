"""Templates: those that come with the program, and the person's own in their place, with plain data only."""

import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from studio import text
from studio.errors import SettingsError

if TYPE_CHECKING:
    from _typeshed import DataclassInstance
    from jinja2 import Environment

_OWN = Path(__file__).parent / "templates"
SECONDS = 10
BYTES = 1 << 30
"""What a person's own template may use; more is a mistake in it (a loop without an end)."""
LARGEST = 4_000_000


class _Run(TypedDict):
    text: str
    url: str


class _Sentence(TypedDict):
    runs: list[_Run]


def runs(sentence: _Sentence) -> str:
    """Return the runs of a sentence as Markdown: text escaped, addresses checked."""
    return "".join(
        f"[{text.md(run['text'])}]({text.link(run['url'])})" if text.link(run["url"]) else _spaced(run["text"])
        for run in sentence["runs"]
    )


def _line(value: object) -> str:
    return text.one_line(str(value))


def _spaced(said: str) -> str:
    """Escape a run of text, keeping the spaces at its ends."""
    shown = text.md(said)
    return f"{' ' if said[:1].isspace() else ''}{shown}{' ' if said[-1:].isspace() and shown else ''}"


def environment(sources: Mapping[str, str]) -> "Environment":
    """Return the environment that all templates are rendered in: immutable sandbox, every name must be known.

    HTML templates are escaped; Markdown and text use the filters `md`, `line` and `runs` for everything from outside.
    """
    from jinja2 import DictLoader, StrictUndefined
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    made = ImmutableSandboxedEnvironment(
        loader=DictLoader(dict(sources)), undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
        keep_trailing_newline=True, autoescape=lambda name: bool(name and name.endswith(".html.j2")),
    )  # fmt: skip
    made.filters.update({"md": text.md, "line": _line, "runs": runs, "link": text.link})
    return made


@cache
def built_in() -> dict[str, str]:
    """Return the templates that come with the program, by name."""
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(_OWN.glob("*.j2"))}


@cache
def _built_in_environment() -> "Environment":
    return environment(built_in())


def render(name: str, *told: "DataclassInstance", folder: str = "") -> str:
    """Render a template.

    Args:
        name: such as "post_how_to.md.j2".
        told: what it may print; the fields of all stand side by side.
        folder: the person's own templates; those of the same name take the place of the program's.

    Raises:
        SettingsError: an own template is wrong, takes too long, or grows too large.
    """
    own = _own_templates(folder)
    data: dict[str, object] = {}
    for one in told:
        data |= _data(one)
    if not own:
        return _built_in_environment().get_template(name).render(data)
    job = json.dumps({"sources": {**built_in(), **own}, "name": name, "data": data})
    child = [sys.executable, "-c", _CHILD, str(Path(__file__).parent.parent), str(SECONDS), str(BYTES)]
    try:
        done = subprocess.run(  # noqa: S603  (our own interpreter, no shell, the template on its input)
            child, input=job.encode(), capture_output=True, timeout=SECONDS * 3, check=False
        )
    except subprocess.TimeoutExpired as error:
        raise _wrong(name, "it takes too long") from error
    if done.returncode:
        last = text.one_line(done.stderr.decode(errors="replace").strip().rsplit("\n", 1)[-1])
        raise _wrong(name, text.shortened(last, 200) or "it uses too much")
    if len(done.stdout) > LARGEST:
        raise _wrong(name, "its text is too long")
    return done.stdout.decode()


def _plain(value: object) -> object:
    """Return a value as text, numbers, lists and dictionaries alone."""
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    return _data(value) if is_dataclass(value) and not isinstance(value, type) else value


def _data(told: "DataclassInstance") -> dict[str, object]:
    """Return the fields by name; one that had to step aside for a word of the language ends in an underscore."""
    return {one.name.removesuffix("_"): _plain(getattr(told, one.name)) for one in fields(told)}


_CHILD = """
import json, resource, sys
sys.path.insert(0, sys.argv[1])
from studio.templating import environment
job = json.loads(sys.stdin.buffer.read())
resource.setrlimit(resource.RLIMIT_CPU, (int(sys.argv[2]),) * 2)
resource.setrlimit(resource.RLIMIT_AS, (int(sys.argv[3]),) * 2)
sys.stdout.buffer.write(environment(job["sources"]).get_template(job["name"]).render(job["data"]).encode())
"""


def _own_templates(folder: str) -> dict[str, str]:
    """Return the person's own templates by name; the folder alone is looked at, nothing below it."""
    found = sorted(Path(folder).glob("*.j2")) if folder else []
    try:
        return {path.name: path.read_text(encoding="utf-8-sig") for path in found if path.is_file()}
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"The templates in {folder} cannot be read.", "They must be text in UTF-8.") from error


def templates_digest(folder: str) -> str:
    """Return a checksum of the person's own templates, so that a changed one is noticed; empty without any."""
    own = _own_templates(folder)
    return sha256(json.dumps(own, sort_keys=True).encode()).hexdigest() if own else ""


def _wrong(name: str, why: str) -> SettingsError:
    return SettingsError(
        f"Your own template {name} cannot be used: {why}.", "Mend it, or remove it from your templates."
    )
