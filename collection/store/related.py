"""What the register holds about a few incoming rows, so that a small write need not read all of it.

Of records that hang on an object (`hangs_on_objects`) the rows concerned are read; every other record is small and read
whole. Concerned are rows whose number reads like an incoming one (see `collection.validation.spelling.normal`), rows
that incoming rows point to, every row of the objects all these belong to, and what any of them points to.
"""

from collections.abc import Mapping, Sequence

import duckdb
import polars as pl

from collection.snapshot import NOT_IN_SNAPSHOT, empty_rows
from collection.store import tables
from collection.store.exchange import fetch, registered
from collection.validation.spelling import nearest, normal
from schemas.fields import ForeignKey
from schemas.tables import RECORDS, TableSpec, parents_first

# Beyond this many incoming rows the whole register is read: looking rows up would cost more.
MOST_ROWS = 5_000
OBJECT = "object"
# A superset of what `normal` makes equal: without white space and capitals, or with letters beyond ASCII, which
# are compared in Polars. Most numbers have no white space, and to ask that first takes a third of the time.
_ALIKE = """
SELECT {0} FROM {1} WHERE lower({0}) IN (FROM wanted)
UNION
SELECT {0} FROM (SELECT {0} FROM {1} WHERE regexp_matches({0}, '[^!-~]'))
WHERE strlen({0}) <> length({0}) OR translate(lower({0}), E' \\t\\n\\r\\f' || chr(11), '') IN (FROM wanted)
"""
Numbers = dict[str, set[str]]


def read(con: duckdb.DuckDBPyConnection, rows: Mapping[str, pl.DataFrame]) -> Mapping[str, pl.DataFrame]:
    """Frames of every record but climate readings and journal, schema `kept_schema`, in order of their keys."""
    if sum(frame.height for frame in rows.values()) > MOST_ROWS:
        return tables.read_collection(con)
    con.begin()
    filled = tables.with_rows(con).difference(NOT_IN_SNAPSHOT)
    frames = {n: tables.read_table(con, RECORDS[n]) for n in filled if n not in HANGING}
    hanging = tuple(name for name in HANGING if name in filled)
    spelt, pointed = _spelt(rows, hanging)
    numbers = {name: _alike(con, name, its) for name, its in spelt.items()}
    for name, its in pointed.items():
        numbers[name] |= _near(con, name, its - _compared(numbers[name]))
    _add_parents(con, numbers, hanging)
    concerned = {name: _hanging_rows(con, RECORDS[name], numbers) for name in hanging}
    _add_missing_parents(con, concerned)
    con.commit()
    frames |= concerned
    return {n: frames.get(n, empty_rows(s)) for n, s in RECORDS.items() if n not in NOT_IN_SNAPSHOT}


def hangs_on_objects() -> tuple[str, ...]:
    """The object and every record with a foreign key to it, or to one that has; what is pointed to comes first."""
    hanging: list[str] = []
    for name in parents_first():
        if name not in NOT_IN_SNAPSHOT and (name == OBJECT or any(t in hanging for _, t in _links(RECORDS[name]))):
            hanging.append(name)
    return tuple(hanging)


def _links(spec: TableSpec) -> list[tuple[str, str]]:
    """Foreign keys to other records: column, record."""
    links = [(c.name, p.record) for c in spec.marked(ForeignKey) if (p := c.mark(ForeignKey))]
    return [(column, record) for column, record in links if record != spec.name]


HANGING = hangs_on_objects()


def _has_own_number(spec: TableSpec) -> bool:
    column = spec.column(spec.key[0])
    return column.dtype == pl.String and column.mark(ForeignKey) is None


def _spelt(rows: Mapping[str, pl.DataFrame], hanging: Sequence[str]) -> tuple[Numbers, Numbers]:
    """Numbers of these records that incoming rows have or point to, and those they point to, as compared."""
    spelt: Numbers = {}
    pointed: Numbers = {}
    for name, frame in rows.items():
        spec = RECORDS[name]
        named = [(c.name, p.record) for c in spec.marked(ForeignKey) if (p := c.mark(ForeignKey))]
        own = [(spec.key[0], name)] if _has_own_number(spec) else []
        for column, record in [*own, *named]:
            if record in hanging and column in frame.columns:
                values = frame.select(normal(column)).to_series().drop_nulls()
                spelt.setdefault(record, set()).update(values)
                if (column, record) in named:
                    pointed.setdefault(record, set()).update(values)
    return spelt, pointed


