"""How near the best a plan comes, how fast and with how much memory; run by hand, it prints.

    python tests/benchmarks/bench_plan.py [OBJECTS ...]

Invented collections, three seeds each: two options an object, five years, money and two skills, five place options, three
set-up groups, ten musts; and the demonstration itself. Next to the plan stand both rules of thumb and one plain call of
the solver on the whole table, given as long and ended from outside after three times as long (its presolve and its
first relaxation heed no limit of time). Each run is a process of its own, so that its peak of memory (VmHWM) is its own.
"""

import contextlib
import io
import json
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

import numpy as np
import polars as pl

from collection import pipeline
from collection.commands import cli, demo
from collection.plan.assembly import assemble
from collection.plan.choose import solve_whole
from collection.plan.parameters import planning
from collection.plan.plan import plan_of
from collection.plan.program import total_worth
from collection.plan.situation import SCHEMAS, Situation, situation
from collection.planning.situation import Question, situation_of
from collection.settings import as_of_day
from collection.store import Store

FIRST, HORIZON = 2027, 10.0
SEEDS = (1, 2, 3)
# name: objects, years, cost of a place as a share of a year's money, seconds, gap that is aimed at.
CASES = {
    "demonstration": (0, 3, 1 / 6, 5, 1e-4),
    "640": (640, 3, 1 / 6, 5, 0.02),
    "1,000": (1_000, 5, 1 / 6, 20, 0.004),
    "20,000": (20_000, 5, 1 / 6, 20, 0.002),
    "20,000, dear places": (20_000, 5, 1.0, 20, 0.005),
    "100,000": (100_000, 5, 1 / 6, 60, 0.01),
}
LADDER = np.array([[1.0, 3.0, 10.0], [3.0, 10.0, 30.0], [10.0, 30.0, 100.0], [30.0, 100.0, 300.0]])


