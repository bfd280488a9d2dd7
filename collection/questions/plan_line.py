"""One line of a plan explained: its option, and what each hazard of its object is expected to take either way."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.plan.exposure import Exposure, Jobs, PlaceStates, exposure
from collection.plan.parameters import planning
from collection.plan.places import NO_PLACE
from collection.plan.plan import Plan
from collection.plan.program import jobs_of
from collection.plan.worth import loss_of, share_left
from collection.planning.options import learned_of
from collection.questions.backlog import HOURS
from collection.questions.explain import explain
from collection.questions.triage import Triage
from collection.questions.words import count, percent, two_figures
from collection.questions.year_plan import money_words, worth_words
from schemas.vocabularies import vocabulary

# Losses over the horizon [share of the object's value] of one hazard by itself; rate_left: share of its rate that the
# planned options leave, null where they do not act on it.
LINE_HAZARDS = pl.Schema(
    {"hazard": pl.String(), "part": pl.String()}
    | dict.fromkeys(("rate_left", "loss_without", "loss_with"), pl.Float64())
)
Array = npt.NDArray[np.float64]
c = pl.col


@dataclass(frozen=True)
class Chosen:
    """What a plan does to one object: jobs (one row), and the state of its place."""

    jobs: Jobs
    state: PlaceStates


@returns(LINE_HAZARDS)
def line_hazards(triage: Triage, plan: Plan, object_id: str) -> pl.DataFrame:
    """Hazards of an object, what takes most first, schema LINE_HAZARDS: each by itself, if nothing is done and with the
    plan. They do not add up to the object's loss: what one has taken another cannot take again.
    """
    chosen = _chosen(plan, object_id)
    mine = plan.basis.program.situation.hazards.filter(c("object_id") == object_id).sort("part", "hazard_id")
    words = explain(triage, object_id).select("hazard_id", "part", hazard="words")
    effects = plan.basis.program.situation.effects.filter(c("option_id").is_in(_options(plan, object_id)))
    left = effects.group_by("hazard_id").agg(rate_left=c("rate_left").product())
    nothing = Chosen(Jobs(chosen.jobs.objects, chosen.jobs.options * 0 - 1, chosen.jobs.years * 0), NO_PLACE.arrays())
    rows = mine.with_columns(loss_without=_loss_alone(plan, nothing), loss_with=_loss_alone(plan, chosen))
    joined = rows.join(words, on=["hazard_id", "part"], how="left").join(left, on="hazard_id", how="left")
    ordered = joined.sort("loss_without", "hazard_id", descending=[True, False])
    return ordered.select(c(n).cast(t) for n, t in LINE_HAZARDS.items())


def line_sentences(triage: Triage, plan: Plan, option_id: str) -> list[str]:
    """What a treatment of the plan is, what it takes, and why it stands in the plan."""
    line = plan.lines.row(by_predicate=c("option_id") == option_id, named=True)
    option = triage.collection["option"].row(by_predicate=c("option_id") == option_id, named=True)
    chosen, table = _chosen(plan, line["object_id"]), plan.basis.program.table
    with_plan = loss_of(table, _exposed(plan, chosen), table.reach)[0, 0]
    objects = plan.basis.program.situation.objects["object_id"].to_list()
    value = plan.basis.program.situation.values[line["object_id"]]
    now = plan.basis.program.loss_now[objects.index(line["object_id"])] / value if value else 0.0
    horizon = f"{plan.horizon:g} years"
    return [
        f"{_steps(option)}, planned for {line['year']}: {_hours_words(triage, option, line)}.",
        f"If nothing is done, the object is expected to lose {percent(now)} of its value in {horizon}; with the plan"
        f" {percent(with_plan)}.",
        *_besides(option, must=line["must"]),
    ]


def place_sentence(triage: Triage, plan: Plan, option_id: str) -> str:
    """*Microclimate for Lower Store in 2027, for 3,200 GBP: it acts on 118 objects; without it ...*"""
    line = plan.places.row(by_predicate=c("option_id") == option_id, named=True)
    money = money_words(f"{line['money']:,.0f}", plan.basis.program.situation.currency)
    option = triage.collection["option"].row(by_predicate=c("option_id") == option_id, named=True)
    names = dict(triage.collection["location"].select("location_id", "name").iter_rows())
    objects = plan.basis.program.situation.protected.filter(c("option_id") == option_id).height
    return (
        f"{_steps(option)} for {names.get(line['location_id']) or line['location_id']} in {line['year']}, for"
        f" {money}: it acts on {count(objects, 'object')}; without what is done to that place"
        f" {worth_words(plan, line['worth'])} more would be lost."
    )


def _steps(option: Mapping[str, Any]) -> str:
    labels = vocabulary("treatment_step").labels()
    return ", ".join(labels.get(step, step) for step in option["steps"] or ()) or f"Proposal {option['option_id']}"


def _hours_words(triage: Triage, option: Mapping[str, Any], line: Mapping[str, Any]) -> str:
    """*about 13 hours of enamel conservator, from an estimate of 11 (8 to 16) and ...; 10 for materials*."""
    skill = vocabulary("skill").labels().get(option["skill"], option["skill"] or "").lower()
    words = f"about {two_figures(line['hours'])} hours{f' of {skill}' if skill else ''}"
    low, likely, high = (option[n] for n in HOURS)
    between = f" ({low:g} to {high:g})" if low is not None and high is not None else ", one figure"
    estimate = f"the estimate is {likely:g}{between}" if likely is not None else "nobody estimated them"
    learned = learned_of(triage.collection, planning()).filter(c("first_step") == (option["steps"] or [""])[0])
    taught = [
        f"{count(n, 'finished treatment')} of this kind took {two_figures(times)} times their estimate"
        for n, times in learned.select("n", "times").iter_rows()
    ]
    return "; ".join([f"{words}: {estimate}, with documentation", *taught, f"money {line['money']:,.0f}"])


def _besides(option: Mapping[str, Any], *, must: bool) -> list[str]:
    """What else a person should know of the option."""
    requires = vocabulary("qualified").labels().get(option["requires"], option["requires"])
    loss = option["loss_in_doing"]
    sentences = (
        must and "It must be done, whatever it prevents.",
        requires and f"It needs: {requires.lower()}.",
        loss and f"The treatment itself may cost {percent(loss)} of the value.",
        option["setup_group"] and f"It shares set-up work with others of one year ({option['setup_group']}).",
    )
    return [words for words in sentences if words]


def _chosen(plan: Plan, object_id: str) -> Chosen:
    """What the plan does to an object."""
    program, selection = plan.basis.program, plan.basis.selection
    block = next(n for n, members in enumerate(program.blocks) if object_id in members)
    choice = selection.choices[block : block + 1]
    jobs, _ = jobs_of(program, choice, program.options[choice], program.years[choice])
    place = int(program.place_of[block])
    mine = np.array([program.blocks[block].index(object_id)])
    return Chosen(jobs[mine], program.places[place].arrays()[int(selection.states[place])])


def _options(plan: Plan, object_id: str) -> list[str]:
    """Options of the object that are planned."""
    return plan.lines.filter(c("object_id") == object_id)["option_id"].to_list()


def _exposed(plan: Plan, chosen: Chosen) -> Exposure:
    return exposure(plan.basis.program.table, chosen.jobs, chosen.state, plan.horizon)


def _loss_alone(plan: Plan, chosen: Chosen) -> pl.Series:
    """What each hazard of the object takes by itself, in order of part and hazard; nothing that options left behind."""
    table, exposed = plan.basis.program.table, _exposed(plan, chosen)
    own = exposed.hazard < table.added_from
    hazard = exposed.hazard[own]
    left: Array = share_left(table, exposed)[own, 0]
    return pl.Series(table.part_share[hazard] * table.reach[hazard] * (1 - left), dtype=pl.Float64)