def _alike(con: duckdb.DuckDBPyConnection, name: str, spelt: set[str]) -> set[str]:
    """Numbers of a record that read like these."""
    key = RECORDS[name].key[0]
    wanted = pl.Series("n", sorted({"".join(text.split()) for text in spelt}), dtype=pl.String).to_frame()
    with registered(con, wanted=wanted):
        known = fetch(con, _ALIKE.format(key, name))
    return set(known.filter(normal(key).is_in(sorted(spelt)))[key])


def _near(con: duckdb.DuckDBPyConnection, name: str, unknown: set[str]) -> set[str]:
    """Numbers of a record that a person may have meant by numbers it has not, for the question about them."""
    if not unknown:
        return set()
    key = RECORDS[name].key[0]
    known = fetch(con, f"SELECT {key} FROM {name} ORDER BY {key}").with_columns(normal(key).alias("as_compared"))
    return set(nearest(sorted(unknown), dict(known.rows())).values())


def _compared(numbers: set[str]) -> set[str]:
    """Numbers in the form they are compared in."""
    return set(pl.DataFrame({"n": sorted(numbers)}, schema={"n": pl.String}).select(normal("n")).to_series())


def _add_parents(con: duckdb.DuckDBPyConnection, numbers: Numbers, hanging: Sequence[str]) -> None:
    """What rows of these numbers point to, up to the object."""
    for name in reversed(hanging):
        for column, record in _links(RECORDS[name]) if numbers.get(name) else []:
            if record in hanging:
                key = RECORDS[name].key[0]
                with registered(con, wanted=_one_column(numbers[name])):
                    parents = fetch(con, f"SELECT DISTINCT {column} FROM {name} WHERE {key} IN (FROM wanted)")
                numbers.setdefault(record, set()).update(parents[column].drop_nulls())


def _hanging_rows(con: duckdb.DuckDBPyConnection, spec: TableSpec, numbers: Numbers) -> pl.DataFrame:
    """Rows of these numbers and rows that point to them; their own numbers are added, for what hangs on them."""
    columns = [(c, r) for c, r in _links(spec) if numbers.get(r)]
    columns += [(spec.key[0], spec.name)] if numbers.get(spec.name) and _has_own_number(spec) else []
    if not columns:
        return empty_rows(spec)
    wanted = {f"wanted_{n}": _one_column(numbers[record]) for n, (_, record) in enumerate(columns)}
    each = zip(wanted, columns, strict=True)  # asked one by one: with OR every row of the table is compared
    asked = " UNION ".join(
        f"SELECT rowid FROM {spec.name} WHERE {column} IN (FROM {name})" for name, (column, _) in each
    )
    with registered(con, **wanted):
        rows = fetch(con, f"FROM {spec.name} WHERE rowid IN ({asked}) ORDER BY {', '.join(spec.key)}")
    if _has_own_number(spec):
        numbers.setdefault(spec.name, set()).update(rows[spec.key[0]])
    return tables.typed(rows, spec)


def _add_missing_parents(con: duckdb.DuckDBPyConnection, concerned: dict[str, pl.DataFrame]) -> None:
    """Rows that the rows read point to and that were not read: those of another object."""
    for name in reversed(concerned):
        for column, record in _links(RECORDS[name]):
            if record not in concerned or concerned[name].is_empty():
                continue
            key, there = RECORDS[record].key[0], concerned[record]
            missing = set(concerned[name][column].drop_nulls()) - set(there[key])
            if missing:
                keys = pl.Series(key, sorted(missing), dtype=pl.String).to_frame()
                with registered(con, wanted=keys):
                    more = fetch(con, f"SELECT t.* FROM {record} t SEMI JOIN wanted USING ({key})")
                whole = pl.concat([there, tables.typed(more, RECORDS[record])])
                concerned[record] = whole.sort(RECORDS[record].key)


def _one_column(numbers: set[str]) -> pl.DataFrame:
    return pl.Series("n", sorted(numbers), dtype=pl.String).to_frame()