def invented(objects: int, years: int, dear: float, seed: int) -> Situation:
    """A collection with two or three hazards an object, of which options slow one or two."""
    random = np.random.default_rng(seed)
    number = np.array([f"o{n:06}" for n in range(objects)])
    value = random.lognormal(0, 1.2, objects)
    counts = random.integers(2, 4, objects)
    of = np.repeat(np.arange(objects), counts)
    size = of.size
    ladder = LADDER[random.integers(0, 4, size)]
    reach = random.uniform(0.01, 0.5, size)
    hazard = np.array([f"h{n:07}" for n in range(size)])
    climate = np.where(random.random(size) < 0.4, "damp", None)
    option = np.repeat(np.arange(objects), 2)
    names = np.array([f"p{n:07}" for n in range(2 * objects)])
    thorough = np.arange(2 * objects) % 2 == 0
    hours = random.lognormal(1.5, 0.8, 2 * objects) * np.where(thorough, 2.0, 1.0)
    money = np.round(random.lognormal(4, 0.8, 2 * objects) * np.where(thorough, 1.5, 1.0))
    first = np.concatenate([[0], np.cumsum(counts)])[:-1]
    slowed = [first[option], first[option] + 1]
    used = np.concatenate([np.ones(2 * objects, bool), thorough])
    skill = np.where(random.random(2 * objects) < 0.6, "metal", "enamel")
    year_money, group = money.sum() / 2 * 0.06, random.integers(0, 12, 2 * objects)
    place = random.integers(0, 6, objects)
    asked = random.choice(objects, 10, replace=False)
    frames = {
        "objects": {
            "object_id": number, "value_share": value / value.sum(), "insured_value": [None] * objects,
            "left": [False] * objects, "away": [[]] * objects,
        },
        "hazards": {
            "object_id": number[of], "hazard_id": hazard, "part": ["whole"] * size, "part_share": [1.0] * size,
            "reach": reach, "reach_low": reach, "reach_likely": reach, "reach_high": reach,
            "loss_depth": random.choice([0.1, 0.3, 1.0], size), "years_short": ladder[:, 0],
            "years_likely": ladder[:, 1], "years_long": ladder[:, 2], "modifier": [1.0] * size,
            "chance_per_move": [0.0] * size, "moves_a_year": [0.0] * size, "climate": climate,
            "handling": [None] * size, "rate_row": ["row"] * size,
        },
        "options": {
            "option_id": names, "object_id": number[option], "money": money, "currency": ["EUR"] * names.size,
            "loss_in_doing": random.choice([0.0, 0.001], names.size), "lasts_years": [None] * names.size,
            "setup_group": np.where(group < 3, np.char.add("g", group.astype(str)), None),
            "needs": [[]] * names.size, "excludes": [[]] * names.size, "together_with": [[]] * names.size,
            "prevents_loss": [True] * names.size, "open": [True] * names.size, "done": [False] * names.size,
            "given_worth": [None] * names.size,
        },
        "option_hours": {"option_id": names, "skill": skill, "hours": hours},
        "effects": {
            "option_id": np.concatenate([names, names])[used], "hazard_id": hazard[np.concatenate(slowed)[used]],
            "rate_left": random.choice([0.1, 0.3], int(used.sum())),
        },
        "setups": {
            "setup_group": ["g0", "g1", "g2"], "skill": ["metal", "enamel", "metal"], "hours": [8.0, 6.0, 10.0],
            "money": [50.0, 0.0, 100.0],
        },
        "place_options": {
            "option_id": [f"case{n}" for n in range(5)], "location_id": [f"store{n}" for n in range(5)],
            "money": year_money * dear * random.uniform(0.4, 1.0, 5), "currency": ["EUR"] * 5, "yearly_cost": [0.0] * 5,
            "lasts_years": [None] * 5, "together_with": [[]] * 5, "open": [True] * 5,
        },
        "place_effects": {
            "option_id": [f"case{n}" for n in range(5)], "hazard_group": ["damp"] * 5, "rate_factor": [0.4] * 5,
        },
        "protected": {
            "option_id": [f"case{p}" for p in place[place < 5]], "object_id": number[place < 5],
        },
        "musts": {
            "must_id": [f"m{n}" for n in range(10)], "object_id": number[asked], "option_id": [None] * 10,
            "done_by": [date(FIRST + years - 1, 12, 31)] * 10, "because": ["decision"] * 10,
        },
        "money": {
            "year": [FIRST + y for y in range(years)], "fund": ["general"] * years, "money": [year_money] * years,
            "currency": ["EUR"] * years, "spend_by": [None] * years, "carries_over": [False] * years,
        },
        "hours": {
            "year": [FIRST + y for y in range(years) for _ in range(2)], "skill": ["metal", "enamel"] * years,
            "hours": [hours[skill == s].sum() / 2 * 0.05 for _ in range(years) for s in ("metal", "enamel")],
        },
    }  # fmt: skip
    return situation(FIRST, years, HORIZON, **{n: _frame(n, columns) for n, columns in frames.items()})


def _frame(name: str, columns: dict[str, object]) -> pl.DataFrame:
    lists = {n: its.tolist() if isinstance(its, np.ndarray) else its for n, its in columns.items()}
    return pl.DataFrame(lists, schema=SCHEMAS[name])


def demonstration() -> Situation:
    """The demonstration's own plan, over three years from the next."""
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder), contextlib.redirect_stdout(io.StringIO()):
        assert cli.run(["demo", "--no-open", "--folder", "demo"]) == 0
        triage = pipeline.assess_store(Store(Path("demo") / demo.STORE), lambda c: as_of_day(None, c))
        return situation_of(triage, Question())


def given(name: str, seed: int) -> Situation:
    objects, years, dear, _, _ = CASES[name]
    return invented(objects, years, dear, seed) if objects else demonstration()


