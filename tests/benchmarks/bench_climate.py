"""A year of minutes from 60 loggers (31.5 million readings): hourly means, time at targets, months; beside plain DuckDB.

Also one logger's year as a file, brought in. Each measurement has a process of its own; peak memory is its own.

python tests/benchmarks/bench_climate.py [LOGGERS]
"""

import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, date, datetime
from pathlib import Path

import duckdb
import polars as pl

from collection.climate.air import by_month
from collection.climate.sides import LIMITS, time_at_target
from collection.intake import pipeline as way_in
from collection.store import Change, Store
from collection.store.connection import CONFIGURATION

MINUTES, RUNS, SPAN_H = 525_600, 3, 24
FIRST, LAST = date(2025, 1, 1), date(2025, 12, 31)
READINGS = """
INSERT INTO climate_reading BY NAME
SELECT 'L' || l AS logger_id, 'P' || l AS location_id, TIMESTAMP '2025-01-01' + INTERVAL (m) MINUTE AS read_at,
  round(19 + l % 3 + 2 * sin(m / 83650.0) + 0.8 * sin(m / 229.0), 1) AS temperature_c,
  round(45 + l % 5 + 6 * sin(m / 83650.0 + 1) - 1.5 * sin(m / 229.0), 1) AS rh_percent, 1 AS row_version, 1 AS read_in
FROM range({loggers}) a(l), range({minutes}) b(m)
"""
PLAIN = """
CREATE TEMP TABLE hourly AS SELECT location_id AS air, date_trunc('hour', read_at) AS hour,
  avg(temperature_c) AS t, avg(rh_percent) AS u FROM climate_reading GROUP BY ALL;
CREATE TEMP TABLE sides AS WITH moved AS (SELECT *, max(u) OVER w - min(u) OVER w AS du, max(t) OVER w - min(t) OVER w AS dt
    FROM hourly WINDOW w AS (PARTITION BY air ORDER BY hour RANGE BETWEEN INTERVAL 23 HOUR PRECEDING AND CURRENT ROW)),
  each AS (SELECT air, target_id, date_trunc('day', hour) AS day, coalesce(u < rh_low OR t < temperature_low, false) AS below,
    coalesce(u > rh_high OR t > temperature_high, false) AS above,
    coalesce(du > rh_change_24h OR dt > temperature_change_24h, false) AS swing FROM moved JOIN targets USING (air)),
  daily AS (SELECT air, target_id, day, avg(below::INT) AS below, avg(above::INT) AS above, avg(swing::INT) AS swing,
    avg((below OR above OR swing)::INT) AS outside FROM each GROUP BY ALL)
SELECT air, target_id, 1 - avg(outside) AS inside, avg(below) AS below, avg(above) AS above, avg(swing) AS swing,
  count(*)::DOUBLE AS days FROM daily GROUP BY ALL ORDER BY ALL;
CREATE TEMP TABLE months AS UNPIVOT (FROM hourly) ON t, u INTO NAME quantity VALUE value;
"""
PLAIN_MONTHS = """
SELECT air, date_trunc('month', hour) AS month, quantity, quantile_cont(value, [0.05, 0.5, 0.95]) AS q
FROM months GROUP BY ALL ORDER BY ALL
"""


def targets(loggers: int) -> pl.DataFrame:
    """Two targets for the air of each logger; no mean of an hour lies on a limit."""
    rows = [
        {"air": f"P{n}", "target_id": f"T{n}{k}", "rh_low": 40.0123 + k, "rh_high": 50.0123 + k, "rh_change_24h": 4.0123, "temperature_low": None,
         "temperature_high": 22.0123, "temperature_change_24h": 1.6123} for n in range(loggers) for k in range(2)
    ]  # fmt: skip
    return pl.DataFrame(rows, schema_overrides=dict.fromkeys(LIMITS, pl.Float64))


def make(path: Path, loggers: int) -> None:
    """A store with the places, and the readings written straight into its table."""
    places = pl.DataFrame(
        {"location_id": [f"P{n}" for n in range(loggers)], "logger_id": [f"L{n}" for n in range(loggers)]}
    )
    Store(path).write(Change({"location": places}), by="bench")
    with duckdb.connect(str(path), config=CONFIGURATION) as con:
        con.execute(READINGS.format(loggers=loggers, minutes=MINUTES))


def ours(path: Path, loggers: int) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Time at targets and months from the store."""
    hours = Store(path).read_hours([f"P{n}" for n in range(loggers)], FIRST, LAST)
    return time_at_target(targets(loggers), hours, SPAN_H), by_month(hours)


def plain(path: Path, loggers: int) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The same by a script of DuckDB alone."""
    with duckdb.connect(str(path), read_only=True, config=CONFIGURATION) as con:
        con.register("targets", targets(loggers))
        con.execute(PLAIN)
        return con.sql("FROM sides").pl(), con.sql(PLAIN_MONTHS).pl()


