"""Work in child processes: started, followed, stopped; a run that was stopped goes on later from where it was."""

import asyncio
import contextlib
import os
import signal
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from studio.desk.jobs import Job, WorkTold

STOP_S = 3.0
"""So long a child may take to stop by itself."""
_WORDS = {
    "hearing": "Listening to the recording",
    "hearing names again": "Listening again where a name was unsure",
    "choosing pictures": "Choosing pictures",
}


@dataclass
class Run:
    """One piece of work and how far it is."""

    about: str
    """The id of the folio."""
    told: Job
    state: Literal["waiting", "running", "done", "stopped", "failed"] = "waiting"
    what: str = ""
    done: int = 0
    total: int = 0
    began: tuple[float, int] = (0.0, 0)
    """When this part of the work began, and how much of it was done by then."""
    ended: WorkTold | None = None
    """What it told last."""
    problem: str = ""
    remedy: str = ""

    def progress(self, what: str, done: int, total: int) -> None:
        """Take a report of progress."""
        if what != self.what:
            self.what, self.began = what, (time.monotonic(), done)
        self.done, self.total = done, total

    def words(self) -> str:
        """Return how far it is, in words."""
        if self.state != "running":
            return {"waiting": "Waiting for its turn", "done": "Done", "stopped": "Stopped", "failed": "Not done"}[
                self.state
            ]
        what = _WORDS.get(self.what, "Working")
        if self.total <= 0 or self.what == "choosing pictures":
            return f"{what}."
        return f"{what}: {_minutes(self.done)} of {_minutes(self.total)} done{self._left()}."

    def _left(self) -> str:
        seconds, gained = time.monotonic() - self.began[0], self.done - self.began[1]
        if seconds < 2 or gained <= 0:
            return ""
        left = (self.total - self.done) * seconds / gained
        return f", about {_about(left)} left"


def _minutes(ms: int) -> str:
    minutes, seconds = divmod(ms // 1000, 60)
    return f"{minutes}:{seconds:02d}"


def _about(seconds: float) -> str:
    if seconds < 50:
        return f"{max(5, round(seconds / 5) * 5)} seconds"
    minutes = round(seconds / 60)
    return "1 minute" if minutes <= 1 else f"{minutes} minutes"


class Bench:
    """One child process that does one piece of work after the other; others wait."""

    def __init__(self, after: Callable[[Run], None] | None = None) -> None:
        self.runs: list[Run] = []
        self._after = after or (lambda _: None)
        self._child: asyncio.subprocess.Process | None = None
        self._task: asyncio.Task[None] | None = None

    @property
    def current(self) -> Run | None:
        """The run that is at work or waits first."""
        return next((run for run in self.runs if run.state in {"running", "waiting"}), None)

    def latest(self, about: str) -> Run | None:
        """Return the last run about a folio."""
        return next((run for run in reversed(self.runs) if run.about == about), None)

    def add(self, about: str, told: Job) -> Run:
        """Queue some work; the same work that still waits is not queued twice."""
        for run in self.runs:
            if run.state == "waiting" and (run.about, run.told) == (about, told):
                return run
        run = Run(about, told)
        self.runs = [*self.runs[-20:], run]
        if self._task is None or self._task.done():
            self._task = asyncio.create_task(self._work())
        return run

    async def stop(self, run: Run) -> None:
        """Stop a run; what it has finished stays."""
        was, run.state = run.state, "stopped"
        if was == "running":
            await self._end()

    async def close(self) -> None:
        """Stop everything."""
        for run in self.runs:
            if run.state in {"running", "waiting"}:
                run.state = "stopped"
        await self._end()
        if self._task is not None:
            self._task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._task

    async def _work(self) -> None:
        while (run := self.current) is not None:
            run.state = "running"
            await self._follow(run)
            self._after(run)

    async def _follow(self, run: Run) -> None:
        child = await self._started()
        assert child.stdin is not None
        assert child.stdout is not None
        child.stdin.write(run.told.line().encode())
        with contextlib.suppress(ConnectionError):
            await child.stdin.drain()
        while run.state == "running":
            line = await child.stdout.readline()
            if not line:
                self._child = None
                if run.state == "running":
                    run.state, run.problem = "failed", "The work ended before it was done."
                    run.remedy = "Start it again; it goes on from where it was."
                return
            told = WorkTold.of(line)
            if told.last:
                self._child = None
            _take(run, told)

    async def _started(self) -> asyncio.subprocess.Process:
        if self._child is None or self._child.returncode is not None:
            self._child = await asyncio.create_subprocess_exec(
                sys.executable, "-m", "studio.desk.worker", start_new_session=True, limit=1 << 20,
                stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.DEVNULL,
            )  # fmt: skip
        return self._child

    async def _end(self) -> None:
        child, self._child = self._child, None
        if child is None or child.returncode is not None:
            return
        _signal(child.pid, signal.SIGINT)
        try:
            await asyncio.wait_for(child.wait(), STOP_S)
        except TimeoutError:
            _signal(child.pid, signal.SIGKILL)
            await child.wait()


def _signal(group: int, number: int) -> None:
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(group, number)


def _take(run: Run, told: WorkTold) -> None:
    if told.kind == "progress":
        run.progress(told.what, told.done, told.total)
    elif told.kind == "done":
        run.state, run.ended = "done", told
    elif run.state == "running":
        run.state, run.problem, run.remedy, run.ended = "failed", told.problem, told.remedy, told
