"""A file before it is brought in: what each sheet and each heading is taken for, and what a person chose instead."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

from collection.intake.files.sheet import Sheet
from collection.intake.loggers.questions import Question
from collection.intake.mapping.cell_evidence import SAMPLE_ROWS
from collection.intake.mapping.faults import faults_of
from collection.intake.mapping.load import ANY_SHEET
from collection.intake.mapping.mapping import BROUGHT_IN, OBJECT, ColumnMap, LoggerAnswers
from collection.intake.mapping.suggest import CHECK, draft, suggest
from collection.intake.mapping.targets import column_words, record_words, with_target
from collection.intake.opening import CLIMATE, NoNumberHeaded, Opened, Source, open_files
from collection.intake.sheet_questions import ORDER, SheetQuestion, questions_of
from collection.snapshot import Collection
from schemas.tables import RECORDS

UNDECIDED = ""  # the record of a sheet that nobody has said of what it holds; it is left out
IN_QUOTES = re.compile(r"'(\w+)'")


@dataclass(frozen=True)
class SheetChoice:
    """One sheet (its first rows) and its mapping; `others`: readings that fit as well, of which a person chooses;
    `why`: what speaks for this one, as a sentence."""

    sheet: Sheet
    mapping: ColumnMap
    why: str
    others: tuple[ColumnMap, ...] = ()

    @property
    def record(self) -> str:
        """What the sheet is taken for."""
        return self.mapping.record

    @property
    def of_logger(self) -> bool:
        """A logger wrote it: its headings are known, and only its questions are asked."""
        return self.mapping.logger is not None

    @cached_property
    def questions(self) -> Sequence[SheetQuestion]:
        """What the sheet leaves open with this mapping."""
        return [] if self.record == UNDECIDED or self.of_logger else questions_of(self.sheet, self.mapping)

    @property
    def open(self) -> Sequence[SheetQuestion]:
        """Questions without an answer that rows cannot be read without: in which order days are written."""
        return [q for q in self.questions if q.part == ORDER and not q.answer(self.mapping)]

    @cached_property
    def faults(self) -> Sequence[str]:
        """What has to be mended before the sheet can be read, in words."""
        return [] if self.record == UNDECIDED else list(dict.fromkeys(_faults(self.mapping)))

    def as_record(self, record: str) -> "SheetChoice":
        """The sheet taken for another record; its headings as suggested for that."""
        fitting = next((m for m in (self.mapping, *self.others) if m.record == record), None)
        if record == UNDECIDED:
            mapping = draft(self.sheet)
        else:
            mapping = fitting or suggest(self.sheet, record) or draft(self.sheet, record)
        return replace(self, mapping=mapping, why="As you chose.", others=())

    def with_target(self, heading: str, target: str) -> "SheetChoice":
        """The sheet with one heading taken for this."""
        return replace(self, mapping=with_target(self.mapping, self.sheet, heading, target))

    def with_answer(self, question: SheetQuestion, value: str) -> "SheetChoice":
        """The sheet with one question answered; an empty answer leaves it open."""
        return replace(self, mapping=question.answered(self.mapping, value))


@dataclass(frozen=True)
class FileChoice:
    """A file and what was chosen for it. `questions`: that a logger's file leaves open; `answers`: to them."""

    path: Path
    sheets: Sequence[SheetChoice]
    questions: Sequence[Question] = ()
    answers: LoggerAnswers = field(default_factory=LoggerAnswers)

    @property
    def ready(self) -> bool:
        """Nothing has to be said first."""
        chosen = [s for s in self.sheets if s.record != UNDECIDED]
        undecided = any(s.others for s in self.sheets)
        return bool(chosen) and not (undecided or self.questions or any(s.faults or s.open for s in chosen))

    @property
    def asked(self) -> str:
        """What was chosen, as a text that is the same for the same choices."""
        return repr([(s.sheet.name, s.mapping) for s in self.sheets] + [self.answers])

    def with_sheet(self, number: int, chosen: SheetChoice) -> "FileChoice":
        """The file with another choice for one of its sheets."""
        return replace(self, sheets=[chosen if n == number else s for n, s in enumerate(self.sheets)])


def look_into(path: Path, held: Collection, answers: LoggerAnswers | None = None) -> FileChoice:
    """What the file and each of its sheets are taken for; `held`: see `pipeline.remembered_in`.

    Raises SourceRefused where the file cannot be read.
    """
    saved = {} if answers is None else {ANY_SHEET: ColumnMap(CLIMATE, {}, logger=answers)}
    try:
        opened = open_files([path], held, saved=saved)
    except NoNumberHeaded as refused:
        why = "None of its headings is known for the number of anything: say what it holds."
        return FileChoice(path, [SheetChoice(_first_rows(s), m, why) for s, m in refused.drafts])
    sheets = [SheetChoice(_first_rows(s.first), s.mapping, _why(s), s.others) for s in opened.sources]
    spare = "None of its headings is known for the number of anything, so it is left out."
    sheets += [SheetChoice(_first_rows(sheet), draft(sheet), spare) for sheet in opened.left_out]
    return FileChoice(path, sheets, [q for _, q in opened.questions], answers or LoggerAnswers())


def open_chosen(choice: FileChoice, held: Collection) -> Opened:
    """The file opened with what was chosen. Raises SourceRefused, WrongUsage."""
    if any(s.of_logger for s in choice.sheets):
        return open_files([choice.path], held, saved={ANY_SHEET: ColumnMap(CLIMATE, {}, logger=choice.answers)})
    maps = {s.sheet.name: s.mapping for s in choice.sheets if s.record != UNDECIDED}
    opened = open_files([choice.path], held, saved=maps)
    spare = [s.first for s in opened.sources if s.first.name not in maps]
    sources = [s for s in opened.sources if s.first.name in maps]
    return replace(opened, sources=sources, left_out=[*opened.left_out, *spare])


def records_in_words() -> Mapping[str, str]:
    """What a sheet may be taken for, the two usual ones first."""
    order = [OBJECT, CHECK, *(name for name in BROUGHT_IN if name not in (OBJECT, CHECK))]
    return {UNDECIDED: "Nothing: leave it out", **{name: record_words(name) for name in order}}


def _first_rows(sheet: Sheet) -> Sheet:
    return replace(sheet, cells=sheet.cells.head(SAMPLE_ROWS))


def _why(source: Source) -> str:
    """What speaks for the record a sheet is taken for."""
    if source.as_before:
        return f"{source.as_before} Change what should be otherwise."
    if source.others:
        return "A column of full days stands beside a person, a grade, a finding or an action: which of the two is it?"
    mapping = source.mapping
    if mapping.logger is not None:
        return "Its columns are those of a logger: times beside temperature or humidity."
    used = [h for h, target in mapping.columns.items() if target]
    key = next((h for h in used if mapping.columns[h] in ("object_id", *RECORDS[mapping.record].key)), used[0])
    of = f"{len(used)} of its {len(mapping.columns)} headings {'is' if len(used) == 1 else 'are'} known for it"
    return f"\u2018{key}\u2019 heads the number, and {of}."


def _faults(mapping: ColumnMap) -> Iterator[str]:
    """Faults of the mapping with the words of its columns in place of their names."""
    for fault in faults_of(mapping):
        what = IN_QUOTES.sub(lambda m: f"\u2018{column_words(mapping.record, m[1])}\u2019", fault.what)
        expected = f" Expected: {fault.expected}." if fault.expected else ""
        yield f"{what[:1].upper()}{what[1:]}.{expected}"
