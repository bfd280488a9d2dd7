"""How long trends take on 20,000 objects with five checks each, and whether the headline's limits hold; run by hand.

    python tests/benchmarks/bench_trends.py            # timings of every question
    python tests/benchmarks/bench_trends.py hold 100   # so many simulated histories of 640 objects x 5 checks

The histories are drawn from known rates of decline, graded by three people one of whom is a grade strict; the headline
is the share of objects a grade or more worse within five years, known for the objects drawn.
"""

import sys
import time
from datetime import date, timedelta

import numpy as np
import polars as pl

from collection.questions.changed_since import changed_since
from collection.questions.damage_over_time import rates_by, room_years, watched_of
from collection.questions.growth import growths
from collection.questions.over_time import first_sentence, over_time
from collection.questions.repairs_last import repairs_last
from collection.snapshot import Collection
from collection.trends.examiners import Decline, examine
from collection.trends.hidden_grades import chances, written
from collection.trends.visits import VISITS
from schemas.vocabularies import vocabulary
from tests.collection.risk.builders import triaged

FIRST, TODAY, YEARS = date(2014, 1, 1), date(2026, 1, 1), 12
RATES, START = np.array([0.05, 0.04, 0.03]), np.array([0.62, 0.25, 0.1, 0.03])
STRICTNESS, NOISE, PEOPLE = (0.0, 0.1, 1.0), (0.4, 0.5, 0.5), ("Ada", "Ben", "Cay")
BUSY = (0.5, 0.3, 0.2)  # share of the checks of each: Ada, by whom all is told, makes most


def drawn(chance: np.random.Generator, shares: np.ndarray) -> np.ndarray:
    """One number of each row of shares."""
    return (chance.random(len(shares))[:, None] > np.cumsum(shares, axis=1)).sum(axis=1).clip(0, 3)


def histories(objects: int, checks: int, seed: int):
    """Days, people and grades of each check, and the true grades at the last."""
    chance = np.random.default_rng(seed)
    days = np.sort(chance.integers(0, 365 * YEARS, (objects, checks)), axis=1)
    tables = np.array([written(d, s, 4) for d, s in zip(STRICTNESS, NOISE, strict=True)])
    true = chance.choice(4, objects, p=START)
    who = chance.choice(len(PEOPLE), (objects, checks), p=BUSY)
    grades = np.empty((objects, checks), dtype=int)
    for nth in range(checks):
        if nth:
            moved = chances(RATES, (days[:, nth] - days[:, nth - 1]) / 365.25)
            true = drawn(chance, moved[np.arange(objects), true])
        grades[:, nth] = drawn(chance, tables[who[:, nth], true])
    return days, who, grades, true


def visited(objects: int, checks: int, seed: int) -> tuple[pl.DataFrame, float]:
    """Visits, schema VISITS, and the true share a grade or more worse within five years."""
    days, who, grades, true = histories(objects, checks, seed)
    o, k = (x.ravel() for x in np.meshgrid(np.arange(objects), np.arange(checks), indexing="ij"))
    frame = pl.DataFrame({"o": o, "k": k, "grade": grades.ravel(), "day": days.ravel(), "who": who.ravel()})
    rows = frame.select(
        object_id=pl.format("O{}", "o"), check_id=pl.format("C{}.{}", "o", "k"), look=pl.lit("inspection"),
        definitions_version=pl.lit(None, pl.String), examiner=pl.Series(PEOPLE).gather(frame["who"]),
        seen_on=pl.lit(FIRST) + pl.duration(days="day"), grade=pl.col("grade"), treated=pl.lit(0, pl.Int64),
        thorough=pl.lit(value=True),
    )  # fmt: skip
    stay = np.diag(chances(RATES, np.array([5.0]))[0])
    return rows.select(pl.col(n).cast(t) for n, t in VISITS.items()), float(1 - stay[true].mean())


def hold(runs: int) -> None:
    """In how many simulated histories the limits of the headline hold the truth, and how far off it is."""
    inside, refused, errors, shifts = 0, 0, [], []
    for seed in range(runs):
        rows, truth = visited(640, 5, seed)
        result = examine(rows)
        if not isinstance(result, Decline):
            refused += 1
            continue
        inside += result.worse.low <= truth <= result.worse.high
        errors.append(np.log(result.worse.value / truth))
        strict = {p.name: p.strictness for p in result.examiners}
        gap = strict["Cay"].value - strict["Ada"].value
        shifts.append(gap)
    told = runs - refused
    print(f"{runs} histories of 640 x 5: headline within its limits in {inside} of {told}, refused {refused};")
    print(f"root mean square of its logarithm {np.sqrt(np.mean(np.square(errors))):.3f}; Cay stricter than Ada by"
          f" {np.mean(shifts):.2f} (true 1.00)")  # fmt: skip


