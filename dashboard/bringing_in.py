"""A file that came through the browser: put where intake reads it, looked into, judged, brought in."""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from collection.files import reason
from collection.intake import pipeline
from collection.intake.choosing import FileChoice, look_into, open_chosen
from collection.intake.files.reader import shown_name
from collection.intake.mapping.mapping import LoggerAnswers
from collection.intake.pipeline import Examined, Intake
from collection.store import Store
from dashboard.background import Task
from schemas.errors import RegisterError, SourceRefused

MOST_MEGABYTES = 200  # of a file in the browser, which the server holds in memory; the command reads larger ones
MEGABYTE = 2**20
FOREKNOWN, DONE = "foreknown", "done"  # steps: what would happen; what came of it
WRITING = "Writing: this cannot be stopped any more, and can be undone afterwards"
Steps = Callable[[Task], Iterator[tuple[str, Any]]]


@dataclass
class Draft:
    """What a person has chosen so far, for as long as the session lasts.

    number : of the file in this session. data : the file itself; it lies on the disk only while it is read.
    shown : the work on what would happen, with what it was asked for.
    """

    number: int
    name: str
    data: bytes = field(default=b"", repr=False)
    choice: FileChoice | None = None
    error: RegisterError | None = None
    who: str = ""
    shown: Task | None = None
    shown_for: str = ""
    bringing: Task | None = None

    @property
    def foreknown(self) -> Intake | None:
        """What would happen, for what is chosen now."""
        fresh = self.choice is not None and self.shown_for == self.choice.asked
        return self.shown.results.get(FOREKNOWN) if fresh and self.shown else None

    @property
    def done(self) -> Intake | None:
        """What came of it, once it is brought in."""
        return self.bringing.results.get(DONE) if self.bringing else None


def received(number: int, name: str, data: bytes, store: Store) -> Draft:
    """The draft of a file that has come; what is wrong with it stands in `error`."""
    last = Path(name).name
    safe = shown_name(Path("file" if last in ("", ".", "..") else last))
    if len(data) > MOST_MEGABYTES * MEGABYTE:
        what = f"the file has {len(data) / MEGABYTE:,.0f} MB"
        to_do = "Divide it, or bring it in with `enamels intake FILE`."
        return Draft(number, safe, error=SourceRefused(safe, what, f"at most {MOST_MEGABYTES} MB", to_do))
    draft = Draft(number, safe, data)
    look_again(draft, store)
    return draft


def look_again(draft: Draft, store: Store, answers: LoggerAnswers | None = None) -> None:
    """What the file is taken for, with these answers of a logger's file."""
    try:
        with _on_disk(draft) as path:
            draft.choice, draft.error = look_into(path, pipeline.remembered_in(store), answers), None
    except RegisterError as error:
        draft.error = error


@contextmanager
def _on_disk(draft: Draft) -> Iterator[Path]:
    """The file where intake can read it, in a private folder. Raises SourceRefused where there is no room for it."""
    with tempfile.TemporaryDirectory(prefix="enamels-") as folder:
        path = Path(folder) / draft.name
        try:
            path.write_bytes(draft.data)
        except OSError as error:
            what, to_do = reason(error)
            raise SourceRefused(draft.name, f"it could not be put aside to be read: {what}", "", to_do) from None
        yield path


def show_steps(draft: Draft, choice: FileChoice, store: Store) -> Steps:
    """What would happen; nothing is written."""

    def steps(task: Task) -> Iterator[tuple[str, Any]]:
        with _on_disk(draft) as path:
            yield FOREKNOWN, _examined(task, replace(choice, path=path), store, by="").answer

    return steps


def bring_steps(draft: Draft, choice: FileChoice, store: Store, shown: Intake) -> Steps:
    """Judge the file once more and write it; where the register has changed meanwhile, what would happen now."""
    by = draft.who.strip()

    def steps(task: Task) -> Iterator[tuple[str, Any]]:
        with _on_disk(draft) as path:
            examined = _examined(task, replace(choice, path=path), store, by=by)
            if not _alike(examined.answer, shown):
                yield FOREKNOWN, examined.answer
                return
            task.comes_to(WRITING)
            yield DONE, pipeline.write(store, examined, by=by)

    return steps


def _examined(task: Task, choice: FileChoice, store: Store, *, by: str) -> Examined:
    task.comes_to(f"Opening {choice.path.name}")
    opened = open_chosen(choice, pipeline.remembered_in(store))
    task.comes_to("Reading what the register holds about these objects")
    return pipeline.examine(opened, pipeline.held_for(store, opened), by=by, progress=task.comes_to)


def _alike(now: Intake, shown: Intake) -> bool:
    """The same rows would come and the same cells would change."""
    return now.files.equals(shown.files) and now.changes.equals(shown.changes)
