"""One row of the table of stages, what a stage gave, and where results are kept: on disk, or in memory for the desk."""

from bisect import bisect_left
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from operator import attrgetter
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from studio import cache, edits, resources
from studio.model import Document, Still
from studio.settings import Settings

KEPT_IN_MEMORY = 60
"""So many results of one function the desk remembers; undo finds the earlier ones there."""
Make = Callable[[], Any]


@dataclass(frozen=True)
class Stage:
    """One row of the table: a plain function, what it takes from earlier rows, and what else its result depends on."""

    name: str
    run: Callable[..., Any]
    gives: Any
    version: int
    takes: tuple[str, ...]
    choices: tuple[str, ...] = ()
    reads: tuple[str, ...] = ()
    """The rule files and folders of `shared/` that it reads, without their endings."""
    needs: tuple[str, ...] = ()
    """What it is handed that does not decide the result: the progress report, the work folder."""
    slow: bool = False
    """It opens the recording, or reads the whole talk: at the desk what it gave last stands until the next run."""

    @property
    def function(self) -> str:
        """The name of the function, under which results are kept."""
        return self.run.__name__

    def key(self, digests: Mapping[str, str], settings: Settings) -> str:
        """Return the name of the result: a digest of all that it is made from."""
        inputs = {str(place): digests[name] for place, name in enumerate(self.takes)}
        choices = {name: _text(attrgetter(name)(settings)) for name in self.choices}
        read = {name: resources.digest(name) for name in self.reads}
        return cache.key(self.function, self.version, inputs, choices, read)

    def fresh(self, values: Mapping[str, Any], settings: Settings) -> Any:  # noqa: ANN401
        """Run the function."""
        handed = [values[need] for need in (*self.needs, *self.takes)]
        return self.run(*handed, *(attrgetter(choice)(settings) for choice in self.choices))


def _text(choice: Any) -> str:  # noqa: ANN401
    return TypeAdapter[Any](type(choice)).dump_json(choice).decode()


@dataclass
class Result:
    """What a stage gave: its digest at once, its value when it is first asked for."""

    digest: str
    read: Make

    @cached_property
    def value(self) -> Any:  # noqa: ANN401
        """The value itself."""
        return self.read()


def result(value: Any, kind: Any) -> Result:  # noqa: ANN401
    """Return a value as a result."""
    return Result(cache.digest(cache.to_bytes(value, kind)), lambda: value)


class NotKept(LookupError):
    """A result that a folio must have, and that is not there."""


class Values(Mapping[str, Any]):
    """What every stage gave, by name; read when it is asked for."""

    def __init__(self, results: Mapping[str, Result]) -> None:
        self._results = results

    def __getitem__(self, name: str) -> Any:  # noqa: ANN401
        return self._results[name].value

    def __contains__(self, name: object) -> bool:
        return name in self._results

    def __iter__(self) -> Iterator[str]:
        return iter(self._results)

    def __len__(self) -> int:
        return len(self._results)


class Disk:
    """Results in the folder of a folio; those that a run did not use are dropped at its end."""

    def __init__(self, work: Path, given: Mapping[str, Result] | None = None) -> None:
        self.given = given or {}
        """What the stages are made from, each with its digest."""
        self._work = work
        self._store = cache.Cache(work / "stages")
        self._used: set[Path] = set()

    def take(self, stage: Stage, name: str, make: Make) -> Result:
        """Return a result that is there, or make it; one that turns out to be damaged is made again."""
        self._used.add(self._store.path(stage.function, name))
        there = self.there(stage, name)
        if there is None:
            return self._made(stage, name, make)
        return Result(there, lambda: self._read(stage, name, make))

    def there(self, stage: Stage, name: str) -> str | None:
        """Return the digest of a result that is there, its pictures too."""
        digest = self._store.digest(stage.function, name)
        if digest is not None and stage.gives == tuple[Still, ...]:
            kept = self._store.load(stage.function, name, stage.gives)
            return digest if kept and _pictures_there(kept[0], self._work) else None
        return digest

    def load(self, stage: Stage, name: str) -> Result:
        """Return a result that is there and whole, read at once.

        Raises:
            NotKept: there is none.
        """
        kept = self._store.load(stage.function, name, stage.gives)
        if kept is None:
            raise NotKept(stage.name)
        return Result(kept[1], lambda: kept[0])

    def laid(self, stage: Stage, _: str, found: Result, decided: edits.Edits) -> Result:
        """Return a result with the decisions laid over it."""
        return _laid(stage, found, decided)

    def close(self) -> None:
        """Drop what was not used."""
        self._store.keep_only(self._used)

    def _made(self, stage: Stage, name: str, make: Make) -> Result:
        value = make()
        return Result(self._store.save(stage.function, name, value, stage.gives), lambda: value)

    def _read(self, stage: Stage, name: str, make: Make) -> Any:  # noqa: ANN401
        kept = self._store.load(stage.function, name, stage.gives)
        return kept[0] if kept else self._made(stage, name, make).value


