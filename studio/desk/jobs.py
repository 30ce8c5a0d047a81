"""What is told to the child process, and what it tells: one line of JSON each."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Literal


@dataclass(frozen=True)
class Job:
    """One piece of work; paths are absolute."""

    do: Literal["make", "sample", "again", "proxy", "chapters"]
    folder: str = ""
    """Of the folio."""
    source: str = ""
    target: str = ""
    catalogue: str | None = None
    recorded_on: str | None = None
    names: Mapping[str, str] = field(default_factory=dict)
    """Nicknames that hold for every recording."""

    def line(self) -> str:
        """Return the job as a line."""
        return json.dumps(asdict(self)) + "\n"

    @classmethod
    def of(cls, line: str) -> "Job":
        """Return the job that a line tells."""
        return cls(**json.loads(line))


@dataclass(frozen=True)
class WorkTold:
    """How far the work is, or how it ended."""

    kind: Literal["progress", "done", "problem"]
    what: str = ""
    done: int = 0
    total: int = 0
    problem: str = ""
    remedy: str = ""
    busy: bool = False
    """It could not be done because another run holds the folio."""
    plays: bool = False
    """A browser plays the recording as it is."""
    last: bool = False
    """The child does no more work after this."""

    def line(self) -> str:
        """Return it as a line."""
        return json.dumps(asdict(self)) + "\n"

    @classmethod
    def of(cls, line: str | bytes) -> "WorkTold":
        """Return what a line tells."""
        return cls(**json.loads(line))
