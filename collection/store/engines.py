"""Engines that hold frames and run what is written for every engine: Polars, and DuckDB with bounded memory."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Literal, Protocol, cast

import duckdb
import polars as pl

from collection.risk.namespace import Lazy, LazyFrames, in_memory, namespace
from collection.snapshot import Collection

# What `hazards()` and `object_risk()` read.
READ = ("object", "part", "condition_check", "damage", "observation", "repair", "repair_state", "fragment")
WITHDRAWN = "withdrawn_on"


class Engine(Protocol):
    """Where lazy frames live until they are collected."""

    name: str

    def frames(self, source: Collection | Path) -> LazyFrames:
        """Live rows of the records in a collection, or in a folder of published Parquet files."""

    def to_lazy(self, frames: Mapping[str, pl.DataFrame]) -> LazyFrames:
        """Frames made here, as lazy frames of this engine."""

    def hold(self, frame: Lazy) -> Lazy:
        """A frame that is read several times, worked out once where that is quicker."""

    def collect(self, frame: Lazy) -> pl.DataFrame:
        """Run, and bring the result into memory."""


class PolarsEngine:
    """Polars in memory; `streaming` for Parquet larger than that."""

    name = "polars"

    def __init__(self, *, streaming: bool = False) -> None:
        self._how: Literal["in-memory", "streaming"] = "streaming" if streaming else "in-memory"

    def frames(self, source: Collection | Path) -> LazyFrames:
        """Live rows of the records in a collection, or in a folder of published Parquet files."""
        if isinstance(source, Path):
            return {name: _live(pl.scan_parquet(file)) for name, file in _files(source)}
        return self.to_lazy({name: source[name] for name in READ})

    def to_lazy(self, frames: Mapping[str, pl.DataFrame]) -> LazyFrames:
        """Frames made here, as lazy frames of this engine."""
        return {name: frame.lazy() for name, frame in frames.items()}

    def hold(self, frame: Lazy) -> Lazy:
        """The frame worked out in memory; a stream is not held."""
        return in_memory(frame) if self._how == "in-memory" else frame

    def collect(self, frame: Lazy) -> pl.DataFrame:
        """Run, and bring the result into memory."""
        return frame.collect(engine=self._how)


class DuckDBEngine:
    """DuckDB in a process of its own memory; results stay relations until they are collected."""

    name = "duckdb"

    def __init__(self, memory_limit: str = "1GB", threads: int = 2) -> None:
        # It reads published Parquet files, so external access stays on; no file is opened as a database here.
        extensions: dict[str, str | bool | int | float | list[str]] = {
            "autoinstall_known_extensions": False,
            "autoload_known_extensions": False,
        }
        config = {"memory_limit": memory_limit, "threads": threads, **extensions}
        self._connection = duckdb.connect(config=config)
        self._held = 0

    def frames(self, source: Collection | Path) -> LazyFrames:
        """Live rows of the records in a collection, or in a folder of published Parquet files."""
        if isinstance(source, Path):
            return {name: _live(self._scan(file)) for name, file in _files(source)}
        return self.to_lazy({name: source[name] for name in READ})

    def to_lazy(self, frames: Mapping[str, pl.DataFrame]) -> LazyFrames:
        """Frames made here, as lazy frames of this engine."""
        return {name: self._hold(name, frame) for name, frame in frames.items()}

    def hold(self, frame: Lazy) -> Lazy:
        """The relation as it is: the engine sees for itself what it reads twice."""
        return frame

    def collect(self, frame: Lazy) -> pl.DataFrame:
        """Run, and bring the result into memory."""
        relation: duckdb.DuckDBPyRelation = cast("Any", frame).to_native()
        return pl.DataFrame(relation)

    def _hold(self, name: str, frame: pl.DataFrame) -> Lazy:
        self._held += 1
        view = f"{name}_{self._held}"
        self._connection.register(view, frame.to_struct(view))
        return _asked_by_narwhals(self._connection.table(view))

    def _scan(self, file: Path) -> Lazy:
        return _asked_by_narwhals(self._connection.read_parquet(str(file)))


def _files(folder: Path) -> Iterator[tuple[str, Path]]:
    """The Parquet file of each record that is read."""
    yield from ((name, folder / f"{name}.parquet") for name in READ)


def _live(frame: Lazy) -> Lazy:
    """Rows that were not withdrawn; a package for others may lack the column."""
    return frame.filter(namespace(frame).col(WITHDRAWN).is_null()) if WITHDRAWN in frame.collect_schema() else frame


def _asked_by_narwhals(relation: duckdb.DuckDBPyRelation) -> Lazy:
    """A relation with the methods of a lazy frame, as far as both have them."""
    import narwhals

    return cast("Lazy", narwhals.from_native(relation))