def measured(name: str, seed: int) -> dict[str, float]:
    """One run: gap, seconds, memory [MB], and what the plan and the others prevent."""
    seconds = CASES[name][3]
    its, figures = given(name, seed), planning()
    before = peak()
    began, used = time.perf_counter(), time.process_time()
    program = assemble(its, figures)
    assembled = time.perf_counter() - began
    plan = plan_of(program, figures, max(1.0, seconds - assembled))
    took = time.perf_counter() - began
    figures_of = {
        "gap": plan.gap, "prevented": plan.prevented, "seconds": took, "assembled": assembled, "memory": peak(),
        "processor": time.process_time() - used, "input": before, "places": plan.places.height,
        "treatments": plan.lines.height,
    }  # fmt: skip
    return figures_of | {n: p or 0.0 for n, p in plan.rules.iter_rows()}


def plain_call(name: str, seed: int, seconds: float) -> dict[str, float]:
    """One call of the solver on the whole table, without a start."""
    program = assemble(given(name, seed), planning())
    began = time.perf_counter()
    solved = solve_whole(program, seconds, planning().gap, None)
    worth = 0.0 if solved.selection is None else total_worth(program, solved.selection) / program.scale
    bound = solved.bound / program.scale
    gap = (bound - worth) / bound if np.isfinite(bound) and bound > 0 else float("inf")
    return {"plain": worth, "plain_gap": gap, "plain_seconds": time.perf_counter() - began}


def peak() -> float:
    """Highest memory of this process so far [MB]."""
    status = Path("/proc/self/status").read_text("utf-8")
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def main(names: list[str]) -> None:
    for name in names or CASES:
        seeds = SEEDS if CASES[name][0] else SEEDS[:1]
        runs = [json.loads(_run("--one", name, str(seed))) for seed in seeds]
        plain = [_plain(name, seed, run["seconds"]) for seed, run in zip(seeds, runs, strict=True)]
        middle = {key: statistics.median(run[key] for run in runs) for key in runs[0]}
        gaps = ", ".join(f"{100 * run['gap']:.4f}" for run in runs)
        print(f"\n{name}: gap {100 * middle['gap']:.4f} % (aim {100 * CASES[name][4]:g} %; seeds {gaps})")
        print(
            f"  {middle['seconds']:.1f} s (aim {CASES[name][3]} s), {middle['processor']:.1f} s of the processor,"
            f" of which the table {middle['assembled']:.1f} s"
        )
        print(f"  {middle['memory']:.0f} MB, of which the input {middle['input']:.0f} MB")
        print(
            f"  prevents {100 * middle['prevented']:.4f} % of the value: {middle['treatments']:.0f} treatments, {middle['places']:.0f} places"
        )
        for other in ("highest risk first", "best worth per cost first"):
            print(f"  {other}: {100 * middle[other]:.4f} %")
        for row in plain:
            print(f"  plain call: {_plain_words(row)}", flush=True)


def _plain(name: str, seed: int, seconds: float) -> dict[str, float] | None:
    if CASES[name][0] > LARGEST_PLAIN:
        return None
    try:
        return dict(json.loads(_run("--plain", name, str(seed), str(seconds), timeout=PATIENCE * seconds + START)))
    except subprocess.TimeoutExpired:
        return None


def _plain_words(row: dict[str, float] | None) -> str:
    if row is None:
        return "no answer when it was ended"
    return f"{100 * row['plain']:.4f} %, gap {100 * row['plain_gap']:.2f} % after {row['plain_seconds']:.0f} s"


PATIENCE, START = 3, 60  # times the plan's time, and seconds to make the table
LARGEST_PLAIN = 20_000


def _run(*arguments: str, timeout: float | None = None) -> str:
    command = [sys.executable, __file__, *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=True, timeout=timeout).stdout


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(measured(sys.argv[2], int(sys.argv[3]))))
    elif sys.argv[1:2] == ["--plain"]:
        print(json.dumps(plain_call(sys.argv[2], int(sys.argv[3]), float(sys.argv[4]))))
    else:
        main(sys.argv[1:])
