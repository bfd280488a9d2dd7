"""The register's own records: files read, rows refused, settings, the journal. No spreadsheet brings these in."""

from typing import Annotated, Literal

from pydantic import Field

from schemas.fields import LONGEST_CELL, Day, Digest, Key, Moment, Name, Number, Record, Text, Year
from schemas.records.place import LOCATION_IS_PRIVATE

SettingName = Literal[
    "treat_from",
    "unsure_from_times",
    "value_basis",
    "currency",
    "hours_a_week",
    "hour_price",
    "today",
    "time_zone",
    "museum",
    "invented",
    "facts_in_reports",
]

LoggerFault = Literal["gap", "stuck", "jump", "out_of_range", "clock"]


class IntakeFile(Record):
    """A file that was read."""

    record = "intake_file"
    key = ("sha256",)
    sha256: Annotated[Digest, Field(description="SHA-256 of the file")]
    name: Annotated[Name, Field(description="Name of the file")]
    read_on: Annotated[Day, Field(description="Day it was read")]
    mapping: Annotated[str | None, Field(max_length=10_000_000, description="Mapping it was read with, as JSON")] = None


class Delivery(Record):
    """One intake: who brought in what, when, and what came of it; the last one can be undone."""

    record = "delivery"
    key = ("delivery_id",)
    delivery_id: Annotated[Key, Field(description="Number of the delivery")]
    made_at: Annotated[Moment, Field(description="Time, UTC")]
    made_by: Annotated[Name, Field(description="Who")]
    files: Annotated[Text, Field(description="Names of the files, as a JSON list")]
    counts: Annotated[Text, Field(description="Rows by record and outcome, as JSON")]
    first_seq: Annotated[int, Field(ge=1, description="First change of it in the journal")]
    last_seq: Annotated[int, Field(ge=1, description="Last change of it in the journal")]
    undone_on: Annotated[Day | None, Field(description="Day it was undone")] = None
    undone_by: Annotated[Name | None, Field(description="Who undid it")] = None
    not_read: Annotated[
        str | None, Field(max_length=10_000_000, description="Cells and headings that were not read, as JSON")
    ] = None


class RefusedRow(Record):
    """A row that was not taken, as typed, with the reasons."""

    record = "refused_row"
    key = ("sha256", "sheet", "source_row")
    sha256: Annotated[Digest, Field(description="File it stands in")]
    sheet: Annotated[Key, Field(description="Sheet it stands in")]
    source_row: Annotated[int, Field(ge=1, le=2**40, description="Row, as a spreadsheet numbers it")]
    cells: Annotated[str, Field(max_length=10_000_000, description="Cells as typed, as JSON")]
    outcome: Annotated[Literal["refused", "outside"], Field(description="Refused, or outside this collection")]
    problems: Annotated[str, Field(max_length=10_000_000, description="Reasons, as JSON")]
    settled_by: Annotated[Name | None, Field(description="Who dealt with it, how and when")] = None


class Setting(Record):
    """The museum's limits, value basis, currency, hours a week, time zone, the demonstration's day."""

    record = "setting"
    key = ("name",)
    name: Annotated[SettingName, Field(description="What is set")]
    value: Annotated[Text, Field(description="To what")]
    set_by: Annotated[Name | None, Field(description="Who set it")] = None
    set_on: Annotated[Day | None, Field(description="When")] = None


class LoggerGap(Record):
    """A stretch in which a logger's readings are missing or not to be trusted; found by the register, never typed."""

    record = "logger_gap"
    key = ("logger_id", "starts_at", "kind")
    logger_id: Annotated[Key, LOCATION_IS_PRIVATE, Field(description="Logger")]
    starts_at: Annotated[Moment, Field(description="From when on, UTC")]
    kind: Annotated[LoggerFault, Field(description="Gap, stuck, jump, out of range, change of the clock")]
    ends_at: Annotated[Moment, Field(description="Until when, UTC")]
    noticed_on: Annotated[Day | None, Field(description="Day the register noticed it")] = None


class Statement(Record):
    """One measure of a year as it was stated and frozen, with the version of its definition."""

    record = "statement"
    key = ("year", "measure")
    year: Annotated[Year, Field(description="Year it is of")]
    measure: Annotated[Key, Field(description="Measure")]
    value: Annotated[Number | None, Field(description="Figure, in the unit of the measure")] = None
    low: Annotated[Number | None, Field(description="Lower limit")] = None
    high: Annotated[Number | None, Field(description="Upper limit")] = None
    rests_on: Annotated[int | None, Field(ge=0, description="Number it rests on")] = None
    method: Annotated[Text | None, Field(description="How it was worked out")] = None
    refused: Annotated[Text | None, Field(description="Why no figure was given")] = None
    definitions_version: Annotated[Name, Field(description="Version of the definition")]
    definition: Annotated[Text, Field(description="What it is")]
    frozen_on: Annotated[Day, Field(description="Day it was frozen")]
    frozen_by: Annotated[Name | None, Field(description="Who froze it")] = None


class Journal(Record):
    """Who changed what, when, from what to what."""

    record = "journal"
    key = ("seq",)
    seq: Annotated[int, Field(ge=1, description="Number of the change")]
    changed_at: Annotated[Moment, Field(description="Time, UTC")]
    changed_by: Annotated[Name, Field(description="Who")]
    record_name: Annotated[Key, Field(description="Record")]
    row_key: Annotated[str, Field(max_length=10_000, description="Key of the row, as JSON")]
    action: Annotated[Key, Field(description="Added, changed, read in")]
    before: Annotated[str | None, Field(max_length=LONGEST_CELL * 100, description="Changed columns before, JSON")] = (
        None
    )
    after: Annotated[str | None, Field(max_length=LONGEST_CELL * 100, description="Changed columns after, JSON")] = None
