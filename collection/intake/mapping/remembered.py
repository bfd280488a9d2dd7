"""The mapping with which a file of the same headings was read before, as the register holds it."""

import json
from collections.abc import Mapping
from typing import Any

from collection.intake.files.refused_workbook import OURS, TAKE
from collection.intake.files.sheet import Sheet
from collection.intake.mapping.faults import faults_of
from collection.intake.mapping.mapping import BROUGHT_IN, IGNORED, TAKE_ANYWAY, ColumnMap
from collection.intake.mapping.suggest import with_evidence
from collection.snapshot import Collection


def remembered(sheet: Sheet, collection: Collection) -> ColumnMap | None:
    """The mapping with which a file of the same headings was last read, if any."""
    headings = set(sheet.headings) - {*OURS, TAKE}
    files = collection["intake_file"].drop_nulls("mapping").select("read_on", "mapping").rows()
    sheets = [(day, one) for day, written in files for one in json.loads(written).values()]
    for day, raw in sorted(sheets, key=lambda pair: (pair[0], pair[1].get("read_at", "")), reverse=True):
        if set(raw["columns"]) - {*OURS, TAKE} == headings and raw["record"] in BROUGHT_IN:
            again = with_evidence(mapping_of(raw, sheet, str(day)), sheet)
            if next(faults_of(again), None) is None:  # an earlier version took units that this one asks about
                return again
    return None


def mapping_of(raw: Mapping[str, Any], sheet: Sheet, day: str = "") -> ColumnMap:
    """A mapping as the register holds it, for a sheet with its headings."""
    columns = dict.fromkeys(sheet.headings, IGNORED) | {h: t for h, t in raw["columns"].items() if h in sheet.headings}
    if TAKE in columns and not columns[TAKE]:
        columns[TAKE] = TAKE_ANYWAY
    orders: dict[str, str] = dict(raw.get("orders", {}))
    units: dict[str, str] = {}
    for column, written in raw["units"].items():  # version 0.1.0 kept the order of dates among the units
        (orders if "yyyy" in written else units)[column] = written
    unknown = {name: tuple(words) for name, words in raw["unknown"].items()}
    return ColumnMap(
        str(raw["record"]),
        columns,
        units,
        orders,
        unknown,
        tuple(raw["decimal_comma"]),
        str(raw.get("encoding", "")),
        remembered=day,
        words=raw.get("words", {}),  # absent from what 0.1.0 kept, as those below
        same=raw.get("same", {}),
        ticks=raw.get("ticks", {}),
        text=str(raw.get("text", "")),
    )