def collection_of(objects: int, checks: int, seed: int = 1) -> Collection:
    """A register of so many objects in rooms, each checked so often, with a damage of its own and a repair in ten."""
    days, who, grades, _ = histories(objects, checks, seed)
    chance = np.random.default_rng(seed + 1)
    o, k = (x.ravel() for x in np.meshgrid(np.arange(objects), np.arange(checks), indexing="ij"))
    frame = pl.DataFrame({"o": o, "k": k, "grade": grades.ravel(), "day": days.ravel(), "who": who.ravel()})
    terms = list(vocabulary("grade").term)
    on = pl.lit(FIRST) + pl.duration(days="day")
    keys = {"check_id": pl.format("C{}.{}", "o", "k"), "object_id": pl.format("O{}", "o")}
    kinds, roots = np.array(["crack", "lifting", "chip", "weeping", "fe_rust"]), ["painted", "cloisonne", "champleve"]
    each = pl.DataFrame({"o": np.arange(objects)})
    moving = np.where(chance.random(frame.height) < 0.1, "active", "stable")
    old = frame.filter(pl.col("o") % 10 == 0, pl.col("k") == 0).with_columns(made=on.cast(pl.Date))
    return Collection.of(
        {
            "location": pl.DataFrame({"location_id": [f"R{n}" for n in range(20)], "kind": ["room"] * 20}),
            "object": each.select(
                object_id=pl.format("O{}", "o"), location_id=pl.format("R{}", pl.col("o") % 20),
                technique=pl.concat_list(pl.Series(roots).gather(np.arange(objects) % 3)),
            ),
            "condition_check": frame.select(
                **keys, checked_on=on.cast(pl.Date).cast(pl.String), checked_on_earliest=on.cast(pl.Date), checked_on_latest=on.cast(pl.Date),
                look=pl.lit("inspection"), visit=pl.lit("examined"), examiner=pl.Series(PEOPLE).gather(frame["who"]),
                grade=pl.Series(terms).gather(frame["grade"]),
            ),
            "damage": each.select(
                damage_id=pl.format("D{}", "o"), object_id=pl.format("O{}", "o"), part=pl.lit("whole"),
                kind=pl.Series(kinds[chance.integers(0, 5, objects)]),
                onset=pl.Series(np.where(chance.random(objects) < 0.2, "since_last_look", "before_register")),
            ),
            "observation": frame.select(
                check_id=keys["check_id"], damage_id=pl.format("D{}", "o"), activity=pl.Series(moving), change=pl.lit("unchanged"),
                area_mm2=pl.Series(100 + chance.normal(0, 3, frame.height)), measurement_error=pl.lit(3.0),
            ),
            "repair": old.select(
                repair_id=pl.format("P{}", "o"), object_id=pl.format("O{}", "o"), part=pl.lit("whole"), function=pl.lit("fills"),
                material=pl.lit("wax"), done_on_earliest="made", done_on_latest="made", done_on=pl.col("made").cast(pl.String),
            ),
            "repair_state": frame.filter(pl.col("o") % 10 == 0).select(
                check_id=keys["check_id"], repair_id=pl.format("P{}", "o"),
                stability=pl.when(pl.col("day") > 600 + (pl.col("o") * 37) % 6000).then(pl.lit("failed")).otherwise(pl.lit("sound")),
            ),
        }
    )  # fmt: skip


def timed(name: str, ask):
    """Run a question and print how long it took, by the clock and of the processor, the better of two."""
    took = []
    for _ in range(2):
        start, busy = time.perf_counter(), time.process_time()
        answer = ask()
        took.append((time.perf_counter() - start, time.process_time() - busy))
    wall, busy = min(took)
    print(f"{name:44} {wall:6.2f} s ({busy:.2f} s of the processor)")
    return answer


def timings(objects: int = 20_000, checks: int = 5) -> None:
    """Every question on so many objects."""
    collection = collection_of(objects, checks)
    triage = triaged(collection, TODAY)
    print(f"{objects:,} objects, {objects * checks:,} checks")
    its = timed("grades, examiners, headline", lambda: over_time(triage, triage.objects))
    print(" ", first_sentence(its))
    rows = timed("spans of damage watched, cells tested", lambda: watched_of(triage, triage.objects))
    timed("rates by kind", lambda: rates_by(triage, rows, "kind"))
    timed("rates by room", lambda: rates_by(triage, rows, "room"))
    timed("rooms by year", lambda: room_years(triage, rows))
    timed("how long repairs last", lambda: repairs_last(triage, triage.objects))
    timed("what changed since a day", lambda: changed_since(triage, triage.objects, TODAY - timedelta(days=365)))
    timed("growth of one object's damage", lambda: growths(triage, "O1"))


if __name__ == "__main__":
    if sys.argv[1:2] == ["hold"]:
        hold(int(sys.argv[2]))
    else:
        timings()
