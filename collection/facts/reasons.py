"""One reason for a class of attention: the object, what it rests on, and the words; rules return frames of these."""

import polars as pl

DANGER = "danger"  # hazard_id of a danger to people: danger:AGENT

REASON = pl.Schema(
    {"object_id": pl.String, "rule": pl.String, "rate_row": pl.Int32, "hazard_id": pl.String}
    | {"location_id": pl.String, "fault": pl.String, "since": pl.Date, "loss": pl.Float64, "reason": pl.String}
)


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
