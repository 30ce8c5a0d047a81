"""What the desk knows between two requests: the shelf, the folios in memory, the work that is done or waits."""

from dataclasses import dataclass, field
from pathlib import Path

from starlette.requests import Request

from studio import edits, swap
from studio.desk.held import Held, Holder
from studio.desk.jobs import Job
from studio.desk.runs import Bench, Run
from studio.desk.shelf import Shelf

_MAKING = frozenset({"make", "sample", "again"})


@dataclass
class Desk:
    """Everything that the desk knows between two requests."""

    shelf: Shelf
    token: str
    holder: Holder = field(default_factory=Holder)
    long: Bench = field(init=False)
    """Listens to recordings."""
    short: Bench = field(init=False)
    """Makes folios again after a decision, and copies that a browser plays."""

    def __post_init__(self) -> None:
        self.long = Bench(self._after)
        self.short = Bench(self._after)

    def held(self, request: Request) -> Held:
        """Return the folio that a request is about."""
        return self.holder.get(self.shelf.path("folio", request.path_params["id"]))

    def again(self, folder: Path) -> None:
        """Have a folio made again with what was decided; one that is at work is looked at again when it is done."""
        about = self.shelf.id_of(folder)
        if not self.at_work(about):
            self.short.add(about, Job("again", folder=str(folder)))

    def at_work(self, about: str) -> bool:
        """Return whether the recording of a folio is being listened to."""
        run = self.long.latest(about)
        return run is not None and run.state in {"running", "waiting"}

    def look(self, held: Held) -> str:
        """Bring the files of a folio up to what was decided; return why that cannot be done, if it was tried."""
        run = self.short.latest(self.shelf.id_of(held.folder))
        if held.fresh:
            return ""
        if run is not None and run.state == "failed" and not (run.ended and run.ended.busy):
            return run.problem
        if run is None or run.state not in {"running", "waiting"}:
            self.again(held.folder)
        return ""

    def _after(self, run: Run) -> None:
        if run.state != "done" or run.told.do not in _MAKING:
            return
        folder = Path(run.told.folder)
        if edits.load(folder / "edits.jsonl").version != swap.reached(folder):
            self.again(folder)


def desk_of(request: Request) -> Desk:
    """Return the desk that a request came to."""
    desk: Desk = request.app.state.desk
    return desk
