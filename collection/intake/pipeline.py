"""The way in on one screen: open files, agree on mappings, judge the rows, write what was accepted."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime

import polars as pl

from collection.intake import languages
from collection.intake.about_sheets import not_judged
from collection.intake.delivery import Delivery, change_of, refused_rows
from collection.intake.derived import lines_from_words, with_places_named
from collection.intake.files.sheet import SOURCE_ROW, Sheet
from collection.intake.further_facts import without_facts_of_others
from collection.intake.languages import Languages
from collection.intake.mapping.load import load as load_mapping
from collection.intake.opening import NoNumberHeaded, Opened, Source, numbers_of, open_files
from collection.intake.outcomes import Unread, as_read, counts, outcomes_after_writing, problems_of_conflicts, unread
from collection.intake.read_sources import places_of, read_sources
from collection.intake.rows import BETWEEN, SHEET_STEP, WITH_WORDS, Known, identity
from collection.snapshot import Collection
from collection.store import Change, Store, Written, originals
from collection.validation.problems import ROW
from collection.validation.validate import NEW, REFUSED, ValidationResult, validate_incoming
from schemas.errors import SourceRefused, StoreEmpty
from schemas.tables import RECORDS

PACKAGE = "datapackage.json"
FILES, PLACES, SETTINGS = (RECORDS[n].name for n in ("intake_file", "location", "setting"))
__all__ = [
    "PACKAGE",
    "Intake",
    "NoNumberHeaded",
    "Opened",
    "Source",
    "examine",
    "held_or_empty",
    "intake",
    "load_mapping",
    "open_files",
    "remembered_in",
]


@dataclass(frozen=True)
class Examined:
    """A delivery judged and not yet written: the change it would make, and all that is said about it."""

    opened: Opened
    delivery: Delivery
    change: Change
    outcomes: pl.DataFrame
    answer: "Intake"


@dataclass(frozen=True)
class Intake:
    """What came of it. `files`: schema `COUNTS`; `changes`: schema `CHANGED_CELLS` of validation; `refused`: rows
    set aside; `readings`: one line a row where they were wanted."""

    files: pl.DataFrame
    problems: pl.DataFrame
    readings: pl.DataFrame
    refused: pl.DataFrame
    changes: pl.DataFrame
    unread: Unread
    refused_files: tuple[SourceRefused, ...] = ()
    left_out: tuple[str, ...] = ()  # sheets none of whose headings could be taken for the key of a record
    mappings_remembered: tuple[str, ...] = ()  # a sentence for each sheet that was read as one like it before
    headings_lacking: tuple[str, ...] = ()  # a sentence for each sheet that lacks headings its mapping names
    not_copied: tuple[str, ...] = ()  # a sentence for each file too large to lie beside the store
    not_judged: tuple[str, ...] = ()  # a sentence for each sheet of objects that says nothing of their material
    written: Written = field(default_factory=Written)

    @property
    def code(self) -> int:
        """Exit code: 3 where a file gave no row, or where somebody else changed a row meanwhile."""
        lines = self.files.filter(pl.col("rows") > 0)
        none = lines.filter(pl.col("rows") == pl.col(REFUSED) + pl.col(BETWEEN))
        wrong = self.refused_files or not none.is_empty() or self.written.conflicts.height
        return SourceRefused.code if wrong else 0


def held_or_empty(store: Store) -> Collection:
    """What the register holds; nothing where there is no store yet."""
    try:
        return store.read()
    except StoreEmpty:
        return Collection.of({})


def remembered_in(store: Store) -> Collection:
    """What the register remembers of files that were read, and its places: enough to open others."""
    try:
        return Collection.of(store.read_records(FILES, PLACES, SETTINGS))
    except StoreEmpty:
        return Collection.of({})


def held_for(store: Store, opened: Opened) -> Collection:
    """What the register holds about the rows of opened files: enough to judge them, and no more than that."""
    if any(source.long for source in opened.sources):
        return held_or_empty(store)
    try:
        return store.read_related(numbers_of(opened))
    except StoreEmpty:
        return Collection.of({})


def intake(
    store: Store,
    opened: Opened,
    held: Collection,
    *,
    by: str,
    today: date | None = None,
    dry_run: bool = False,
    with_readings: bool = False,
) -> Intake:
    """Judge the rows of opened files and write what was accepted."""
    examined = examine(opened, held, by=by, today=today, with_readings=with_readings)
    return examined.answer if dry_run else write(store, examined, by=by)


def examine(
    opened: Opened,
    held: Collection,
    *,
    by: str,
    today: date | None = None,
    with_readings: bool = False,
    progress: Callable[[str], None] = lambda words: None,
) -> Examined:
    """Read and judge the rows of opened files; nothing is written. Raises WrongUsage where a question is still open.

    `progress` is called with what comes next, in words; what it raises ends the work.
    """
    opened.require_answers()
    now = datetime.now(UTC).replace(tzinfo=None)
    day = today or now.date()
    delivery, known = Delivery(), Known(_languages_for(opened), held, day, places_of(held), with_readings)
    read_sources(opened.sources, delivery, known, progress)
    progress("Judging the rows against each other and the register")
    result = _judged(delivery, known)
    outcomes, parts = pl.concat([result.outcomes, *_between(delivery)]), _parts_with(opened, delivery, result.refused)
    refused = refused_rows(delivery, parts, result.outcomes, result.problems)
    change = change_of(delivery, result, refused, held, by=by, now=datetime.combine(day, now.time()))
    readings = as_read(delivery, outcomes) if with_readings else pl.DataFrame()
    answer = _answer(opened, delivery, result, outcomes, readings=readings, refused=refused)
    return Examined(opened, delivery, answer.unread.remembered_by(change), outcomes, answer)


def _answer(
    opened: Opened,
    delivery: Delivery,
    result: ValidationResult,
    outcomes: pl.DataFrame,
    *,
    readings: pl.DataFrame,
    refused: pl.DataFrame,
) -> Intake:
    problems = delivery.placed(pl.concat([result.problems, *delivery.about])).drop(ROW)
    return Intake(
        counts(delivery, outcomes),
        problems,
        readings,
        refused,
        result.changes,
        unread(delivery, problems),
        tuple(opened.refused_files),
        tuple(f"{sheet.file}, {sheet.name}" for sheet in opened.left_out),
        tuple(filter(None, (s.as_before for s in opened.sources))),
        tuple(filter(None, (s.lacking for s in opened.sources))),
        not_judged=tuple(_not_judged(delivery, outcomes)),
    )


def _judged(delivery: Delivery, known: Known) -> ValidationResult:
    """The rows of a delivery judged, with what follows from their words and ticks and the places they name."""
    ticks, held = delivery.all_ticks(), known.collection
    follows = lines_from_words(known.languages, held, ticks, delivery.rows_in_doubt())
    rows = delivery.take_incoming()
    judged = validate_incoming(rows, held, today=known.today, follows=follows, again=ticks[ROW])
    return without_facts_of_others(with_places_named(judged))


def _languages_for(opened: Opened) -> Languages:
    """Every language where a sheet has words to read; none where it has not."""
    read = any(source.mapping.filled() & WITH_WORDS for source in opened.sources)
    return languages.load() if read else Languages(each=())


def _not_judged(delivery: Delivery, outcomes: pl.DataFrame) -> Iterator[str]:
    new = outcomes.filter(outcome=NEW)
    for number, (sheet, mapping) in enumerate(delivery.sheets):
        if sentence := not_judged(sheet, mapping, new.filter(delivery.rows_of_sheet(number)).height):
            yield sentence


def _between(delivery: Delivery) -> Iterator[pl.DataFrame]:
    """Lines that are no rows, as outcomes."""
    for lines in delivery.between:
        yield lines.select(record=pl.lit(""), row=pl.col(ROW), key=pl.lit(None, pl.String), outcome=pl.lit(BETWEEN))


def _parts_with(opened: Opened, delivery: Delivery, refused: pl.DataFrame) -> Iterator[tuple[int, Sheet]]:
    """The rows that were set aside, as typed: those refused by themselves, and the sheets that hold others."""
    yield from delivery.aside
    known = [part.cells.select(identity(number)) for number, part in delivery.aside]
    others = refused.join(pl.concat(known), on=ROW, how="anti") if known else refused
    for number, source in enumerate(opened.sources):
        mine = others.filter(delivery.rows_of_sheet(number)).select(pl.col(ROW) % SHEET_STEP)[ROW]
        for part in source.parts_again() if mine.len() else ():
            yield number, replace(part, cells=part.cells.filter(pl.col(SOURCE_ROW).is_in(mine.implode())))


def write(store: Store, examined: Examined, *, by: str) -> Intake:
    """Write what was accepted, in one transaction; the files are beside the store before the rows that name them.

    A row that somebody else changed meanwhile is counted as refused; both values stand in `written.conflicts`.
    """
    change = examined.change
    if not (change.rows or change.readings):
        return examined.answer
    copied = {
        source.path: originals.keep(store.path, source.path, source.first.sha256) for source in examined.opened.sources
    }
    written = store.write(change, by=by)
    outcomes = outcomes_after_writing(examined.delivery, examined.outcomes, written)
    answer = replace(
        examined.answer,
        files=counts(examined.delivery, outcomes),
        not_copied=tuple(filter(None, copied.values())),
        written=written,
    )
    return answer if written.conflicts.is_empty() else _set_aside(store, examined, answer, outcomes, by)


def _set_aside(store: Store, examined: Examined, answer: Intake, outcomes: pl.DataFrame, by: str) -> Intake:
    """Rows that somebody else was first with are refused rows like any other, held with both values."""
    delivery = examined.delivery
    problems = problems_of_conflicts(outcomes, answer.written.conflicts)
    lost = outcomes.join(problems.select(ROW).unique(), on=ROW, how="semi")
    refused = refused_rows(delivery, _parts_with(examined.opened, delivery, lost), lost, problems)
    store.write(Change({"refused_row": refused}, from_file=True), by=by)
    return replace(
        answer,
        problems=pl.concat([answer.problems, delivery.placed(problems).drop(ROW)]),
        refused=pl.concat([answer.refused, refused]),
    )
