"""A way to end the search for a plan early from outside: what is best so far stays the answer."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from threading import Event

_STOP: ContextVar[Event | None] = ContextVar("stop", default=None)


@contextmanager
def stoppable(stop: Event) -> Iterator[None]:
    """While it lasts, plans worked out in this thread end soon after `stop` is set, as if their seconds were over."""
    token = _STOP.set(stop)
    try:
        yield
    finally:
        _STOP.reset(token)


def stop_event() -> Event | None:
    """What ends the search of this thread when it is set; None where nothing does."""
    return _STOP.get()


def asked_to_stop() -> bool:
    """Whether somebody asked that the search of this thread end."""
    stop = stop_event()
    return stop is not None and stop.is_set()
