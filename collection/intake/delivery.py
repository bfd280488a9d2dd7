"""One delivery: the sheets that were read, what came of each row, and the one change it makes to the store."""

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime

import polars as pl

from collection.frames import returns
from collection.intake.catalogue import READ
from collection.intake.doubts import UNREAD_LANGUAGE
from collection.intake.files.refused_workbook import OF_FILE, RETURNED, returned
from collection.intake.files.sheet import SOURCE_ROW, Sheet
from collection.intake.mapping.mapping import IGNORED, ColumnMap
from collection.intake.rows import BETWEEN, SHEET_STEP, SheetRows
from collection.intake.ticks import TICKS
from collection.snapshot import Collection
from collection.store.change import Change, DeliveryNote, FileReadings
from collection.validation.problems import FROM, OUTSIDE_LEVEL, PROBLEMS, REFUSE, ROW, rows_at
from collection.validation.validate import CHANGED, NEW, OUTSIDE, REFUSED, UNCHANGED, Incoming, ValidationResult
from schemas.tables import RECORDS

CLIMATE, FACT = (RECORDS[name].name for name in ("climate_reading", "further_fact"))
REFUSED_KEY = ["sha256", "sheet", SOURCE_ROW]
OUTCOMES = (NEW, CHANGED, UNCHANGED, OUTSIDE, REFUSED, BETWEEN)
COUNTS = pl.Schema({"file": pl.String()} | {n: pl.Int64() for n in ("rows", "blank", *OUTCOMES)})
REFUSED_ROWS = pl.Schema(
    {"sha256": pl.String(), "sheet": pl.String(), SOURCE_ROW: pl.Int64()}
    | {n: pl.String() for n in ("cells", "outcome", "problems")}
)
# Problems and readings as people read them: with the file, the sheet and the line.
PLACE = {"file": pl.String(), "sheet": pl.String(), SOURCE_ROW: pl.Int64()}
PROBLEMS_OF_FILES = pl.Schema({n: t for n, t in PROBLEMS.items() if n != ROW} | PLACE)
READINGS = pl.Schema(
    {SOURCE_ROW: pl.Int64(), "object_id": pl.String(), "outcome": pl.String()}
    | {n: t for n, t in READ.items() if n not in (ROW, "object_id")}
    | {"record": pl.String(), "key": pl.String(), "file": pl.String(), "sheet": pl.String()}
)


@dataclass
class Delivery:
    """The sheets of one intake by their number, the rows read of them, and the workbooks of refused rows among them."""

    sheets: list[tuple[Sheet, ColumnMap]] = field(default_factory=list)  # without their cells
    incoming: dict[str, list[Incoming]] = field(default_factory=dict)
    readings: list[pl.DataFrame] = field(default_factory=list)
    between: list[pl.DataFrame] = field(default_factory=list)
    blank: dict[str, int] = field(default_factory=dict)
    returned: list[pl.DataFrame] = field(default_factory=list)
    ticks: list[pl.DataFrame] = field(default_factory=list)
    doubted: list[pl.Series] = field(default_factory=list)  # rows whose remark may deny the damage it names
    words_known: list[pl.DataFrame] = field(default_factory=list)  # schema `WORDS_KNOWN`
    about: list[pl.DataFrame] = field(default_factory=list)  # said of whole sheets, schema `PROBLEMS`
    aside: list[tuple[int, Sheet]] = field(default_factory=list)  # rows that are refused by themselves, as typed

    def open(self, sheet: Sheet, mapping: ColumnMap) -> int:
        """Note a sheet; returns its number."""
        emptied = Sheet(sheet.file, sheet.sha256, sheet.name, sheet.cells.clear(), at_change=sheet.at_change)
        self.sheets.append((emptied, mapping))
        return len(self.sheets) - 1

    def take(self, sheet: Sheet, number: int, rows: SheetRows) -> None:
        """Add what was read of a sheet, or of one part of it."""
        record = self.sheets[number][1].record
        self.incoming.setdefault(record, []).append(rows.incoming)
        for name, derived in (("location", rows.places), (FACT, rows.facts)):
            if derived.height:
                self.incoming.setdefault(name, []).append(Incoming(derived, derived=True))
        self.readings.append(rows.readings)
        self.ticks.append(rows.ticks)
        self.doubted.append(rows.incoming.problems.filter(rule=UNREAD_LANGUAGE)[ROW])
        self.between.append(rows.between.select(ROW))
        self.blank[sheet.file] = self.blank.get(sheet.file, 0) + sheet.blank
        if OF_FILE in sheet.headings:
            self.returned.append(returned(sheet))
        alone = rows_at(rows.incoming.problems, RECORDS[record], REFUSE, OUTSIDE_LEVEL) % SHEET_STEP
        if alone.len():
            cells = sheet.cells.filter(pl.col(SOURCE_ROW).is_in(alone.implode()))
            self.aside.append((number, replace(sheet, cells=cells)))

    def note(self, words: pl.DataFrame, about: pl.DataFrame) -> None:
        """Add what was measured and said of a whole sheet."""
        self.words_known.append(words)
        self.about.append(about)

    def rows_in_doubt(self) -> pl.Series:
        """Identities of the rows from whose remarks no damage is to be read."""
        return pl.concat([pl.Series(ROW, [], pl.Int64), *self.doubted])

    def take_incoming(self) -> dict[str, list[Incoming]]:
        """The rows that were read, which the delivery then holds no longer."""
        incoming, self.incoming = self.incoming, {}
        return incoming

    def all_ticks(self) -> pl.DataFrame:
        """Damage that is ticked in any row; schema `TICKS`."""
        return pl.concat([pl.DataFrame(schema=TICKS), *self.ticks])

    def placed(self, frame: pl.DataFrame, row: pl.Expr | None = None) -> pl.DataFrame:
        """The frame with file, sheet and line in place of the identity of its rows (or of the rows `row` names)."""
        identity = pl.col(ROW) if row is None else row
        sheet = self._named(identity, [sheet.name for sheet, _ in self.sheets])
        return frame.with_columns((identity % SHEET_STEP).alias(SOURCE_ROW), file=self.file_of(identity), sheet=sheet)

    def file_of(self, identity: pl.Expr) -> pl.Expr:
        """The file a row was read from, by its identity."""
        return self._named(identity, [sheet.file for sheet, _ in self.sheets])

    @staticmethod
    def _named(identity: pl.Expr, names: list[str]) -> pl.Expr:
        at = identity // SHEET_STEP
        if len(names) == 1:  # looking a million rows up one by one takes 80 MB
            return pl.when(at == 0).then(pl.lit(names[0]))
        return at.replace_strict(list(range(len(names))), names, default=None, return_dtype=pl.String)

    def rows_of_sheet(self, number: int) -> pl.Expr:
        """True for the rows of the sheet of this number."""
        return pl.col(ROW).is_between(number * SHEET_STEP, (number + 1) * SHEET_STEP, closed="left")


