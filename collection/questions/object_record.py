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
FURTHER_FACT = "further_fact"  # told with what the catalogue says
RECORD_IN_WORDS = {
    "loan_state": "Stages of loans", "loan_finding": "What stages of loans saw", "coverage": "What each check saw",
    "observation": "Damage, check by check", "repair_state": "Earlier repairs, check by check",
    "option": "Proposals", "option_effect": "What each proposal would change",
    "survey_unit": "Surveys it was drawn for",
}  # fmt: skip
IN_WORDS = {  # columns that are called otherwise than their names
    "object_id": "Number", "location_id": "Place", "option_id": "Proposal", "look": "How closely", "minutes": "Time",
    "dimensions_text": "Dimensions as written", "materials_text": "Materials as written",
    "people": "People to carry it", "lux_most": "Light, at most", "uv_most": "Ultraviolet, at most",
    "light_hours": "Light exposure, at most",
}  # fmt: skip


def records_of_objects() -> tuple[str, ...]:
    """Records whose rows belong to an object, directly or through what they point to, in the order declared."""
    return tuple(n for n, s in RECORDS.items() if n != OBJECT and _way(s) is not None)


def title_of_record(record: str) -> str:
    """What a record is called on a page: its name in words."""
    return RECORD_IN_WORDS.get(record) or record.replace("_", " ").capitalize()


GROUPS: Mapping[str, tuple[str, ...]] = {
    "Condition": ("condition_check", "coverage", "damage", "observation", "fragment", "danger_to_people", "part"),
    "Earlier repairs": ("repair", "repair_state"),
    "Treatment": ("action", "decision", "option", "option_effect", "treatment", "material_use"),
    "Papers": (),
}


def grouped_records() -> Mapping[str, tuple[str, ...]]:
    """What a page folds the records of an object into: a title, and the records under it; the rest are papers."""
    named = {FURTHER_FACT, *(record for records in GROUPS.values() for record in records)}
    rest = tuple(record for record in records_of_objects() if record not in named)
    return {title: records or rest for title, records in GROUPS.items()}


@returns(IDENTITY)
def in_words(triage: Triage, object_id: str) -> pl.DataFrame:
    """Number, title, when it was made, where it is, in words; then what else the catalogue says, and further facts;
    schema IDENTITY.
    """
    row = triage.collection[OBJECT].filter(pl.col(KEY_OF_OBJECT) == object_id).row(0, named=True)
    first = {
        "Number": object_id,
        "Title": row["title"],
        "Made": years_in_words(row),
        "Maker": row["maker"],
        "Place": place_words(triage, row["location_id"]),
    }
    opening = ("object_id", "title", "maker", "location_id", "period_text", "earliest_year", "latest_year")
    headings = _headings([column for column in RECORDS[OBJECT].columns if column.name in opening])
    rest = identity(triage, object_id).filter(~pl.col("what").is_in(headings))
    start = pl.DataFrame([pair for pair in first.items() if pair[1]], schema=IDENTITY, orient="row")
    facts = _mine(triage, RECORDS[FURTHER_FACT], object_id).sort("name")
    return pl.concat([start, rest, facts.select(pl.col("name").alias("what"), pl.col("text").alias("value"))])


def years_in_words(row: Mapping[str, object]) -> str:
    """*1880 to 1900 (c. 1890)*: the years, and the period as written."""
    years = [_year(row[name]) for name in ("earliest_year", "latest_year") if isinstance(row[name], int)]
    span = " to ".join(dict.fromkeys(years))
    written = str(row["period_text"] or "")
    return f"{span} ({written})" if span and written else span or written


def _year(year: object) -> str:
    return f"{-year} BCE" if isinstance(year, int) and year < 0 else str(year)


def place_words(triage: Triage, location_id: object) -> str:
    """*Lower Store, L2, cabinet 1, shelf 2*: the place and what it lies in, the widest first."""
    within = dict(triage.collection["location"].select("location_id", "within").iter_rows())
    names = dict(triage.collection["location"].select("location_id", "name").iter_rows())
    path: list[str] = []
    at = location_id
    while isinstance(at, str) and at in within and len(path) <= len(within):
        path.append(_within(names[at] or at, names.get(within[at])))
        at = within[at]
    return ", ".join(reversed(path)) or str(location_id or "")


