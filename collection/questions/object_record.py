"""Everything the register keeps of one object, as rows a person reads: terms by their labels, headings in words."""

from collections.abc import Mapping

import polars as pl

from collection.frames import returns
from collection.questions.triage import Triage
from schemas.fields import ForeignKey, FromVocabulary, Unit
from schemas.tables import RECORDS, Column, TableSpec
from schemas.vocabularies import vocabulary

IDENTITY = pl.Schema({"what": pl.String(), "value": pl.String()})
NOT_SEEN = pl.Schema({n: pl.String() for n in ("part", "side", "why")})
OBJECT, BETWEEN = "object", ", "
KEY_OF_OBJECT = RECORDS[OBJECT].key[0]


def records_of_objects() -> tuple[str, ...]:
    """Records whose rows belong to an object, directly or through what they point to, in the order declared."""
    return tuple(n for n, s in RECORDS.items() if n != OBJECT and _way(s) is not None)


def title_of_record(record: str) -> str:
    """What a record is called on a page: its name in words."""
    return record.replace("_", " ").capitalize()


@returns(IDENTITY)
def identity(triage: Triage, object_id: str) -> pl.DataFrame:
    """What the catalogue says of the object, one line a column that is filled; schema IDENTITY."""
    rows = rows_of(triage, OBJECT, object_id)
    filled = [
        (heading, f"{value:g}" if isinstance(value, float) else str(value))
        for heading, value in (rows.row(0, named=True) if rows.height else {}).items()
    ]
    return pl.DataFrame(filled, schema=IDENTITY, orient="row")


def rows_of(triage: Triage, record: str, object_id: str) -> pl.DataFrame:
    """Rows of one record that belong to the object, under headings in words; empty columns are left out."""
    spec = RECORDS[record]
    rows = _mine(triage, spec, object_id)
    shown = [c for c in spec.columns if c.name != KEY_OF_OBJECT or record == OBJECT]
    filled = [c for c in shown if rows[c.name].null_count() < rows.height]
    return rows.select(_worded(c).alias(name) for c, name in zip(filled, _headings(filled), strict=True))


@returns(NOT_SEEN)
def not_seen(triage: Triage, object_id: str) -> pl.DataFrame:
    """Parts and sides that no look on record has seen, with the reason last given; schema NOT_SEEN."""
    looked = list(vocabulary("seen").terms_where("looked"))
    covered = _mine(triage, RECORDS["coverage"], object_id)
    checks = triage.collection["condition_check"].select("check_id", "checked_on_latest")
    dated = covered.join(checks, on="check_id", how="left").sort("checked_on_latest")
    each = dated.group_by("part", "side", maintain_order=True).agg(
        ever=pl.col("seen").is_in(looked).any(), why=pl.col("why").drop_nulls().last()
    )
    sides = vocabulary("side").labels()
    missed = each.filter(~pl.col("ever")).with_columns(
        side=pl.col("side").replace_strict(sides, default=pl.col("side"), return_dtype=pl.String)
    )
    parts = _mine(triage, RECORDS["part"], object_id).join(covered, on="part", how="anti").select("part")
    never = parts.with_columns(side=pl.lit("every side"), why=pl.lit("no look says that it saw this part"))
    both = pl.concat(
        [missed.select(NOT_SEEN.names()), never if covered.height else never.clear()], how="vertical_relaxed"
    )
    return both.select(pl.col(n).cast(t) for n, t in NOT_SEEN.items()).sort("part", "side")


def not_seen_sentence(triage: Triage, object_id: str) -> str:
    """What can be said of what no look has seen."""
    covered = _mine(triage, RECORDS["coverage"], object_id)
    if covered.is_empty():
        return "No look says what it saw and what it did not: nothing can be taken for examined."
    missed = not_seen(triage, object_id).height
    return f"{missed} parts or sides were never seen." if missed else "Every part and side on record was seen once."


def title(triage: Triage, object_id: str) -> str:
    """Title of an object; empty where it has none."""
    titles = triage.collection[OBJECT].filter(pl.col(KEY_OF_OBJECT) == object_id)["title"]
    return str(titles[0] or "") if titles.len() else ""


def kinds(triage: Triage, object_id: str) -> Mapping[str, tuple[str, ...]]:
    """Terms that cautions depend on: agents of danger to people, kinds of damage not closed."""
    dangers = _mine(triage, RECORDS["danger_to_people"], object_id)["agent"]
    damage = _mine(triage, RECORDS["damage"], object_id).filter(pl.col("closed_on").is_null())["kind"]
    return {
        "danger_agent": tuple(dangers.unique(maintain_order=True)),
        "damage": tuple(damage.unique(maintain_order=True)),
    }


def _mine(triage: Triage, spec: TableSpec, object_id: str) -> pl.DataFrame:
    """Rows that belong to the object, in the order of their key."""
    rows, way = triage.collection[spec.name], _way(spec)
    if spec.name == OBJECT or way is None or way.name == KEY_OF_OBJECT:
        return rows.filter(pl.col(KEY_OF_OBJECT) == object_id).sort(spec.key)
    points = way.mark(ForeignKey)
    target = RECORDS[points.record if points else OBJECT]
    theirs = _mine(triage, target, object_id)
    return rows.join(theirs, left_on=way.name, right_on=target.key[0], how="semi").sort(spec.key)


def _way(spec: TableSpec) -> Column | None:
    """The column that leads to an object: its number, or a key of a record that has one."""
    named = {c.name: c for c in spec.columns}
    if KEY_OF_OBJECT in named:
        return named[KEY_OF_OBJECT]
    leading = (c for c in spec.marked(ForeignKey) if c.name in spec.key)
    return next((c for c in leading if _has_object(c)), None)


def _has_object(column: Column) -> bool:
    points = column.mark(ForeignKey)
    return bool(points and KEY_OF_OBJECT in (c.name for c in RECORDS[points.record].columns))


def _worded(column: Column) -> pl.Expr:
    """A column as read: terms by label, several joined, yes and no in words."""
    value, term = pl.col(column.name), column.mark(FromVocabulary)
    if column.several:
        labels = vocabulary(term.vocabulary).labels() if term else {}
        return value.list.eval(pl.element().replace(labels)).list.join(BETWEEN)
    if term:
        return value.replace(vocabulary(term.vocabulary).labels())
    if column.dtype == pl.Boolean():
        return pl.when(value).then(pl.lit("yes")).when(~value).then(pl.lit("no"))
    return value


def _headings(columns: list[Column]) -> list[str]:
    """The column's name in words, with its unit."""
    names = [c.name.removesuffix(_in_name(u)) if (u := c.mark(Unit)) else c.name for c in columns]
    plain = [name.replace("_", " ").capitalize() for name in names]
    return [f"{h} [{u.symbol}]" if (u := c.mark(Unit)) else h for h, c in zip(plain, columns, strict=True)]


def _in_name(unit: Unit) -> str:
    """A unit as names of columns carry it, `_mm2` for mm²."""
    return f"_{unit.symbol.lower().replace('²', '2').lstrip('°')}"