@returns(REFUSED_ROWS)
def refused_rows(
    delivery: Delivery, parts: Iterable[tuple[int, Sheet]], outcomes: pl.DataFrame, problems: pl.DataFrame
) -> pl.DataFrame:
    """Rows that were not accepted, as typed, with their reasons as JSON; schema `REFUSED_ROWS`.

    `parts`: the sheets that hold such rows, with their numbers; they are read once more only where there are any.
    """
    aside = outcomes.filter(pl.col("outcome").is_in([REFUSED, OUTSIDE]))
    reasons = problems.filter(pl.col("level").is_in([REFUSE, OUTSIDE]))
    one = pl.struct("rule", "column", "value", "words", "expected", "to_do").struct.json_encode()
    listed = reasons.select(ROW, one=one).group_by(ROW, maintain_order=True)
    with_reasons = aside.join(
        listed.agg(problems=pl.format("[{}]", pl.col("one").str.join(","))), on=ROW, how="left", maintain_order="left"
    )
    pieces = [_as_typed(sheet, number, with_reasons, delivery) for number, sheet in parts]
    return pl.concat([pl.DataFrame(schema=REFUSED_ROWS), *pieces])


def _as_typed(sheet: Sheet, number: int, with_reasons: pl.DataFrame, delivery: Delivery) -> pl.DataFrame:
    mine = with_reasons.filter(delivery.rows_of_sheet(number)).with_columns(
        (pl.col(ROW) - number * SHEET_STEP).alias(SOURCE_ROW)
    )
    cells = sheet.cells.join(mine, on=SOURCE_ROW, how="semi")
    typed = cells.select(SOURCE_ROW, cells=pl.struct(sheet.headings).struct.json_encode())
    raw = sheet.faults.filter(pl.col("raw").is_not_null()).unique(SOURCE_ROW).select(SOURCE_ROW, "raw")
    return (
        typed.join(mine, on=SOURCE_ROW)
        .join(raw, on=SOURCE_ROW, how="left")
        .sort(SOURCE_ROW)
        .select(
            sha256=pl.lit(sheet.sha256),
            sheet=pl.lit(sheet.name),
            source_row=pl.col(SOURCE_ROW),
            cells=pl.coalesce("raw", "cells"),
            outcome="outcome",
            problems=pl.col("problems").fill_null("[]"),
        )
    )


