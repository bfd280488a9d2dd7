"""Files opened and each of their sheets given a mapping: the one saved, the one remembered, or one suggested."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain
from pathlib import Path

import polars as pl

from collection.intake.files import delimited
from collection.intake.files.reader import is_workbook, read_sheets, shown_name
from collection.intake.files.second_tables import SECOND, checked_parts, tables_of
from collection.intake.files.sheet import Sheet
from collection.intake.files.workbook import RawSheet, read_grids
from collection.intake.loggers.files import exports_of
from collection.intake.loggers.questions import Places, Question
from collection.intake.mapping.load import ANY_SHEET, remembered
from collection.intake.mapping.mapping import OBJECT, ColumnMap, LoggerAnswers
from collection.intake.mapping.suggest import catalogue_or_checks, draft, lacks_a_number, suggest
from collection.intake.written_by_hand import upright
from collection.snapshot import Collection
from schemas.errors import SourceRefused, WrongUsage
from schemas.fields import ForeignKey
from schemas.tables import RECORDS, parents_first

CLIMATE = RECORDS["climate_reading"].name


@dataclass
class NoNumberHeaded(SourceRefused):
    """A file none of whose headings is known for a number: its sheets, each with the mapping to fill in."""

    drafts: Sequence[tuple[Sheet, ColumnMap]] = ()


@dataclass(frozen=True)
class Source:
    """One sheet of one file and its mapping; `others` are readings of the sheet that fit as well.

    The parts of a long text table are read one after another, once: `rest` gives those behind the first.
    """

    path: Path
    first: Sheet
    mapping: ColumnMap
    rest: Iterator[Sheet] = field(default_factory=lambda: iter(()), compare=False)
    others: tuple[ColumnMap, ...] = ()
    long: bool = False
    questions: tuple[Question, ...] = ()  # that a person has to answer before the sheet can be read

    @property
    def as_before(self) -> str:
        """A sentence where it is read with a mapping, or with answers, of an earlier day."""
        day, logger = self.mapping.remembered, self.mapping.logger
        if day and logger is not None:
            return f"{self.first.file}: clock and units of {', '.join(logger.of)} as answered on {day}."
        return f"{self.first.file}: read with the mapping of {day} for the same headings." if day else ""

    @property
    def lacking(self) -> str:
        """A sentence where the mapping names headings that the sheet does not have."""
        named = [h for h, t in self.mapping.columns.items() if t] + list(self.mapping.ticks)
        absent = ", ".join(f"'{h}'" for h in named if h not in self.first.headings)
        return f"{self.first.file}: headings of the mapping that it does not have: {absent}." if absent else ""

    def parts(self) -> Iterator[Sheet]:
        """The sheet in one or several parts. What lies behind the first part can be asked for once."""
        parts = chain([self.first], self.rest)
        yield from checked_parts(parts) if self.long else parts

    def parts_again(self) -> Iterator[Sheet]:
        """The parts once more: a long table is read again from its file."""
        if self.long:
            yield from read_sheets(self.path, self.mapping.encoding)
        else:
            yield self.first


@dataclass(frozen=True)
class Opened:
    """Sheets with their mappings, in the order in which they are read, and the files that gave none."""

    sources: Sequence[Source]
    left_out: Sequence[Sheet] = ()
    refused_files: Sequence[SourceRefused] = ()

    @property
    def doubtful(self) -> Sequence[Source]:
        """Sheets that two records fit: a person says which one is meant."""
        return [s for s in self.sources if s.others]

    @property
    def questions(self) -> Sequence[tuple[str, Question]]:
        """What has to be answered first, each once, with the file that asks it."""
        return list({q.key: (s.first.file, q) for s in reversed(self.sources) for q in s.questions}.values())[::-1]

    def require_answers(self) -> None:
        """Raise WrongUsage for the first question that is still open."""
        for file, question in self.questions:
            entry = ".".join(("logger", *question.key))
            raise WrongUsage(file, str(question), "an answer in the mapping", f"Fill in {entry}.")

    def read_as(self, record: str) -> "Opened":
        """The doubtful sheets taken for this record."""
        decided = []
        for source in self.sources:
            chosen = next((m for m in (source.mapping, *source.others) if m.record == record), source.mapping)
            decided.append(replace(source, mapping=chosen, others=()) if source.others else source)
        return replace(self, sources=in_order(decided))


def open_files(
    paths: Sequence[Path],
    collection: Collection,
    record: str | None = None,
    saved: Mapping[str, ColumnMap] | None = None,
) -> Opened:
    """Look into files and find a mapping for each sheet.

    Raises SourceRefused where no file at all can be read, WrongUsage where a saved mapping fits none of them.
    """
    sources: list[Source] = []
    left_out: list[Sheet] = []
    refused: list[SourceRefused] = []
    for path in dict.fromkeys(paths):
        try:
            mapped, spare = _sources(path, collection, record, saved or {})
        except SourceRefused as error:
            refused.append(error)
        else:
            sources += mapped
            left_out += spare
    if not sources:
        raise refused[0]
    return Opened(in_order(sources), left_out, refused)


def in_order(sources: Sequence[Source]) -> list[Source]:
    """What others point to comes first."""
    order = parents_first()
    return sorted(sources, key=lambda s: order.index(s.mapping.record))


def _sources(
    path: Path, collection: Collection, record: str | None, saved: Mapping[str, ColumnMap]
) -> tuple[list[Source], list[Sheet]]:
    """Sheets that a mapping was found for, and those left out. Raises SourceRefused where none was."""
    encoding = next((m.encoding for m in saved.values() if m.encoding), "")
    opened = list(read_grids(path)) if is_workbook(path) else None
    if exported := list(_exported(path, opened, collection, record, saved)):
        return exported, []
    saved = {name: one for name, one in saved.items() if one.logger is None}
    sheets = read_sheets(path, encoding, opened)
    whole = [upright(sheet) for sheet in (sheets if is_workbook(path) else [next(sheets)])]
    long = not is_workbook(path) and whole[0].cells.height + whole[0].blank >= delimited.BATCH_ROWS
    first = whole if long else [table for sheet in whole for table in tables_of(sheet)]
    mapped: list[Source] = []
    for sheet in first:
        readings = _readings(sheet, collection, record, saved)
        if readings:
            rest = iter(()) if mapped else sheets
            mapped.append(Source(path, sheet, readings[0], rest, readings[1:], long))
    if not mapped:
        raise _no_key(path, record, first)
    named = {s.first.name for s in mapped}
    return mapped, [sheet for sheet in first if sheet.name not in named]


def _exported(
    path: Path,
    opened: Sequence[RawSheet] | None,
    collection: Collection,
    record: str | None,
    saved: Mapping[str, ColumnMap],
) -> Iterator[Source]:
    """The loggers of a file; nothing where no logger wrote it, or a saved mapping names its columns."""
    given = [m.logger for m in saved.values() if m.logger is not None]
    if record not in (None, CLIMATE) or (saved and not given):
        return
    answers = LoggerAnswers.joined(given) if given else None
    places = Places(collection["location"].select("location_id", "name", "logger_id"), _answered(collection))
    zone = collection["setting"].filter(pl.col("name") == "time_zone")["value"]
    for one in exports_of(path, opened, places, answers, next(iter(zone), "")):
        yield Source(path, one.sheet, one.mapping, questions=one.questions)


def _answered(collection: Collection) -> dict[str, LoggerAnswers]:
    """What was last answered of each logger's files."""
    latest: dict[str, LoggerAnswers] = {}
    files = collection["intake_file"].filter(pl.col("mapping").str.contains('"logger": {', literal=True))
    for day, written in files.select("read_on", "mapping").sort("read_on", maintain_order=True).rows():
        for one in json.loads(written).values():
            given = one.get("logger")
            if given:
                latest |= {n: LoggerAnswers(**{**given, "of": (), "names": {}, "day": str(day)}) for n in given["of"]}
    return latest


