"""The demonstration, made once for all tests by the command that makes it, with what its intakes answered kept apart."""

import contextlib
import io
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from collection.commands import cli, demo
from collection.intake import pipeline as way_in
from collection.store import Store

TODAY = date(2026, 9, 30)
KEPT = ("files", "problems", "refused")


@dataclass(frozen=True)
class Made:
    """The folder the command made, and what it printed."""

    folder: Path

    @property
    def store(self) -> Store:
        return Store(self.folder / demo.STORE)

    @property
    def answer(self) -> dict[str, Any]:
        return json.loads(self.folder.with_suffix(".json").read_text("utf-8"))

    def kept(self, name: str) -> pl.DataFrame:
        """What the intakes answered: counts of outcomes a file, problems, or rows set aside with the name of their file."""
        return pl.read_parquet(self.folder.with_suffix(f".{name}.parquet"))


def make(folder: Path) -> Made:
    """Run the command in the folder above, and keep what its intakes answered."""
    done: list[way_in.Intake] = []
    names: dict[str, str] = {}
    with contextlib.chdir(folder.parent), _remembering(done, names), contextlib.redirect_stdout(io.StringIO()) as said:
        assert cli.run(["demo", "--no-open", "--json", "--folder", folder.name]) == 0
    folder.with_suffix(".json").write_text(said.getvalue(), "utf-8")
    for name in KEPT:
        frame = pl.concat([getattr(one, name) for one in done])
        if name == "refused":
            frame = frame.with_columns(file=pl.col("sha256").replace_strict(names, return_dtype=pl.String))
        frame.write_parquet(folder.with_suffix(f".{name}.parquet"))
    return Made(folder)


@contextlib.contextmanager
def _remembering(done: list[way_in.Intake], names: dict[str, str]) -> Iterator[None]:
    """While it lasts, every intake is of the same day, and its answer and the names of its files are remembered."""
    real = way_in.intake

    def intake(store: Store, opened: way_in.Opened, *more: Any, **named: Any) -> way_in.Intake:
        names.update({s.first.sha256: s.path.name for s in opened.sources})
        done.append(real(store, opened, *more, today=TODAY, **named))
        return done[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(way_in, "intake", intake)
        yield
