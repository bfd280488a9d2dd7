"""Intake of 1,000,000 rows of 20 columns, 1 % of them wrong: rows a second, peak memory, wording of every wrong row.

python tests/benchmarks/bench_intake.py [ROWS]
"""

import random
import resource
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

import polars as pl

from collection.intake.opening import open_files
from collection.intake.pipeline import examine
from collection.snapshot import Collection

BAD = (
    ("object_id", ""),
    ("earliest_year", "0"),
    ("status", "somewhere"),
    ("condition_remark_on", "1972-13"),
    ("mass_g", "-4"),
)
COLUMNS = (
    "object_id", "title", "object_type", "count_of_items", "culture", "other_numbers", "earliest_year", "latest_year", "technique",
    "base_metal", "metal_finish", "glass_stability", "provenance_class", "height_mm", "width_mm", "depth_mm", "mass_g", "status",
    "value_points", "condition_remark_on",
)  # fmt: skip


def write_file(path: Path, rows: int) -> int:
    """A file as a museum would export it; returns how many rows are wrong."""
    draw = random.Random(7)
    wrong = 0
    with path.open("w", encoding="utf-8", newline="") as out:
        out.write(",".join(COLUMNS) + "\n")
        for number in range(rows):
            year, height = draw.randint(1200, 1900), draw.uniform(20, 400)
            cells = [
                f"V.{number // 1000}.{number % 1000}", f"Plaque with a scene {number}", "plaque", "1", "Vellmouth", f"old {number}", str(year),
                str(year + 20), "cloisonne;painted", "copper", "gilded", "no_sign", "domestic", f"{height:.1f}", f"{height * 0.7:.1f}",
                "12.5", f"{height * 3:.0f}", "in_collection", "3", "1986-05",
            ]  # fmt: skip
            if number % 100 == 0:
                column, value = BAD[number // 100 % len(BAD)]
                cells[COLUMNS.index(column)] = value
                wrong += 1
            out.write(",".join(cells) + "\n")
    return wrong


def main(rows: int) -> None:
    """Print what was measured."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "objects.csv"
        wrong = write_file(path, rows)
        held = Collection.of({})
        started = time.perf_counter()
        opened = open_files([path], held, "object")
        result = examine(opened, held, by="benchmark", today=date(2026, 9, 30)).answer
        seconds = time.perf_counter() - started
    refused = wrong // len(BAD) + (wrong % len(BAD) > 0)  # every fifth wrong row has no number
    asked = result.problems.filter(pl.col("level") == "ask")
    assert result.files.select("new", "refused").row(0) == (rows - refused, refused), result.files
    assert result.refused.height == refused
    assert asked.height == wrong - refused, asked.height
    assert result.problems["expected"].null_count() == 0
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{rows} rows of {len(COLUMNS)} columns, {wrong} wrong: {seconds:.2f} s, {rows / seconds:,.0f} rows/s, peak {peak_mb:,.0f} MB"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