def _within(name: str, wider: str | None) -> str:
    """A place's name without the name of what it lies in, where it begins with that: *room L2*, in *Lower Store*."""
    rest = name.removeprefix(wider) if wider else ""
    return rest.lstrip(" ,") if rest.startswith((" ", ",")) and rest.strip(" ,") else name


@returns(IDENTITY)
def identity(triage: Triage, object_id: str) -> pl.DataFrame:
    """What the catalogue says of the object, one line a column that is filled; schema IDENTITY."""
    return _first_row(rows_of(triage, OBJECT, object_id))


@returns(IDENTITY)
def requirement(triage: Triage, object_id: str) -> pl.DataFrame:
    """How the object is to be held, carried and shown, whatever the loan; schema IDENTITY, empty where nobody said."""
    return _first_row(rows_of(triage, "requirement", object_id))


def _first_row(rows: pl.DataFrame) -> pl.DataFrame:
    """The first row under its headings, one line a column; schema IDENTITY."""
    filled = [
        (heading, f"{value:,.10g}" if isinstance(value, float) else str(value))
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
    """Parts and sides that no check on record has seen, with the reason last given; schema NOT_SEEN."""
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
    never = parts.with_columns(side=pl.lit("every side"), why=pl.lit("no check says that it saw this part"))
    both = pl.concat(
        [missed.select(NOT_SEEN.names()), never if covered.height else never.clear()], how="vertical_relaxed"
    )
    return both.select(pl.col(n).cast(t) for n, t in NOT_SEEN.items()).sort("part", "side")


def not_seen_sentence(triage: Triage, object_id: str) -> str:
    """What can be said of what no check has seen."""
    covered = _mine(triage, RECORDS["coverage"], object_id)
    if covered.is_empty():
        return "No check says what it saw and what it did not: nothing can be taken for examined."
    missed = not_seen(triage, object_id).height
    if missed:
        return f"{missed} {'part or side was' if missed == 1 else 'parts or sides were'} never seen."
    return "Every part and side that the checks name was seen at least once; of others no check says anything."


def title(triage: Triage, object_id: str) -> str:
    """Title of an object; empty where it has none."""
    titles = triage.collection[OBJECT].filter(pl.col(KEY_OF_OBJECT) == object_id)["title"]
    return str(titles[0] or "") if titles.len() else ""


def kinds(triage: Triage, object_id: str) -> Mapping[str, tuple[str, ...]]:
    """Terms that cautions depend on, vocabulary to terms: agents of danger to people, kinds of damage not closed,
    materials of repairs not removed, techniques, and how stable the glass is."""
    asked = {
        "danger_agent": _mine(triage, RECORDS["danger_to_people"], object_id)["agent"],
        "damage": _open(triage, "damage", object_id)["kind"],
        "repair_material": _open(triage, "repair", object_id)["material"],
        "technique": _mine(triage, RECORDS[OBJECT], object_id)["technique"].explode(empty_as_null=True),
        "glass_stability": _mine(triage, RECORDS[OBJECT], object_id)["glass_stability"],
    }
    return {name: tuple(terms.drop_nulls().unique(maintain_order=True)) for name, terms in asked.items()}


def _open(triage: Triage, record: str, object_id: str) -> pl.DataFrame:
    return _mine(triage, RECORDS[record], object_id).filter(pl.col("closed_on").is_null())


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


def column_heading(name: str) -> str:
    """What a column is called on a page: its name in words."""
    return IN_WORDS.get(name) or name.removesuffix("_id").replace("_", " ").capitalize()


def _headings(columns: list[Column]) -> list[str]:
    """The column's name in words, with its unit."""
    names = [c.name.removesuffix(_in_name(u)) if (u := c.mark(Unit)) else c.name for c in columns]
    plain = [column_heading(name) for name in names]
    return [f"{h} [{u.symbol}]" if (u := c.mark(Unit)) else h for h, c in zip(plain, columns, strict=True)]


def _in_name(unit: Unit) -> str:
    """A unit as names of columns carry it, `_mm2` for mm²."""
    return f"_{unit.symbol.lower().replace('²', '2').lstrip('°')}"
