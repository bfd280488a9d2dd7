"""The wording of reasons: what one rests on, a hazard as a person would name it, the day as somebody wrote it.

A reason for a class of attention has the object, what it rests on, and the words; rules return frames of these.
"""

import polars as pl

from collection.facts.facts import Facts
from collection.risk.rate_rows import REPAIR
from schemas.terms import RepairFunction, Stability
from schemas.vocabularies import terms, vocabulary

DANGER = "danger"  # hazard_id of a danger to people: danger:AGENT
REASON = pl.Schema(
    {"object_id": pl.String, "rule": pl.String, "rate_row": pl.Int32, "hazard_id": pl.String}
    | {"location_id": pl.String, "fault": pl.String, "since": pl.Date, "loss": pl.Float64, "reason": pl.String}
)
DAY, MONTH = "0000-00-00", "0000-00"  # lengths of a day and of a month as written
c = pl.col


def reasoned(rows: pl.LazyFrame, words: pl.Expr, rule: str = "", **known: pl.Expr | str) -> pl.LazyFrame:
    """Rows of schema REASON: `words` for each row, `rule` the name of a reason that rests on no hazard, the rest null.

    loss [fraction of the object's value a year] orders the reasons of an object; since is the day it was last seen.
    """
    given: dict[str, pl.Expr] = {n: pl.col(e) if isinstance(e, str) else e for n, e in known.items()}
    given |= {"rule": pl.lit(rule), "reason": words}
    return rows.select(
        "object_id", *(given.get(n, pl.lit(None)).cast(t).alias(n) for n, t in REASON.items() if n != "object_id")
    )


def of_hazards(hazards: pl.LazyFrame, words: str, rule: str = "") -> pl.LazyFrame:
    """Reasons that each rest on one hazard: *active lifting on the lid, seen 4 September 2026: WORDS*."""
    sentence = pl.format("{}: {}", "phrase", pl.lit(words)) if words else pl.col("phrase")
    loss = pl.col("part_share") * (1 - pl.col("log_kept").exp())
    return reasoned(hazards, sentence, rule, rate_row="rate_row", hazard_id="hazard_id", since="seen_on", loss=loss)


def written_day(name: str) -> pl.Expr:
    """A partial date as written, in words: *10 September 2026*, *September 1976*, *1986*."""
    length = c(name).str.len_chars()
    day = c(name).str.to_date("%Y-%m-%d", strict=False).dt.strftime("%-d %B %Y")
    month = (c(name) + "-01").str.to_date("%Y-%m-%d", strict=False).dt.strftime("%B %Y")
    words = pl.when(length == len(DAY)).then(day).when(length == len(MONTH)).then(month)
    return pl.coalesce(words, c(name))


def day_words(name: str) -> pl.Expr:
    """A day in words: *10 September 2026*."""
    return c(name).dt.strftime("%-d %B %Y")


def with_phrase(hazards: pl.LazyFrame, facts: Facts) -> pl.LazyFrame:
    """Adds `phrase`; `hazards` has the columns of HAZARDS and of TRAITS. Empty unless the facts are to be worded."""
    if not facts.worded:
        return hazards.with_columns(phrase=pl.lit(""))
    checks = facts.risk.checks.lazy().select("check_id", "dated", remark=_of_remark())
    repairs = facts.of("repair").select("done_on", _key=pl.format("{}:{}", pl.lit(REPAIR), "repair_id"))
    known = hazards.join(checks, on="check_id", how="left", maintain_order="left").join(
        repairs, left_on="hazard_id", right_on="_key", how="left", maintain_order="left"
    )
    place = pl.when(c("part_share") < 1).then(pl.format(" on the {}", "part")).otherwise(pl.lit(""))
    what = pl.when(c("source") == REPAIR).then(_repair()).otherwise(_damage())
    return known.with_columns(phrase=pl.concat_str(what, place, _seen())).drop("dated", "remark", "done_on")


def _of_remark() -> pl.Expr:
    return c("look").is_in(vocabulary("look").terms_where("from_catalogue"))


def _seen() -> pl.Expr:
    """Since when it is known, as written; what nobody assessed is said so."""
    noted = pl.when("remark").then(pl.format(" noted {}, not checked since", written_day("dated")))
    unsaid = c("not_assessed") & (c("source") != REPAIR) & c("dated").is_not_null()
    unassessed = pl.when(unsaid).then(pl.format(", not assessed at the check of {}", written_day("dated")))
    seen = pl.when(c("dated").is_not_null()).then(pl.format(", seen {}", written_day("dated")))
    return pl.coalesce(noted, unassessed, seen, pl.lit(", never assessed"))


def _damage() -> pl.Expr:
    """*active lifting*; the activity is left out where nobody assessed it."""
    return pl.when("not_assessed").then("term_words").otherwise(pl.format("{} {}", "state_words", "term_words"))


def _repair() -> pl.Expr:
    """*polyurethane coating of 1974 harms what it lies on*."""
    uses = terms("repair_function", RepairFunction)
    nouns = c("term").replace_strict({use: its.noun for use, its in uses.items()}, default=c("term"))
    words = {state: its.words for state, its in terms("stability", Stability).items()}
    when = pl.when(c("done_on").is_not_null()).then(pl.format(" of {}", written_day("done_on"))).otherwise(pl.lit(""))
    does = c("state").replace_strict(words, default="")
    own = c("material_words").str.ends_with(nouns)  # *wax coating*, not *wax coating coating*
    what = pl.when(own).then("material_words").otherwise(pl.concat_str("material_words", pl.lit(" "), nouns))
    return pl.concat_str(what, when, pl.lit(" "), does)
