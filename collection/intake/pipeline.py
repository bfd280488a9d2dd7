"""The way in on one screen: open files, agree on mappings, judge the rows, write what was taken."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import polars as pl

from collection.intake import languages
from collection.intake.delivery import Delivery, change_of, remembered
from collection.intake.files.reader import is_workbook, read_sheets
from collection.intake.files.sheet import Sheet
from collection.intake.mapping.mapping import ColumnMap
from collection.intake.mapping.mapping import load as load_mapping
from collection.intake.mapping.suggest import suggest
from collection.snapshot import Collection
from collection.store import Change, Store, Written
from collection.validation.problems import NOT_ENAMEL, REFUSED
from collection.validation.validate import ACCEPTED, UNCHANGED, judge
from schemas.errors import SourceRefused, StoreEmpty
from schemas.tables import RECORDS, parents_first

COUNTS = pl.Schema(
    {"file": pl.String()} | {n: pl.Int64() for n in ("rows", "blank", ACCEPTED, UNCHANGED, NOT_ENAMEL, REFUSED)}
)
PACKAGE = "datapackage.json"
READINGS_RECORD = RECORDS["climate_reading"].name
__all__ = ["COUNTS", "PACKAGE", "Intake", "Opened", "Source", "intake", "kept_or_empty", "load_mapping", "open_files"]


@dataclass(frozen=True)
class Source:
    """One sheet of one file and its mapping. A long text table is read again, part by part, when it is judged."""

    path: Path
    first: Sheet
    mapping: ColumnMap

    def parts(self) -> Iterator[Sheet]:
        """The sheet, whole or in parts."""
        return iter([self.first]) if is_workbook(self.path) else read_sheets(self.path)


@dataclass(frozen=True)
class Opened:
    """Sheets with their mappings, in the order in which they are judged, and the files that gave none."""

    sources: Sequence[Source]
    left_out: Sequence[Sheet] = ()
    refused_files: Sequence[SourceRefused] = ()


@dataclass(frozen=True)
class Intake:
    """What came of it. `files`: schema `COUNTS`; `code` is 3 where a file gave no row."""

    files: pl.DataFrame
    problems: pl.DataFrame
    readings: pl.DataFrame
    refused: pl.DataFrame
    refused_files: Sequence[SourceRefused]
    left_out: Sequence[str] = ()  # sheets none of whose headings could be taken for the key of a record
    written: Written = field(default_factory=Written)

    @property
    def code(self) -> int:
        """Exit code."""
        given = self.files.filter(pl.sum_horizontal(ACCEPTED, UNCHANGED, NOT_ENAMEL) == 0)
        return SourceRefused.code if self.refused_files or not given.is_empty() else 0


def kept_or_empty(store: Store) -> Collection:
    """What the register holds; nothing where there is no store yet."""
    try:
        return store.read()
    except StoreEmpty:
        return Collection.of({})


def open_files(
    paths: Sequence[Path], kept: Collection, record: str | None = None, saved: Mapping[str, ColumnMap] | None = None
) -> Opened:
    """Look into files and find a mapping for each sheet: the one saved, the one remembered, or one suggested.

    Raises SourceRefused where no file at all can be read.
    """
    sources: list[Source] = []
    left_out: list[Sheet] = []
    refused: list[SourceRefused] = []
    for path in paths:
        try:
            found, spare = _sources(path, kept, record, saved or {})
        except SourceRefused as error:
            refused.append(error)
        else:
            sources += found
            left_out += spare
    if not sources:
        raise refused[0]
    order = parents_first()
    return Opened(sorted(sources, key=lambda s: order.index(s.mapping.record)), left_out, refused)


def intake(
    store: Store,
    opened: Opened,
    kept: Collection,
    *,
    by: str,
    today: date | None = None,
    dry_run: bool = False,
    with_readings: bool = False,
) -> Intake:
    """Judge the rows of opened files and write what was taken, in one transaction."""
    brought = Delivery()
    pairs = ((brought.note(part, s.mapping), s.mapping) for s in opened.sources for part in s.parts())
    checked = judge(pairs, kept, languages.load(), with_readings=with_readings)
    change = change_of(checked, brought, kept, by=by, today=today or date.today())
    written = Written() if dry_run else _write(store, change, brought, by)
    files = _counts(brought, checked.outcomes)
    left_out = [f"{sheet.file}, {sheet.name}" for sheet in opened.left_out]
    return Intake(files, checked.problems, checked.readings, checked.refused, opened.refused_files, left_out, written)


def _write(store: Store, change: Change, brought: Delivery, by: str) -> Written:
    """Readings have a way in of their own; everything else is one change."""
    rows = dict(change.rows)
    readings = rows.pop(READINGS_RECORD, None)
    written = store.write(replace(change, rows=rows), by=by) if rows else Written()
    if readings is None:
        return written
    sha256, name = next(iter(brought.names.items()))
    more = store.write_readings(readings.iter_slices(), name, sha256, by=by)
    return replace(written, added={**written.added, **more.added}, unchanged={**written.unchanged, **more.unchanged})


def _sources(
    path: Path, kept: Collection, record: str | None, saved: Mapping[str, ColumnMap]
) -> tuple[list[Source], list[Sheet]]:
    """Sheets that a mapping was found for, and those left out. Raises SourceRefused where none was."""
    sheets = list(read_sheets(path)) if is_workbook(path) else [next(read_sheets(path))]
    mapped = [(sheet, _map(sheet, kept, record, saved)) for sheet in sheets]
    found = [Source(path, sheet, made) for sheet, made in mapped if made is not None]
    if not found:
        raise _no_key(path, record)
    return found, [sheet for sheet, made in mapped if made is None]


def _map(sheet: Sheet, kept: Collection, record: str | None, saved: Mapping[str, ColumnMap]) -> ColumnMap | None:
    for name in (sheet.name, ""):
        if name in saved and set(saved[name].columns) & set(sheet.headings):
            return saved[name]
    return (remembered(sheet, kept) if record is None else None) or suggest(sheet, record)


def _no_key(path: Path, record: str | None) -> SourceRefused:
    what = f"no heading could be taken for the number of {'a ' + record if record else 'any record'}"
    expected = "a row of headings, one of them for example object_id or Accession number"
    return SourceRefused(path.name, what, expected, "Add headings, name the record with --as, or write a mapping.")


def _counts(brought: Delivery, outcomes: pl.DataFrame) -> pl.DataFrame:
    each = [(pl.col("outcome") == o).sum().cast(pl.Int64).alias(o) for o in (ACCEPTED, UNCHANGED, NOT_ENAMEL, REFUSED)]
    counted = outcomes.group_by("file", maintain_order=True).agg(pl.len().cast(pl.Int64).alias("rows"), *each)
    blank = pl.DataFrame(list(brought.blank.items()), schema={"file": pl.String, "blank": pl.Int64}, orient="row")
    return counted.join(blank, on="file", how="left").select(COUNTS.names())
