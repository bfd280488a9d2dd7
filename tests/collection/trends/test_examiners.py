"""The model of examiners on visits: what it tells, and each reason why it tells nothing."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from collection.trends.examiners import Decline, Refused, examine
from collection.trends.hidden_grades import chances, written
from collection.trends.visits import VISITS
from tests.collection.trends.test_hidden_grades import NOISE, START, STRICTNESS, TRUE_RATES, _drawn


def visited(objects: int, checks: int, people: tuple[str, ...] = ("Ada", "Ben", "Cay"), seed: int = 3) -> pl.DataFrame:
    """Visits with grades of people of known strictness, schema VISITS."""
    random = np.random.default_rng(seed)
    days = np.sort(random.integers(0, 4380, (objects, checks)), axis=1)
    tables = np.array([written(d, s, 4) for d, s in zip(STRICTNESS, NOISE, strict=True)])
    true, rows = random.choice(4, objects, p=START), []
    for nth in range(checks):
        if nth:
            moved = chances(TRUE_RATES, (days[:, nth] - days[:, nth - 1]) / 365.25)
            true = _drawn(random, moved[np.arange(objects), true])
        who = random.integers(0, len(people), objects)
        grade = _drawn(random, tables[who, true])
        for number in range(objects):
            rows.append(
                (f"O{number:05}", f"C{number:05}/{nth}", "inspection", None, people[who[number]],
                 date(2014, 1, 1) + timedelta(days=int(days[number, nth])), int(grade[number]), 0, True)
            )  # fmt: skip
    frame = pl.DataFrame(rows, schema=VISITS, orient="row")
    return frame.sort("object_id", "seen_on", "check_id")


@pytest.fixture(scope="module")
def fair_and_strict() -> pl.DataFrame:
    return visited(640, 5)


def test_strictness_is_told_from_decline(fair_and_strict):
    result = examine(fair_and_strict)

    assert isinstance(result, Decline)
    strict = next(person for person in result.examiners if person.name == "Cay")
    others = [person for person in result.examiners if person.name not in ("Cay", result.yardstick)]
    if result.yardstick != "Cay":
        assert 0 < strict.strictness.low < STRICTNESS[2] < strict.strictness.high
        assert all(person.strictness.low < 0 < person.strictness.high for person in others)
    assert result.worse.low < result.worse.value < result.worse.high
    assert (result.grades, result.objects) == (3200, 640)
    assert sum(person.grades for person in result.examiners) == 3200
    yardstick = next(person for person in result.examiners if person.name == result.yardstick)
    assert yardstick.strictness.value == 0


def test_examiners_with_few_grades_are_one(fair_and_strict):

    some = fair_and_strict.with_row_index().with_columns(
        examiner=pl.when(pl.col("index") % 40 == 0)
        .then(pl.format("Guest {}", pl.col("index") % 3))
        .otherwise("examiner")
    )
    result = examine(some.drop("index"))

    assert isinstance(result, Decline)
    assert "others" in {person.name for person in result.examiners}
    assert "Guest 0" not in {person.name for person in result.examiners}


def alone(frame: pl.DataFrame) -> pl.DataFrame:
    return frame.with_columns(examiner=pl.lit("Ada"))


def always_the_same(frame: pl.DataFrame) -> pl.DataFrame:
    even = pl.col("object_id").str.slice(-1).cast(pl.Int64) % 2 == 0
    return frame.with_columns(examiner=pl.when(even).then(pl.lit("Ada")).otherwise(pl.lit("Ben")))


def scarcely_linked(frame: pl.DataFrame) -> pl.DataFrame:
    """Ada and Ben share most objects, Cay grades others and five of theirs once."""
    number = pl.col("object_id").str.slice(1).cast(pl.Int64)
    nth = pl.col("check_id").str.slice(-1).cast(pl.Int64)
    ours = pl.when(nth % 2 == 0).then(pl.lit("Ada")).otherwise(pl.lit("Ben"))
    return frame.with_columns(
        examiner=pl.when((number >= 400) | ((number < 5) & (nth == 4))).then(pl.lit("Cay")).otherwise(ours)
    )


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda f: f.head(500), "500 grades, 800 are needed"),
        (lambda f: f.filter(pl.col("check_id").str.ends_with("0") | pl.col("check_id").str.ends_with("1")), "2.0 grades an object"),
        (alone, "one person graded all: strictness cannot be estimated"),
        (always_the_same, "always graded by the same person"),
        (scarcely_linked, "Cay and"),
        (lambda f: f.with_columns(grade=pl.lit(1, pl.Int64)), "all grades are equal"),
        (lambda f: f.clear(), "0 grades"),
        (lambda f: f.with_columns(thorough=pl.lit(value=False)), "0 grades"),
    ],
    ids=["few", "two each", "one person", "own objects", "few links", "all equal", "none", "sweeps"],
)  # fmt: skip
def test_why_nothing_is_told(fair_and_strict, change, words):
    result = examine(change(fair_and_strict))

    assert isinstance(result, Refused)
    assert words in result.reason
