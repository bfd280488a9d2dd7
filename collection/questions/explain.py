"""Why an object is ranked as it is: its hazards as rows, what each contributes, and the sentence a person would say."""

import polars as pl

from collection.facts.facts import Facts
from collection.facts.wording import with_phrase
from collection.frames import returns
from collection.questions.triage import Triage
from collection.questions.words import count, percent, rough_words, two_figures, upward_words
from collection.risk.hazards import HAZARDS
from collection.risk.namespace import POLARS
from collection.risk.series import expm1

EXPLAINED = pl.Schema({**HAZARDS, "contribution": pl.Float64(), "assumed": pl.String(), "words": pl.String()})
# Column that says so, and the words for what nobody had written down.
ASSUMED = {
    "state_assumed": "its state",
    "extent_assumed": "its extent",
    "share_assumed": "the part's share of value",
    "area_estimated": "the area of enamel, from its dimensions",
    "area_assumed": "its size",
}
AS_FAST = two_figures(1)  # a pace of so many times is not said
LEAST_CONTRIBUTION = 0.01  # contributions below this are told in one line together
c = pl.col


@returns(EXPLAINED)
def explain(triage: Triage, object_id: str) -> pl.DataFrame:
    """Hazards of one object, largest contribution first, schema EXPLAINED.

    contribution [fraction of annual_loss] sums to 1: the part's loss, shared within the part by log_kept. annual_loss
    is the sum over parts of part_share x (1 - exp(sum of log_kept)): the rows alone give the number again. log_kept is
    log(1 - reach x (1 - exp(-loss_rate x loss_depth))), of rows that lie on one spot (`nested`) the share of it that
    the nested union leaves. `assumed` names what nobody had written down.
    """
    mine = triage.risk.hazards.filter(c("object_id") == object_id).sort("part", "hazard_id")
    if mine.is_empty():
        return EXPLAINED.to_frame()
    facts = Facts(triage.collection, triage.risk, triage.rates, (object_id,), worded=True)
    phrased = with_phrase(facts.hazards, facts).select("hazard_id", "part", "phrase").collect(engine="in-memory")
    named = _with_loss(mine).join(phrased, on=["hazard_id", "part"], how="left", maintain_order="left")
    contribution = (
        pl.when(c("expected_loss").sum() > 0).then(c("expected_loss") / c("expected_loss").sum()).otherwise(0.0)
    )
    worded = named.with_columns(contribution=contribution, assumed=_assumed())
    sentences = [_sentence(row) for row in worded.iter_rows(named=True)]
    full = worded.with_columns(words=pl.Series(sentences, dtype=pl.String))
    return full.select(*EXPLAINED).sort("contribution", "hazard_id", descending=[True, False])


def lines_to_read(rows: pl.DataFrame) -> list[tuple[float, str]]:
    """Contributions and sentences a person reads: none under 1 % of the object, what is less in one line."""
    large = rows.filter(c("contribution") >= LEAST_CONTRIBUTION)
    lines = list(large.select("contribution", "words").iter_rows())
    rest = rows.height - large.height
    if rest and lines:
        little = rows.filter(c("contribution") < LEAST_CONTRIBUTION)["contribution"].sum()
        lines.append((float(little), f"and {rest} more, together"))
    return lines


def share_words(share: float) -> str:
    """*86 %*, *under 1 %*."""
    return (
        f"{share:.0%}".replace("%", " %")
        if share >= LEAST_CONTRIBUTION
        else f"under {LEAST_CONTRIBUTION:.0%}".replace("%", " %")
    )


def risk_sentence(triage: Triage, object_id: str) -> str:
    """What is expected of one object, how rough that is, and beside it what nobody has checked."""
    row = triage.risk.objects.filter(c("object_id") == object_id).row(0, named=True)
    if not row["annual_loss"]:
        return _nothing(row)
    lines = triage.rates.lines
    rough = rough_words(row["unsure_times"]) if row["unsure_times"] >= lines.unsure_from_times else ""
    upward = upward_words(row, lines.unsure_upward_from_times)
    size = "its size is not recorded: measure it first" if row["size_assumed"] else ""
    value = "its value is not judged yet" if row["value_assumed"] else ""
    first = f"{percent(row['annual_loss'])} of this object's value a year, if nothing is done"
    return "; ".join(words for words in (first, rough, upward, size, value) if words)


def _nothing(row: dict[str, object]) -> str:
    if row["last_checked_on"] is None:
        expected = row["unchecked_loss"]
        if isinstance(expected, float) and expected > 0:
            return f"not yet checked; judged by its kind, {percent(expected)} of its value a year"
        return "not yet checked"
    return "checked, and nothing found that could cost it material"


def _with_loss(mine: pl.DataFrame) -> pl.DataFrame:
    """Adds expected_loss, what each hazard takes of the object's value within 12 months; they sum to annual_loss."""
    with_part = mine.with_columns(part_log=c("log_kept").sum().over("part"))
    loss = c("part_share") * -expm1(POLARS, c("part_log")) * c("log_kept") / c("part_log")
    return with_part.with_columns(expected_loss=pl.when(c("part_log") < 0).then(loss).otherwise(0.0))


def _assumed() -> pl.Expr:
    """What was assumed, as one text; empty where nothing was."""
    extent = c("extent_basis") == "assumed"
    flags = {flag: extent if flag not in HAZARDS else c(flag) for flag in ASSUMED}
    words = [pl.when(flags[flag]).then(pl.lit(words)) for flag, words in ASSUMED.items()]
    return pl.concat_str(*words, separator=", ", ignore_nulls=True)


def _sentence(row: dict[str, object]) -> str:
    """*active lifting on the gable plaque, seen 2 May 2024: about 1 % of the object's value a year; about 3 years*"""
    f = {name: value for name, value in row.items() if isinstance(value, float)}
    likely = f["years_likely"]
    years = f"about {two_figures(likely)} {'year' if likely == 1 else 'years'} to the next loss "
    years += f"({two_figures(f['years_short'])} to "
    words = [
        f"{row['phrase']}: {percent(f['expected_loss'])} of the object's value a year",
        f"{years}{two_figures(f['years_long'])}; {row['basis']})",
    ]
    slower, faster = two_figures(1 / f["quiet_factor"]), two_figures(f["modifier"])
    if slower != AS_FAST:
        seen = count(round(f["quiet_years"]), "year")
        words.append(f"unchanged over {seen}, so taken as {slower} times slower")
    if faster != AS_FAST:
        words.append(f"{faster} times as fast in its climate since the last check")
    if f["planned_rate"] > 0:
        words.append(f"about {two_figures(f['planned_rate'])} such losses expected from the journeys planned")
    if f["handling_rate"] > f["planned_rate"]:
        words.append(f"about {two_figures(f['handling_rate'] - f['planned_rate'])} a year from being moved")
    return "; ".join(words)
