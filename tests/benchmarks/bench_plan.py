"""How near the best a plan comes, how fast and with how much memory; run by hand, it prints.

    python tests/benchmarks/bench_plan.py [OBJECTS ...]

Invented collections, three seeds each: two options an object, five years, money and two skills, five place options, three
set-up groups, ten musts. Next to the plan stand both rules of thumb and one plain call of the solver on the whole table,
stopped after as long. Each run is a process of its own, so that its peak of memory (VmHWM) is its own.
"""

import json
import statistics
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import numpy as np
import polars as pl

from collection.plan.assembly import assemble
from collection.plan.parameters import planning
from collection.plan.plan import plan_of
from collection.plan.program import Program, total_worth
from collection.plan.situation import SCHEMAS, Situation, situation
from collection.plan.small import solve_whole

FIRST, HORIZON = 2027, 10.0
SEEDS = (1, 2, 3)
# name: objects, years, cost of a place as a share of a year's money, seconds, gap that is aimed at.
CASES = {
    "demonstration": (640, 3, 1 / 6, 5, 1e-4),
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


def measured(name: str, seed: int) -> dict[str, float]:
    """One run: gap, seconds, memory [MB], and what the plan and the others prevent."""
    objects, years, dear, seconds, _ = CASES[name]
    its, figures = invented(objects, years, dear, seed), planning()
    before = peak()
    began = time.perf_counter()
    program = assemble(its, figures)
    assembled = time.perf_counter() - began
    plan = plan_of(program, figures, max(1.0, seconds - assembled))
    took = time.perf_counter() - began
    figures_of = {
        "gap": plan.gap, "prevented": plan.prevented, "seconds": took, "assembled": assembled, "memory": peak(),
        "input": before, "places": plan.places.height, "treatments": plan.lines.height,
    }  # fmt: skip
    return figures_of | {n: p or 0.0 for n, p in plan.rules.iter_rows()} | plain_call(program, took)


def plain_call(program: Program, seconds: float) -> dict[str, float]:
    """One call of the solver on the whole table, without a start, stopped after as long as the plan took."""
    if len(program.blocks) > 20_000:
        return {"plain": float("nan"), "plain_gap": float("nan"), "plain_seconds": float("nan")}
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
        runs = [json.loads(_run(name, seed)) for seed in SEEDS]
        middle = {key: statistics.median(run[key] for run in runs) for key in runs[0]}
        gaps = ", ".join(f"{100 * run['gap']:.3f}" for run in runs)
        print(f"\n{name}: gap {100 * middle['gap']:.4f} % (aim {100 * CASES[name][4]:g} %; seeds {gaps})")
        print(f"  {middle['seconds']:.1f} s (aim {CASES[name][3]} s), of which the table {middle['assembled']:.1f} s")
        print(f"  {middle['memory']:.0f} MB, of which the input {middle['input']:.0f} MB")
        print(
            f"  prevents {100 * middle['prevented']:.4f} % of the value: {middle['treatments']:.0f} treatments, {middle['places']:.0f} places"
        )
        for other in ("highest risk first", "best worth per cost first", "plain"):
            print(f"  {other}: {100 * middle[other]:.4f} %")
        print(f"  plain call: gap {100 * middle['plain_gap']:.2f} % after {middle['plain_seconds']:.0f} s", flush=True)


def _run(name: str, seed: int) -> str:
    command = [sys.executable, __file__, "--one", name, str(seed)]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(measured(sys.argv[2], int(sys.argv[3]))))
    else:
        main(sys.argv[1:])