class Memory:
    """Results of all folios that the desk has open, by what they were made from."""

    def __init__(self) -> None:
        self._kept: dict[str, OrderedDict[Any, Result]] = {}

    def get(self, function: str, name: Any) -> Result | None:  # noqa: ANN401  (anything that can be compared)
        """Return what is remembered."""
        kept = self._kept.get(function, OrderedDict())
        if name in kept:
            kept.move_to_end(name)
        return kept.get(name)

    def add(self, function: str, name: Any, found: Result) -> Result:  # noqa: ANN401
        """Remember a result; the one that was not asked for the longest is forgotten."""
        kept = self._kept.setdefault(function, OrderedDict())
        kept[name] = found
        if len(kept) > KEPT_IN_MEMORY:
            kept.popitem(last=False)
        return found


@dataclass
class InMemory:
    """The results of one folio in memory; nothing is written, and no slow stage is run.

    Attributes:
        memory: what is remembered.
        start: gives what the folio itself holds, once, when it is opened.
        given: what the stages are made from, each with its digest.
        of_document: whether the document itself is all that there is to start from.
        last: what each stage gave last, before decisions.
    """

    memory: Memory
    start: Callable[[Stage, str], Result | None] | None
    given: Mapping[str, Result]
    of_document: bool = False
    last: dict[str, Result] = field(default_factory=dict)

    def take(self, stage: Stage, name: str, make: Make) -> Result:
        """Return a result that is remembered or that the folio holds; else what stood last, or a new one."""
        found = self.memory.get(stage.function, name)
        if found is None and self.start is not None:
            found = self.start(stage, name)
        elif found is None and stage.slow:
            return self.last[stage.name]
        self.last[stage.name] = self.memory.add(stage.function, name, found or result(make(), stage.gives))
        return self.last[stage.name]

    def laid(self, stage: Stage, _: str, found: Result, decided: edits.Edits) -> Result:
        """Return a result with the decisions laid over it, remembered too."""
        concerned = edits.concerning(stage.name, decided)
        if not concerned:
            return found
        key = (found.digest, *(edit.id for edit in concerned))
        there = self.memory.get(f"{stage.name} as decided", key)
        return there or self.memory.add(f"{stage.name} as decided", key, _laid(stage, found, decided))

    def close(self) -> None:
        """From now on what the folio holds is not asked for any more."""
        self.start = None


Keeper = Disk | InMemory


def _laid(stage: Stage, found: Result, decided: edits.Edits) -> Result:
    if not edits.concerning(stage.name, decided):
        return found
    laid = edits.lay_over(stage.name, found.value, decided)
    return found if laid is found.value else result(laid, stage.gives)


def parts_of(document: Document) -> Mapping[str, object]:
    """Return what each stage would have given for this document."""
    weak = tuple(one for one in document.findings if one.kind == "weak_still")
    kept = tuple(one for one in document.findings if one.kind != "weak_still")
    rows = tuple(row.but(still=None) for row in document.supplies)
    parts = {name: getattr(document, name) for name in Document.model_fields if name != "catalogue"}
    kinds = tuple(one.kind for one in document.sentences)
    told = {"kinds": kinds, "listed": document.catalogue, "findings": kept, "weak_stills": weak, "supplies": rows}
    return {**parts, **told, "starts": _starts(document)}


def _starts(document: Document) -> tuple[int, ...]:
    """Return the sentences with which the chapters of a document begin, by their times; 0 first."""
    times = [sentence.start_ms for sentence in document.sentences]
    later = {bisect_left(times, chapter.start_ms) for chapter in document.chapters[1:]}
    return (0, *sorted(later - {0, len(times)})) if times and document.chapters else ()


def _pictures_there(pictures: tuple[Still, ...], work: Path) -> bool:
    return all((work / name).exists() for still in pictures for name in (still.file, *still.others))
