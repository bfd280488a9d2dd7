"""What is done first, by the reason it is done for: the table first_step.toml, the first row that fits."""

from collections.abc import Sequence

import polars as pl

from collection.risk.parameters import Strict, read
from collection.risk.rates import RatesTable
from schemas.vocabularies import vocabulary

STEPS = pl.Schema({"attention": pl.String, "rule": pl.String, "rate_row": pl.Int32, "step_no": pl.Int32})
FILE = "first_step"
c = pl.col


class FirstStep(Strict):
    """A step and what it is for: a named reason, or hazards whose terms are in the lists; an absent list fits all."""

    step: str
    title: str = "More"
    rule: str | None = None
    damage: tuple[str, ...] = ()
    stages: tuple[int, ...] = ()
    activity: tuple[str, ...] = ()
    use: tuple[str, ...] = ()
    stability: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()


def first_steps() -> Sequence[FirstStep]:
    """The rows of the table, hardest first. Raises VocabularyError."""
    return read(tuple[FirstStep, ...], FILE, FILE)


def with_step(reasons: pl.LazyFrame, rates: RatesTable) -> pl.LazyFrame:
    """Adds step_no and step to reasons (schema REASON, with attention): the first row of the table that fits each."""
    steps = first_steps()
    joined = reasons.join(_of_rows(rates, steps), on="rate_row", how="left", maintain_order="left")
    fits = [pl.when(_fits(step, number)).then(pl.lit(number, pl.Int32)) for number, step in enumerate(steps)]
    words = {number: step.step for number, step in enumerate(steps)}
    numbered = joined.with_columns(step_no=pl.coalesce(*fits)).drop("step_rows")
    return numbered.with_columns(step=c("step_no").replace_strict(words, default=None, return_dtype=pl.String))


def _fits(step: FirstStep, number: int) -> pl.Expr:
    of_class = c("attention").is_in(step.classes) if step.classes else pl.lit(value=True)
    if step.rule is not None:
        return of_class & (c("rule") == step.rule)
    if step.damage or step.use:
        return of_class & (c("rule") == "") & c("step_rows").list.contains(number).fill_null(value=False)
    return of_class


def _of_rows(rates: RatesTable, steps: Sequence[FirstStep]) -> pl.LazyFrame:
    """rate_row and step_rows: numbers of the steps whose lists its terms are in."""
    flags = [pl.when(_row_fits(step)).then(pl.lit(number)) for number, step in enumerate(steps)]
    return rates.rows.lazy().select("rate_row", step_rows=pl.concat_list(flags).list.drop_nulls())


def _row_fits(step: FirstStep) -> pl.Expr:
    kinds, stages = (step.damage, step.activity), step.stages
    is_damage = c("term").is_in(vocabulary("damage").term) & c("term").is_in(kinds[0])
    damage = is_damage & _any_of("state", kinds[1])
    staged = damage & c("stage").is_in(stages) if stages else damage
    repair = c("term").is_in(step.use) & _any_of("state", step.stability)
    return staged | repair


def _any_of(column: str, terms: Sequence[str]) -> pl.Expr:
    return c(column).is_in(terms) if terms else pl.lit(value=True)
