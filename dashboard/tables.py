"""A frame as it is shown and downloaded: headings in words, classes with their shapes; CSV that no spreadsheet runs."""

from collections.abc import Mapping, Sequence

import polars as pl

from collection.store.package import guarded
from dashboard import theme
from schemas.vocabularies import vocabulary

HEADINGS: Mapping[str, str] = {
    "line": "No.",
    "what": "What",
    "cell": "Row of the rates",
    "starting": "Years to the next loss, starting value",
    "learned": "Learned from checks",
    "events": "Losses",
    "exposure_years": "Years watched [year]",
    "chosen": "In use",
    "mean_rate": "Losses a year, mean [1/year]",
    "chance_of_spread": "Chance that objects differ [1]",
    "spread": "How far they differ [1]",
    "starting_years_short": "Starting value, short [year]",
    "starting_years_likely": "Starting value, likely [year]",
    "starting_years_long": "Starting value, long [year]",
    "years_short": "Learned, short [year]",
    "years_likely": "Learned, likely [year]",
    "years_long": "Learned, long [year]",
    "by": "By",
    "lost_share": "Lost [% of the collection's value]",
    "mean_chance": "Chance forecast [1]",
    "share": "Share in which it happened [1]",
    "share_low": "At least [1]",
    "share_high": "At most [1]",
    "expected": "Losses expected",
    "brier": "Error of the forecasts (Brier) [1]",
    "reference": "Error with one rate for all [1]",
    "skill": "Better than one rate for all [1]",
    "skill_low": "At least better by [1]",
    "skill_high": "At most better by [1]",
    "best_skill": "Best possible [1]",
    "object_id": "Number",
    "heed": "First of all",
    "because": "Because",
    "label": "Attention",
    "risk": "Expected loss, in words",
    "reasons": "Why",
    "first_step": "First step",
    "hours": "Hours [h]",
    "reach": "Reached",
    "last_checked_on": "Last checked",
    "name": "Place",
    "need_attention": "Need attention now",
    "repairs": "From earlier repairs [% of the collection's value a year]",
    "journeys": "From planned journeys [% of the collection's value a year]",
    "climate": "From a climate grown worse [% of the collection's value a year]",
    "not_checked": "Not yet checked [% of the collection's value a year]",
    "expected_loss": "Expected loss [% of the collection's value a year]",
    "collection_loss": "Expected loss [% of the collection's value a year]",
    "share_of_seen": "Share of objects checked [1]",
    "share_damaged": "Share with damage [1]",
    "seen": "Checked",
    "damaged": "With damage",
    "active": "Of these moving",
    "hours_low": "Hours, low [h]",
    "hours_likely": "Hours, likely [h]",
    "hours_high": "Hours, high [h]",
    "no_hours": "Objects with no hours",
    "remark": "Remark in the catalogue",
    "checked_first": "First checks of the kind",
    "above_limit": "Of these above the limit",
    "chance": "Chance above the limit [1]",
    "expected_objects": "Expected above the limit",
    "basis": "Whose value",
    "hazards": "Damages and repairs",
    "total_short": "Total with the short years [times]",
    "total_long": "Total with the long years [times]",
    "changed_in_first": "Changed in the first 20",
    "loan_id": "Loan",
    "how_far": "How far it is",
    "party": "Borrower or lender",
    "purpose": "What for",
    "next": "What is next",
    "leaves_on": "First day",
    "back_on": "Last day",
    "objects": "Objects",
    "fit": "Fit to travel",
    "conditions": "Under conditions",
    "not_fit": "Not to be packed",
    "crate_no": "Crate",
    "travels": "May it travel?",
    "verdict_words": "May it travel?",
    "fit_when": "It would be fit when",
    "takes": "It takes",
    "time": "Is there time?",
    "quantity": "Limit",
    "agreed": "Agreed for this loan",
    "needs": "This object needs",
    "fits": "Do they fit?",
    "reason": "Why it needs that",
    "before_packing": "To be done before packing",
    "number": "First cell",
    "to_do": "What to do",
    "cause": "Most of it from",
    "inside": "Inside what is needed [1]",
    "below": "Below [1]",
    "above": "Above [1]",
    "swing": "Too wide a swing [1]",
    "days": "Days",
    "air": "Air measured in",
    "faults": "Faults open",
    "due": "To renew",
    "prevented": "Mending prevents [% of value a year]",
    "of_loss": "Of the loss there [1]",
    "suits": "Places that would suit",
    "refused": "Why there is no figure",
    "more_loss": "Rank",
    "seen_on": "Noticed",
    "renewed_on": "Renewed",
    "due_on": "Due",
    "middle": "Middle",
    "peak": "Highest",
    "recorded": "On record then",
    "excess": "Beyond, times days",
    "unit": "Unit",
    "settled_by": "Dealt with by",
    "contribution": "Share of the loss [1]",
    "words": "What it is",
    "on": "From",
    "until": "To",
    "lane": "Of",
    "hazard": "What may cost it material",
    "steps": "What is done",
    "option_id": "Proposal",
    "money": "Money",
    "worth_percent": "Prevents [% of value]",
    "worth_money": "Prevents [insured value]",
    "prevented_percent": "Prevented [% of value]",
    "prevented_money": "Prevented [insured value]",
    "gain_percent": "Prevents more [% of value]",
    "gain_money": "Prevents more [insured value]",
    "price_percent": "One more would prevent [% of value]",
    "price_money": "One more would prevent [insured value]",
    "loss_expected_percent": "Would be lost [% of value]",
    "loss_expected_money": "Would be lost [insured value]",
    "must": "Must be done",
    "in_draws": "In how many draws [1]",
    "why": "Why it is left undone",
    "way": "How the plan is chosen",
    "times": "Times the money",
    "asked": "This plan's budget",
    "if_judged": "If judged otherwise",
    "come": "Objects that come in",
    "go": "Objects that go",
    "amount": "More by",
    "fund": "Fund",
    "spend_by": "To be spent by",
    "limit": "There is",
    "figure": "In figures",
    "rate_left": "Share of the rate left [1]",
    "loss_without": "Takes if nothing is done [1]",
    "loss_with": "Takes with the plan [1]",
    "check_worth_percent": "A check is worth [% of value]",
    "budget": "With",
    "hours_a_year": "Hours done a year [h]",
    "waiting": "Waiting [h]",
    "low": "At least [h]",
    "high": "At most [h]",
    "treatments": "Treatments",
    "decided": "Decided to be treated",
    "finished": "Treatments finished",
    "of_estimate": "Took, of their estimate [times]",
    "planned_with": "Planned with [times]",
    "stands": "How it stands",
    "hours_planned": "Hours planned [h]",
    "money_planned": "Money planned",
    "together": "With the loan",
    "without": "Without it",
    "of_loan": "For the loan",
    "needed": "Needed",
    "available": "There is",
    "lacking": "To ask for",
}
# What a label names, by the column of terms beside it.
LABELS: Mapping[str, str] = {"grade": "Grade", "kind": "Damage"}
SHARES = (
    "inside",
    "below",
    "above",
    "swing",
    "of_loss",
    "share_damaged",
    "share_of_seen",
    "contribution",
    "rate_left",
    "loss_without",
    "loss_with",
    "in_draws",
)
READ_PERCENT = "_percent"  # ends the name of a column that is in per cent already
PERCENT = 100  # in a whole
OF_COLLECTION = ("prevented", "repairs", "journeys", "climate", "not_checked", "expected_loss", "collection_loss")
HIDDEN = ("attention", "kind", "grade", "location_id", "sha256", "mark", "version")


