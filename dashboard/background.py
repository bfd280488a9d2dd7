"""Work of more than a blink, in a thread: how far it is, a way to stop it, and what has come of it so far."""

import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, nullcontext
from typing import Any

from collection.plan.stopping import stoppable
from schemas.errors import RegisterError

ONE_AT_A_TIME = threading.Lock()  # the search uses a whole core: the plan of a second person waits for the first


class Stopped(Exception):
    """Raised within the work of a task that somebody asked to stop."""


class Task:
    """Steps of work, each a name and its result, taken in a thread that begins at once.

    words : how far it is. results : of the steps that are done. error : what is wrong with what was asked, in words.
    """

    def __init__(self, steps: "Callable[[Task], Iterator[tuple[str, Any]]]", *, alone: bool = True) -> None:
        """Begin. `steps` may set the words of the task it is given. `alone`: wait for other such work to end."""
        self.words = ""
        self.results: Mapping[str, Any] = {}
        self.error: RegisterError | None = None
        self.failed = False
        self._began = time.monotonic()
        self._stop, self._done = threading.Event(), threading.Event()
        self._turn: AbstractContextManager[object] = ONE_AT_A_TIME if alone else nullcontext()
        threading.Thread(target=self._run, args=(steps,), daemon=True).start()

    @property
    def done(self) -> bool:
        """Whether it has come to its end, stopped or not."""
        return self._done.is_set()

    @property
    def stopping(self) -> bool:
        """Whether somebody asked it to stop."""
        return self._stop.is_set()

    @property
    def seconds(self) -> float:
        """Since it began [s]."""
        return time.monotonic() - self._began

    def stop(self) -> None:
        """Ask it to stop; what is best so far stays."""
        self._stop.set()

    def comes_to(self, words: str) -> None:
        """Say what comes next. Raises Stopped where somebody asked it to stop."""
        if self.stopping:
            raise Stopped
        self.words = words

    def wait(self, seconds: float) -> bool:
        """Wait for its end, so long at most; whether it has come."""
        return self._done.wait(seconds)

    def _run(self, steps: "Callable[[Task], Iterator[tuple[str, Any]]]") -> None:
        try:
            with self._turn, stoppable(self._stop):
                for name, result in steps(self):
                    self.results = {**self.results, name: result}
                    if self._stop.is_set():
                        break
        except Stopped:
            pass
        except RegisterError as error:
            self.error = error
        except BaseException:
            self.failed = True
            raise
        finally:
            self._done.set()