def change_of(
    delivery: Delivery, result: ValidationResult, refused: pl.DataFrame, held: Collection, *, by: str, now: datetime
) -> Change:
    """Everything that is new. A file that brings nothing new leaves no trace, whatever its name or order of rows."""
    again = {sheet.sha256 for sheet, _ in delivery.sheets if OF_FILE in sheet.headings}
    fresh = refused.filter(~pl.col("sha256").is_in(list(again)))
    aside = fresh.join(held["refused_row"], on=["cells", "outcome"], how="anti", maintain_order="left")
    rows = {name: _with_source(delivery, frame) for name, frame in result.accepted.items() if name != CLIMATE}
    readings = _readings_by_file(delivery, result.accepted.get(CLIMATE))
    if rows or readings or not aside.is_empty():
        rows["intake_file"] = _files(delivery, held, now)
    settled = _settled(delivery, result, held).with_columns(settled_by=pl.lit(f"{by}, {now.date()}"))
    rows["refused_row"] = pl.concat([aside, settled], how="diagonal")
    note = DeliveryNote([s.file for s in _distinct_files(delivery)], _by_record(result))
    return Change({name: frame for name, frame in rows.items() if not frame.is_empty()}, True, readings, note)


def _distinct_files(delivery: Delivery) -> list[Sheet]:
    return list({sheet.sha256: sheet for sheet, _ in delivery.sheets}.values())


def _by_record(result: ValidationResult) -> dict[str, object]:
    """Rows by record and outcome."""
    counted: dict[str, dict[str, int]] = {}
    for record, outcome, rows in result.outcomes.group_by("record", "outcome", maintain_order=True).len().iter_rows():
        counted.setdefault(record, {})[outcome] = rows
    return dict(counted)


def _readings_by_file(delivery: Delivery, rows: pl.DataFrame | None) -> list[FileReadings]:
    """Climate readings have a way in of their own, file by file."""
    readings: list[FileReadings] = []
    if rows is None:
        return readings
    for file in _distinct_files(delivery):
        numbers = [n for n, (sheet, _) in enumerate(delivery.sheets) if sheet.sha256 == file.sha256]
        mine = rows.filter(pl.any_horizontal(delivery.rows_of_sheet(n) for n in numbers))
        if not mine.is_empty():
            marked = [
                sheet.at_change
                for sheet, _ in delivery.sheets
                if sheet.sha256 == file.sha256 and sheet.at_change is not None
            ]
            at_change = pl.concat(marked) if marked else None
            readings.append(FileReadings([_with_source(delivery, mine)], file.file, file.sha256, at_change))
    return readings


def _with_source(delivery: Delivery, rows: pl.DataFrame) -> pl.DataFrame:
    """Accepted rows with file and line; a row that follows from another one has the file of that one and no line."""
    origin = pl.coalesce(FROM, ROW)
    line = pl.when(pl.col(ROW) >= 0).then(origin % SHEET_STEP).alias(SOURCE_ROW)
    return rows.with_columns(line, source_file=delivery.file_of(origin)).drop(ROW, FROM)


def _files(delivery: Delivery, held: Collection, now: datetime) -> pl.DataFrame:
    """Files that are new to the register, each with the mappings of its sheets and the time it was read."""
    mappings: dict[str, dict[str, object]] = {}
    names: dict[str, str] = {}
    for sheet, mapping in delivery.sheets:
        whole = mapping.with_columns({h: mapping.columns.get(h, IGNORED) for h in sheet.headings})
        with_reasons = {n: v for n, v in asdict(whole).items() if n not in ("passed_over", "remembered")}
        mappings.setdefault(sheet.sha256, {})[sheet.name] = with_reasons | {"read_at": now.isoformat()}
        names[sheet.sha256] = sheet.file
    listed = [(sha, name, now.date(), json.dumps(mappings[sha], ensure_ascii=False)) for sha, name in names.items()]
    schema = {"sha256": pl.String, "name": pl.String, "read_on": pl.Date, "mapping": pl.String}
    return pl.DataFrame(listed, schema=schema, orient="row").join(held.frames["intake_file"], on="sha256", how="anti")


def _settled(delivery: Delivery, result: ValidationResult, held: Collection) -> pl.DataFrame:
    """Refused rows that came back corrected and were accepted; key and version of the held row."""
    came = pl.concat([pl.DataFrame(schema=RETURNED), *delivery.returned])
    if came.is_empty():
        return held["refused_row"].clear().select(*REFUSED_KEY, "row_version")
    accepted = delivery.placed(result.outcomes.filter(pl.col("outcome").is_in([NEW, CHANGED, UNCHANGED])))
    mine = came.join(
        accepted, left_on=["file", "in_sheet", "in_row"], right_on=["file", "sheet", SOURCE_ROW], how="semi"
    )
    return mine.select(REFUSED_KEY).join(held["refused_row"].select(*REFUSED_KEY, "row_version"), on=REFUSED_KEY)
