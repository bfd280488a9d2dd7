"""Growth of each damage of an object that was measured more than once, in words and as figures."""

import polars as pl

from collection.frames import returns
from collection.learning.parameters import lines
from collection.questions.estimate import Estimate, estimate, refused
from collection.questions.triage import Triage
from collection.questions.words import day_in_words, two_figures
from collection.risk.years import LIMIT_90
from collection.trends.growth_of_one import (
    GROWN,
    GROWTH,
    HARDER,
    PERHAPS,
    Line,
    Repeatability,
    growth_of_one,
    measurements,
    repeatability,
    straight_line,
)
from collection.trends.parameters import trends
from collection.trends.visits import visits
from schemas.vocabularies import vocabulary

UNITS = {"length_mm": "mm", "area_mm2": "mm²", "count": "number"}
RENAMED = {"low": "size_low", "high": "size_high"}
GROWTHS = pl.Schema(
    [
        *((n, pl.String()) for n in ("damage_id", "label", "size_unit")),
        *((RENAMED.get(n, n), t) for n, t in GROWTH.items()),
    ]
)
c = pl.col


@returns(GROWTHS)
def growths(triage: Triage, object_id: str) -> pl.DataFrame:
    """Measurements of each damage that has two or more, with their errors and what each says, schema GROWTHS."""
    every = measurements(triage.collection, visits(triage.collection, triage.risk.checks))
    mine = triage.collection["damage"].filter(c("object_id") == object_id)
    rows = every.join(mine.select("damage_id"), on="damage_id", how="semi", maintain_order="left")
    several = rows.filter(pl.len().over("damage_id") > 1)
    repeated = repeatability(every, trends())
    labels = vocabulary("damage").labels()
    names = {
        number: f"{labels.get(kind, kind)}, {part} ({number})"
        for number, kind, part in mine.select("damage_id", "kind", "part").iter_rows()
    }
    frames = [
        _one(triage, its, repeated)
        .rename(RENAMED)
        .with_columns(
            damage_id=pl.lit(number),
            label=pl.lit(names[number]),
            size_unit=pl.format("size [{}]", c("unit").replace_strict(UNITS)),
        )
        for (number,), its in several.partition_by("damage_id", as_dict=True).items()
    ]
    return pl.concat([pl.DataFrame(schema=GROWTHS), *(frame.select(*GROWTHS) for frame in frames)])


def _one(triage: Triage, rows: pl.DataFrame, repeated: Repeatability) -> pl.DataFrame:
    assumed = (triage.rates.area_range.measured - 1) / LIMIT_90
    return growth_of_one(rows, repeated, lines(), trends(), assumed)


def sentences(rows: pl.DataFrame) -> list[str]:
    """*Lifting, foot (D12): grew between 3 May 2019 and 12 April 2021; 12 mm² more a year (5 to 19) by four
    measurements.* One for each damage; `rows`: schema GROWTHS.
    """
    return [_sentence(its) for its in rows.partition_by("damage_id", maintain_order=True)]


def _sentence(its: pl.DataFrame) -> str:
    label, unit = its["label"][0], UNITS[its["unit"][-1]]
    grown = its.filter(c("what") == GROWN)
    days = grown.select("grown_after", "grown_by").rows()
    spans = [f"between {day_in_words(a)} and {day_in_words(b)}" for a, b in days]
    last = its.row(-1, named=True)
    if spans:
        what = f"grew {', and '.join(spans)}"
    elif last["what"] == PERHAPS:
        what = f"perhaps grown since {day_in_words(its['seen_on'][0])}: measure again"
    elif last["what"] == HARDER:
        what = "the last check looked more closely: what is more may only have been found then"
    elif last["detectable"] is None:
        what = "nothing to compare with yet"
    else:
        what = f"no change detected; less than {two_figures(last['detectable'])} {unit} is no more than error"
    return f"{label}: {what}; {_line_words(straight_line(its, trends()), unit)}."


def _line_words(line: Line | str, unit: str) -> str:
    if isinstance(line, str):
        return line
    slope, low, high = (two_figures(x) for x in (line.slope, line.low, line.high))
    return f"{slope} {unit} a year ({low} to {high}) by {line.measurements} measurements"


def error_sentence(rows: pl.DataFrame) -> str:
    """Where the errors of the measurements come from."""
    sources = ", ".join(f"{n} {name}" for name, n in rows["error_from"].value_counts(sort=True).iter_rows())
    return f"Errors of the measurements: {sources}. Lines are 95 % limits; the straight line's limits are 90 %."


def estimates_of(rows: pl.DataFrame) -> list[dict[str, object]]:
    """Growth a year of each damage for programs."""
    return [
        {"damage_id": its["damage_id"][0], "growth_a_year": _estimate(straight_line(its, trends()))}
        for its in rows.partition_by("damage_id", maintain_order=True)
    ]


def _estimate(line: Line | str) -> Estimate:
    if isinstance(line, str):
        return refused(line, method=Line.method)
    return estimate(line.slope, line.low, line.high, line.measurements, line.method)