def shown(frame: pl.DataFrame, **headings: str) -> pl.DataFrame:
    """The frame as a person sees it; `headings` go before those every page shares."""
    columns = [n for n in frame.columns if n not in HIDDEN]
    named = _with_shapes(frame) if {"attention", "label"} <= set(frame.columns) else frame
    return named.select(_value(n).alias(headings.get(n) or heading(n, frame.columns)) for n in columns)


def _value(name: str) -> pl.Expr:
    """A column as shown: what is of the collection's value in per cent, two figures."""
    if name.endswith(READ_PERCENT):
        return pl.col(name).round_sig_figs(2)
    return (pl.col(name) * PERCENT).round_sig_figs(2) if name in OF_COLLECTION else pl.col(name)


def heading(name: str, frame_columns: Sequence[str] = ()) -> str:
    """What stands above a column; `beside` are the columns of its frame."""
    if name == "label" and (named := [words for column, words in LABELS.items() if column in frame_columns]):
        return named[0]
    return HEADINGS.get(name) or name.replace("_", " ").capitalize()


def csv(frame: pl.DataFrame) -> bytes:
    """The shown frame as UTF-8 CSV, with the mark that spreadsheets need for accents.

    Text that a spreadsheet would run gets one more `'` in front.
    """
    guarded_names = {n: n if not n.startswith(("=", "+", "-", "@", "'")) else f"'{n}" for n in frame.columns}
    texts = [n for n, t in frame.schema.items() if t == pl.String]
    return (
        frame.with_columns(guarded(pl.col(n)).alias(n) for n in texts)
        .rename(guarded_names)
        .write_csv(include_bom=True)
        .encode()
    )


def _with_shapes(frame: pl.DataFrame) -> pl.DataFrame:
    marked = {term: theme.marked(term) for term in vocabulary("attention").term}
    return frame.with_columns(label=pl.col("attention").replace_strict(marked, return_dtype=pl.String))
