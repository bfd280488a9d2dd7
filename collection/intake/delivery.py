"""From judged rows to one change for the store: the rows, the file they came in, the rows set aside."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date

import polars as pl

from collection.intake.files.refused_workbook import OF_FILE, OURS, RETURNED, TAKE, returned
from collection.intake.files.sheet import ROW, Sheet
from collection.intake.mapping.mapping import TAKE_ANYWAY, UNSAID, ColumnMap
from collection.snapshot import Collection
from collection.store.change import Change
from collection.validation.validate import ACCEPTED, UNCHANGED, ValidationResult

REFUSED_KEY = ["sha256", "sheet", ROW]


@dataclass
class Delivery:
    """What is worth remembering of the sheets that passed by."""

    names: dict[str, str] = field(default_factory=dict)  # sha256 to name of file
    maps: dict[str, dict[str, object]] = field(default_factory=dict)  # sha256 to sheet to mapping
    blank: dict[str, int] = field(default_factory=dict)  # name of file to blank rows
    again: set[str] = field(default_factory=set)  # sha256 of workbooks of refused rows that came back
    returned: list[pl.DataFrame] = field(default_factory=list)

    def note(self, sheet: Sheet, made: ColumnMap) -> Sheet:
        """Remember a sheet, and pass it on."""
        self.names[sheet.sha256] = sheet.file
        self.maps.setdefault(sheet.sha256, {})[sheet.name] = asdict(made)
        self.blank[sheet.file] = self.blank.get(sheet.file, 0) + sheet.blank
        if OF_FILE in sheet.headings:
            self.again.add(sheet.sha256)
            self.returned.append(returned(sheet))
        return sheet


def change_of(checked: ValidationResult, brought: Delivery, kept: Collection, *, by: str, today: date) -> Change:
    """Everything that is new. A file that brings nothing new leaves no trace, whatever its name or order of rows."""
    fresh = checked.refused.filter(~pl.col("sha256").is_in(list(brought.again)))
    aside = fresh.join(kept["refused_row"], on=["cells", "outcome"], how="anti", maintain_order="left")
    rows = dict(checked.accepted)
    if rows or not aside.is_empty():
        rows["intake_file"] = _files(brought, kept, today)
    settled = _settled(brought, checked, kept).with_columns(settled_by=pl.lit(f"{by}, {today}"))
    rows["refused_row"] = pl.concat([aside, settled], how="diagonal")
    return Change({name: frame for name, frame in rows.items() if not frame.is_empty()}, from_file=True)


def remembered(sheet: Sheet, kept: Collection) -> ColumnMap | None:
    """The mapping with which a file of the same headings was last read, if any."""
    headings = set(sheet.headings) - {*OURS, TAKE}
    for written in reversed(kept["intake_file"].sort("read_on")["mapping"].drop_nulls().to_list()):
        for made in json.loads(written).values():
            if set(made["columns"]) - {*OURS, TAKE} == headings:
                return _restored(made, sheet)
    return None


def _restored(made: Mapping[str, object], sheet: Sheet) -> ColumnMap:
    columns = dict.fromkeys(sheet.headings, UNSAID) | dict(made["columns"])  # type: ignore[call-overload]
    if TAKE in columns and not columns[TAKE]:
        columns[TAKE] = TAKE_ANYWAY
    unknown = {name: tuple(words) for name, words in dict(made["unknown"]).items()}  # type: ignore[call-overload]
    return ColumnMap(str(made["record"]), columns, dict(made["units"]), unknown, tuple(made["decimal_comma"]))  # type: ignore[call-overload,arg-type]


def _files(brought: Delivery, kept: Collection, today: date) -> pl.DataFrame:
    listed = [
        (sha, name, today, json.dumps(brought.maps[sha], ensure_ascii=False)) for sha, name in brought.names.items()
    ]
    schema = {"sha256": pl.String, "name": pl.String, "read_on": pl.Date, "mapping": pl.String}
    return pl.DataFrame(listed, schema=schema, orient="row").join(kept.frames["intake_file"], on="sha256", how="anti")


def _settled(brought: Delivery, checked: ValidationResult, kept: Collection) -> pl.DataFrame:
    """Refused rows that came back corrected and were taken; key and version of the kept row."""
    came = pl.concat([pl.DataFrame(schema=RETURNED), *brought.returned])
    taken = checked.outcomes.filter(pl.col("outcome").is_in([ACCEPTED, UNCHANGED]))
    mine = came.join(taken, left_on=["file", "in_sheet", "in_row"], right_on=["file", "sheet", ROW], how="semi")
    return mine.select(REFUSED_KEY).join(kept["refused_row"].select(*REFUSED_KEY, "row_version"), on=REFUSED_KEY)
