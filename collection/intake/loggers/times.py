"""Times as loggers write them, read as local time and, where the cell says so, minutes before UTC."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from collection.intake.loggers.words import listed, months, zone_minutes

ISO = r"(?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})"
COMPACT = r"(?P<y>\d{4})(?P<m>\d{2})(?P<d>\d{2})"
NUMERIC = r"(?P<a>\d{1,2})(?P<s>[-/.])\s?(?P<b>\d{1,2})[-/.]\s?(?P<c>\d{4}|\d{2})"
DAY_FIRST = r"(?:\p{L}{2,12}\.?,?\s+)?(?P<d>\d{1,2})[.\s-]{1,3}(?P<n>\p{L}{3,12})\.?[\s,.-]{1,3}(?P<y>\d{4}|\d{2})"
MONTH_FIRST = r"(?P<n>\p{L}{3,12})\.?\s(?P<d>\d{1,2}),?\s(?P<y>\d{4})"
DATES = {"iso": ISO, "numeric": NUMERIC, "day_first": DAY_FIRST, "month_first": MONTH_FIRST, "compact": COMPACT}
BETWEEN = r"(?:T|,?\s{1,3}(?:-\s|um\s|à\s|kl\.?\s)?)"
ZONES = "|".join(sorted(listed()["zone"]["minutes"], key=len, reverse=True))
ZONE = rf"(?P<z>\s?(?i:{ZONES})|\s?[+-]\d{{2}}:?\d{{2}})?"
HALF = r"(?:\s?Uhr)?\s?(?P<p>(?i:[ap])\.?\s?(?i:m)\.?)?"
CLOCK = rf"(?P<h>\d{{1,2}})[:.hH](?P<i>\d{{2}})(?:[:.](?P<sec>\d{{2}})(?:[.,]\d{{1,9}})?)?{HALF}"
LAST_HOUR, NOON, OLDEST_SHORT = 24, 12, 70
ORDERS = {"dmy": ("c", "b", "a"), "mdy": ("c", "a", "b"), "ymd": ("a", "b", "c")}  # group of year, month, day
SERIAL_FROM, SERIAL_TO, SECONDS_FROM, THOUSAND = 20_000, 80_000, 3e8, 1000
SERIAL_ZERO, UNIX_ZERO = "1899-12-30", "1970-01-01"
EVEN_SAMPLE = 5_000


def _python(pattern: str) -> re.Pattern[str]:
    return re.compile(rf"^\s*{pattern}\s*$".replace(r"\p{L}", r"[^\W\d_]"))


def _any(patterns: Sequence[str]) -> re.Pattern[str]:
    """One pattern of several, their groups without names."""
    bare = [re.sub(r"\(\?P<\w+>", "(?:", p) for p in patterns]
    return _python(f"(?:{'|'.join(bare)})")


IS_MOMENT = _any([f"(?:{d}){BETWEEN}{CLOCK}{ZONE}" for d in DATES.values()])
IS_DATE = _any([f"(?:{d})" for d in (ISO, NUMERIC, DAY_FIRST, MONTH_FIRST)])
IS_CLOCK = _any([CLOCK + ZONE])
NUMBER = re.compile(r"^\s*[+-]?\d+(?:[.,]\d+)?\s*$")


def is_epoch_or_serial(cell: str) -> bool:
    """A count of days since 1900, or of seconds or thousandths since 1970."""
    value = float(cell.replace(",", ".")) if NUMBER.match(cell) else 0.0
    return SERIAL_FROM <= value < SERIAL_TO or SECONDS_FROM <= value < SECONDS_FROM * THOUSAND * THOUSAND


@dataclass(frozen=True)
class Times:
    """`local`: as written; `minutes`: before UTC where the cell states it; both null where a cell could not be read.

    `orders`: orders of day, month and year that fit equally well (one: no doubt). `in_utc`: counted from 1970.
    """

    local: pl.Series
    minutes: pl.Series
    orders: tuple[str, ...] = ()
    in_utc: bool = False


def read_times(text: pl.Series, order: str = "", *, with_clock: bool = True) -> Times:
    """Times of a column of texts; `order` (dmy, mdy, ymd): where a person said it."""
    names = list(DATES)
    clock = BETWEEN + CLOCK + ZONE if with_clock else ""
    matches = [int(text.str.contains(rf"^\s*{DATES[n]}{clock}\s*$").sum()) for n in names]
    kind = names[matches.index(max(matches))]
    parts = text.str.extract_groups(rf"^\s*{DATES[kind]}{clock}\s*$").struct.unnest()
    if not with_clock:
        parts = parts.with_columns(pl.lit(None, pl.String).alias(n) for n in ("h", "i", "sec", "p", "z"))
    if kind != "numeric":
        local = parts.select(_moment(*_date_parts(kind)))["literal"]
        return Times(local, _minutes(parts))
    candidates = {o: parts.select(_moment(*map(pl.col, ORDERS[o])))["literal"] for o in _possible(parts, order)}
    orders = _most_even(candidates)
    chosen = orders[0] if orders else "dmy"
    local = candidates[chosen] if orders else parts.select(_moment(*map(pl.col, ORDERS["dmy"])))["literal"]
    return Times(local, _minutes(parts), orders)


def read_counts(text: pl.Series) -> Times:
    """Times counted in days since 1900 (local), or in seconds or thousandths since 1970 (UTC)."""
    value = text.str.replace(",", ".", literal=True).cast(pl.Float64, strict=False)
    middle = value.median()
    size = float(middle) if isinstance(middle, float | int) else 0.0
    serial = size < SERIAL_TO
    a_unit = 86_400e6 if serial else 1e6 if size < SECONDS_FROM * THOUSAND else 1e3
    zero = pl.lit(SERIAL_ZERO if serial else UNIX_ZERO).str.to_datetime("%Y-%m-%d", time_unit="us")
    since = pl.duration(microseconds=(pl.col("v") * a_unit).round().cast(pl.Int64))
    local = pl.DataFrame({"v": value}).select((zero + since).dt.round("1s").alias("literal"))["literal"]
    return Times(local, pl.Series([None] * len(text), dtype=pl.Int64), in_utc=not serial)


def _date_parts(kind: str) -> tuple[pl.Expr, pl.Expr, pl.Expr]:
    month = pl.col("m") if kind in ("iso", "compact") else _month(pl.col("n"))
    return _year(pl.col("y")), month.cast(pl.Int32, strict=False), pl.col("d").cast(pl.Int32, strict=False)


def _month(name: pl.Expr) -> pl.Expr:
    letters = name.str.normalize("NFD").str.replace_all(r"\p{M}", "").str.to_lowercase()
    return letters.replace_strict(dict(months()), default=None, return_dtype=pl.Int32)


def _year(text: pl.Expr) -> pl.Expr:
    year = text.cast(pl.Int32, strict=False)
    short = pl.when(year >= OLDEST_SHORT).then(year + 1900).otherwise(year + 2000)
    return pl.when(text.str.len_chars() <= 2).then(short).otherwise(year)


def _moment(year: pl.Expr, month: pl.Expr, day: pl.Expr) -> pl.Expr:
    """Local time of the parts; 24:00 is the day after; null for a day or an hour that does not exist."""
    number = pl.format(
        "{}-{}-{}", _year(year.cast(pl.String)), month.cast(pl.Int32, strict=False), day.cast(pl.Int32, strict=False)
    )
    date = number.str.to_date("%Y-%m-%d", strict=False).cast(pl.Datetime("us"))
    hour, minute, second = (pl.col(n).cast(pl.Int64, strict=False).fill_null(0) for n in ("h", "i", "sec"))
    half = pl.col("p").str.to_lowercase().str.head(1)
    hour = pl.when(half == "p", hour < NOON).then(hour + NOON).when(half == "a", hour == NOON).then(0).otherwise(hour)
    fits = (hour < LAST_HOUR) | ((hour == LAST_HOUR) & (minute == 0)) & (minute < 60) & (second < 60)
    return pl.when(fits).then(date + pl.duration(hours=hour, minutes=minute, seconds=second)).alias("literal")


def _minutes(parts: pl.DataFrame) -> pl.Series:
    """Minutes before UTC as each cell states them."""
    zones = parts["z"].unique().drop_nulls().to_list()
    table = {z: zone_minutes(z) for z in zones}
    return parts.select(pl.col("z").replace_strict(table, default=None, return_dtype=pl.Int64))["z"]


def _possible(parts: pl.DataFrame, order: str) -> list[str]:
    """Orders in which every date of the column is one."""
    whole = parts.drop_nulls("a")
    if order:
        return [order]
    four = bool((whole["c"].str.len_chars() == 4).any())
    names = ("dmy", "mdy") if four else ("dmy", "mdy", "ymd")
    dated = {n: whole.select(_moment(*map(pl.col, ORDERS[n])))["literal"] for n in names}
    fitting = [n for n, local in dated.items() if local.null_count() == 0]
    if "dmy" in fitting and bool((whole["s"] == ".").all()) and four:
        return ["dmy"]  # with points between, the day comes first
    return fitting


def _most_even(candidates: dict[str, pl.Series]) -> tuple[str, ...]:
    """Orders in which the readings follow each other most evenly; several where nothing tells them apart."""
    if len(candidates) < 2:
        return tuple(candidates)
    uneven = {}
    for name, local in candidates.items():
        steps = local.drop_nulls().head(EVEN_SAMPLE).diff().drop_nulls()
        usual = steps.median()
        uneven[name] = int((steps != usual).sum()) if steps.len() else 0
    least = min(uneven.values())
    return tuple(n for n, count in uneven.items() if count == least)
