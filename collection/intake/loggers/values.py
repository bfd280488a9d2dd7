"""Numbers as loggers write them, in the register's units; what a sensor wrote instead of a value is set apart."""

from dataclasses import dataclass

import polars as pl

from collection.intake.loggers.words import HUMIDITY, LIGHT, TEMPERATURE, listed, unit_of

CELSIUS, FAHRENHEIT, KELVIN, PERCENT, SHARE, LUX, KILOLUX = (
    "celsius", "fahrenheit", "kelvin", "percent", "share", "lux", "kilolux",
)  # fmt: skip
UNITS = {TEMPERATURE: (CELSIUS, FAHRENHEIT, KELVIN), HUMIDITY: (PERCENT, SHARE), LIGHT: (LUX, KILOLUX)}
ICE_F, DEGREES_F, ICE_K, HUNDRED, THOUSAND = 32, 1.8, 273.15, 100, 1000  # of the units, by definition
OF_SHARE = 1.0  # the most a share can be
DECIMALS = 4
NUMBER_AND_UNIT = r"^([+-]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(\D.*)?$"
GROUPED = r"^\d{1,3}(,\d{3})+$"


@dataclass(frozen=True)
class Values:
    """`numbers` in °C, % or lx, null where a cell gave none; `unread`: it said something else; `doubt`: what a person
    has to say of the unit (empty: nothing)."""

    numbers: pl.Series
    unread: pl.Series
    doubt: str = ""


def read_values(text: pl.Series, quantity: str, stated: str, answer: str = "") -> Values:
    """Values of a column of texts; `stated`: the unit of its heading, `answer`: what a person said of it."""
    clean = text.str.replace_many(["\u2212", "\u00a0", "\u202f", "\u2009"], ["-", "", "", ""]).str.strip_chars()
    parts = clean.str.extract_groups(NUMBER_AND_UNIT).struct.unnest()
    bare, signs = parts.to_series(0), parts.to_series(1).str.strip_chars()
    numbers = _numbers(bare, quantity).rename("v")
    units = _units_of_cells(signs, quantity)
    words = listed()["codes"]
    is_code = clean.str.to_lowercase().is_in(words["texts"]) | numbers.is_in(
        [float(n) for n in words["numbers"]]
    ).fill_null(False)
    foreign = signs.is_not_null() & (signs != "") & units.is_null()
    numbers = pl.select(pl.when(~(is_code | foreign)).then(numbers).alias("v"))["v"]
    unit = answer or (units.drop_nulls()[0] if units.drop_nulls().n_unique() == 1 else stated)
    unit, doubt = _settled(unit, answer, numbers, quantity) if units.drop_nulls().n_unique() < 2 else (unit, "")
    each = (
        units.fill_null(unit or "")
        if units.drop_nulls().len() and not answer
        else pl.Series([unit], dtype=pl.String).new_from_index(0, len(text))
    )
    converted = _converted(numbers, each)
    filled = clean.is_not_null() & (clean != "")
    return Values(converted, filled & converted.is_null(), doubt)


def _settled(unit: str, answer: str, numbers: pl.Series, quantity: str) -> tuple[str, str]:
    """The unit of a column and what is to be asked of it."""
    largest = numbers.abs().max()
    size = float(largest) if isinstance(largest, float | int) else 0.0
    if quantity == HUMIDITY and not answer:
        if size > OF_SHARE:
            return (unit or PERCENT), ""  # a share is never above 1
        return (SHARE, "") if unit == SHARE or not size else (unit, HUMIDITY)
    if quantity == LIGHT:
        return (unit or LUX), ""
    return unit, "" if unit else quantity


def _numbers(text: pl.Series, quantity: str) -> pl.Series:
    """Plain numbers; the decimal sign is the one that the whole column proves."""
    comma, point = text.str.contains(",", literal=True), text.str.contains(".", literal=True)
    if quantity == LIGHT and _is_grouped(text, comma):
        text = text.str.replace_all(",", "", literal=True)
    both = comma & point
    last_is_comma = text.str.contains(r",[^.]*$")
    of_points = text.str.replace_all(".", "", literal=True).str.replace(",", ".", literal=True)
    pointed = pl.select(
        pl.when(both & last_is_comma).then(of_points)
        .when(both).then(text.str.replace_all(",", "", literal=True))
        .otherwise(text.str.replace(",", ".", literal=True)).alias("v")
    )["v"]  # fmt: skip
    return pointed.cast(pl.Float64, strict=False)


def _is_grouped(text: pl.Series, comma: pl.Series) -> bool:
    """Commas of thousands: every number with one has groups of three behind it, and others have none at all."""
    with_comma = text.filter(comma.fill_null(value=False))
    return (
        with_comma.len() > 0
        and bool(with_comma.str.contains(GROUPED).all())
        and with_comma.len() < text.drop_nulls().len()
    )


def _units_of_cells(signs: pl.Series, quantity: str) -> pl.Series:
    """The unit beside each number, where it is one of this quantity."""
    known = {s: unit_of(s) for s in signs.drop_nulls().unique().to_list()}
    table = {s: unit for s, (of, unit) in known.items() if of == quantity}
    return signs.replace_strict(table, default=None, return_dtype=pl.String)


def _converted(numbers: pl.Series, units: pl.Series) -> pl.Series:
    """°C, % and lx; null where the unit is not known."""
    v = pl.col("v")
    rules = {
        CELSIUS: v, PERCENT: v, LUX: v, FAHRENHEIT: ((v - ICE_F) / DEGREES_F).round(DECIMALS),
        KELVIN: (v - ICE_K).round(DECIMALS), SHARE: (v * HUNDRED).round(DECIMALS), KILOLUX: v * THOUSAND,
    }  # fmt: skip
    frame = pl.DataFrame({"v": numbers, "unit": units}, schema_overrides={"unit": pl.String})
    return frame.select(pl.coalesce(pl.when(pl.col("unit") == u).then(e) for u, e in rules.items()).alias("v"))["v"]