def _readings(
    sheet: Sheet, collection: Collection, record: str | None, saved: Mapping[str, ColumnMap]
) -> tuple[ColumnMap, ...]:
    """The mappings a sheet may have: one, two where a person has to say which, or none."""
    mine = saved.get(sheet.name) or saved.get(ANY_SHEET)
    if mine and _fits(mine, sheet, named=sheet.name in saved):
        return (mine,)
    if saved and len(saved) == 1 and ANY_SHEET in saved and sheet.name == "table":
        what = f"none of its headings stands in {sheet.file}"
        raise WrongUsage("--mapping", what, ", ".join(sheet.headings[:12]), "Name the mapping of this file.")
    again = remembered(sheet, collection) if record is None else None
    if again:
        return (again,)
    best = suggest(sheet, record)
    if best is None or record is not None:
        return (best,) if best else ()
    return catalogue_or_checks(sheet, best)


def _fits(mapping: ColumnMap, sheet: Sheet, *, named: bool) -> bool:
    """A mapping for any sheet fits a second table only where it knows most of its headings."""
    shared = set(mapping.columns) & set(sheet.headings)
    second = not named and SECOND in sheet.name
    return len(shared) * 2 > len(sheet.headings) if second else bool(shared)


def _no_key(path: Path, record: str | None, sheets: Sequence[Sheet]) -> NoNumberHeaded:
    catalogues = [record is None and lacks_a_number(sheet) for sheet in sheets]
    of_what = "a " + record if record else "any record"
    if any(catalogues):
        of_what = "an object, and the other headings are those of a catalogue"
    what = f"no heading could be taken for the number of {of_what}"
    expected = "a row of headings, one of them for example object_id or Accession number"
    to_do = "Add headings, name the record with --as, or write a mapping."
    drafts = [(s, draft(s, OBJECT if its else record)) for s, its in zip(sheets, catalogues, strict=True)]
    return NoNumberHeaded(shown_name(path), what, expected, to_do, drafts)


def numbers_of(opened: Opened) -> dict[str, pl.DataFrame]:
    """By record, the cells of the rows that hold numbers: their own, and those of what they point to."""
    numbers: dict[str, list[pl.DataFrame]] = {}
    for source in opened.sources:
        spec = RECORDS[source.mapping.record]
        wanted = {*spec.key, *(c.name for c in spec.marked(ForeignKey))}
        headings = {t: h for h, t in source.mapping.columns.items() if t in wanted and h in source.first.headings}
        same = {c: v for c, v in source.mapping.same.items() if c in wanted}
        cells = source.first.cells.select(
            *(pl.col(h).alias(t) for t, h in headings.items()), *(pl.lit(v).alias(c) for c, v in same.items())
        )
        numbers.setdefault(spec.name, []).append(cells)
    return {name: pl.concat(frames, how="diagonal") for name, frames in numbers.items()}