def same(path: Path, loggers: int) -> None:
    """The two must agree before anything is timed."""
    (sides, months), (their_sides, their_months) = ours(path, loggers), plain(path, loggers)
    key = ["air", "target_id"]
    both = sides.sort(key).join(their_sides, on=key, suffix="_plain")
    assert both.height == sides.height == their_sides.height
    for name in ("inside", "below", "above", "swing", "days"):
        assert (both[name] - both[f"{name}_plain"]).abs().max() < 1e-9, name
    flat = months.sort("location_id", "month", "quantity").filter(quantity="rh_percent")
    theirs = their_months.filter(quantity="u").sort("air", "month")
    assert flat.height == theirs.height
    assert (flat["p95"] - theirs["q"].list.get(2)).abs().max() < 1e-6


def logger_file(folder: Path) -> Path:
    """One logger's year of minutes as a file with day first, decimal commas and the serial number in its head."""
    path = folder / "logger.csv"
    times = pl.datetime_range(datetime(2025, 1, 1), datetime(2025, 12, 31, 23, 59), "1m", eager=True)
    values = pl.DataFrame({"n": range(len(times))}).with_columns(
        a=(19 + (pl.col("n") / 229).sin()).round(1).cast(pl.String).str.replace(".", ",", literal=True),
        b=(45 + 2 * (pl.col("n") / 229).cos()).round(1).cast(pl.String).str.replace(".", ",", literal=True),
    )
    rows = values.select(pl.lit(times.dt.strftime("%d.%m.%Y %H:%M")).alias("t"), "a", "b").write_csv(
        separator=";", include_header=False
    )
    path.write_text("Serial number;L0\nTime zone;UTC+1\n\nDate Time;Temperature °C;Humidity %RH\n" + rows, "utf-8")
    return path


def bring_in(path: Path, file: Path) -> int:
    """Rows of the file that were new."""
    store = Store(path)
    opened = way_in.open_files([file], way_in.remembered_in(store))
    result = way_in.intake(store, opened, way_in.held_for(store, opened), by="bench", today=date(2026, 1, 2))
    return int(result.files["new"][0])


def peak_mb() -> float:
    """Largest memory of this process so far."""
    status = Path("/proc/self/status").read_text("utf-8")
    return int(next(line.split()[1] for line in status.splitlines() if line.startswith("VmHWM"))) / 1000


def child(what: str, path: str, number: str) -> None:
    """One measurement, printed as seconds and MB."""
    started = time.perf_counter()
    if what == "intake":
        assert bring_in(Path(path), Path(number)) == MINUTES
    else:
        (ours if what == "ours" else plain)(Path(path), int(number))
    print(f"{time.perf_counter() - started:.2f} {peak_mb():.0f}")


def measured(what: str, path: Path, number: object) -> tuple[float, float]:
    """Seconds and MB of a process of its own."""
    done = subprocess.run(
        [sys.executable, __file__, what, str(path), str(number)], capture_output=True, text=True, check=True
    )
    seconds, mb = done.stdout.split()[-2:]
    return float(seconds), float(mb)


def main(loggers: int) -> None:
    """Print what was measured."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "enamels.duckdb"
        make(path, loggers)
        same(path, loggers)
        print(
            f"{datetime.now(UTC):%Y-%m-%d}: {loggers * MINUTES:,} readings of {loggers} loggers, {path.stat().st_size / 1e6:.0f} MB"
        )
        runs: dict[str, list[tuple[float, float]]] = {"plain": [], "ours": []}
        for what in list(runs) * RUNS:  # in turns, so that what else the machine does meets both
            runs[what].append(measured(what, path, loggers))
        for what, its in runs.items():
            print(f"{what}: median {statistics.median(s for s, _ in its):.2f} s, peak {max(m for _, m in its):,.0f} MB")
        ratio = statistics.median(s for s, _ in runs["ours"]) / statistics.median(s for s, _ in runs["plain"])
        print(f"ratio {ratio:.2f} (at most 1.5)")
        fresh = Path(folder) / "fresh.duckdb"
        make(fresh, 0)
        Store(fresh).write(Change({"location": pl.DataFrame({"location_id": ["P0"], "logger_id": ["L0"]})}), by="bench")
        seconds, mb = measured("intake", fresh, logger_file(Path(folder)))
        print(f"intake of one logger's year, {MINUTES:,} rows: {seconds:.1f} s, peak {mb:,.0f} MB")


if __name__ == "__main__":
    if len(sys.argv) > 2:
        child(*sys.argv[1:])
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
