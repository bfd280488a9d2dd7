"""`enamels survey`: how many to look at, draw them, carry a list, what they say of all, whether examiners agree."""

from pathlib import Path
from typing import Any

import click
import polars as pl

from collection import pipeline
from collection.commands.documents_out import out_option, write_pdf, write_workbook, written
from collection.commands.filter_options import filter_options, selection_of
from collection.commands.options import as_of_option, by_option, json_option, store_option, written_store_option
from collection.commands.output import Answer, emit
from collection.documents.lists import walk_list
from collection.documents.sheet import workbook
from collection.questions import agreement, surveys
from collection.questions.selection import select
from collection.questions.survey_plan import (
    BY,
    drawn_sentence,
    frame_of,
    grouped_sentence,
    groups_of,
    margins_of,
    plan_sentence,
    survey_sheet,
    survey_walk,
)
from collection.questions.triage import Triage
from collection.questions.words import count, coverage_sentence
from collection.recording.surveys import Purpose, note_survey
from collection.settings import as_of_day
from collection.store import Store
from collection.surveys.design import Design
from collection.surveys.outcomes import progress
from collection.surveys.parameters import surveys as figures
from schemas.errors import NotFound, WrongUsage
from schemas.vocabularies import vocabulary


@click.group()
def survey() -> None:
    """Plan a survey, draw its objects at random, list them, and say what their checks show of all the others.

    Drawn before anybody checks an object, with a seed that is stored: the same seed gives the same objects.
    """


def design_options(command: Any) -> Any:
    """What a survey is drawn by."""
    for option in reversed((
        click.option("--design", type=click.Choice(list(vocabulary("sampling").term)), default=None, show_default=True,
                     help="Objects at random, by groups, by places, or all."),
        click.option("--groups", type=click.Choice(list(BY)), default="technique", show_default=True,
                     help="What groups are made by, for a design by groups."),
        click.option("--margin", type=click.FloatRange(0.001, 0.5), default=None, help="Of a share, either way; 0.05."),
        click.option("--size", type=click.IntRange(1), default=None, help="Objects, in place of the margin."),
        click.option("--in-a-place", type=click.IntRange(1), default=None, help="Objects of each place drawn."),
    )):  # fmt: skip
        command = option(command)
    return filter_options(command)


@survey.command(epilog="Example: enamels survey plan --design stratified --groups place --margin 0.05")
@design_options
@as_of_option
@store_option
@json_option
def plan(as_of: str | None, store_path: Path, as_json: bool, **typed: Any) -> None:
    """How many objects to look at for a margin, and of which groups."""
    triage = _assessed(store_path, as_of)
    design, frame, groups = _asked(triage, typed)
    document = {
        "objects": frame.height, "sampling": design.sampling, "margin": design.margin, "confidence": design.confidence,
        "groups": groups, "margins": margins_of(frame.height, design),
    }  # fmt: skip
    words = [plan_sentence(frame.height, design), *grouped_sentence(groups)]
    emit(Answer("\n".join(words), document), as_json=as_json)


@survey.command(epilog="Example: enamels survey draw --question 'What is loose on the shelves of L1?' --location L1")
@design_options
@click.option("--question", required=True, help="What is asked.")
@click.option("--decision", default="", help="What is decided with the answer.")
@by_option
@as_of_option
@written_store_option
@json_option
def draw(
    question: str, decision: str, by: str, as_of: str | None, store_path: Path, as_json: bool, **typed: Any
) -> None:
    """Draw the objects and note the survey, before anybody looks."""
    triage = _assessed(store_path, as_of)
    design, frame, groups = _asked(triage, typed)
    purpose = Purpose(question, decision, drawn_sentence(selection_of(triage, _filters(typed))))
    store = Store(store_path)
    words, number = note_survey(store, frame, design, groups, purpose, by=by, day=triage.as_of)
    if not number:
        raise WrongUsage("enamels survey draw", words, "a question, a name and objects to draw from", "Try again.")
    units = store.read_record("survey_unit").filter(pl.col("survey_id") == number)
    emit(Answer(words, {"survey_id": number, "units": units}), as_json=as_json)


@survey.command(name="list", epilog="Examples: enamels survey list; enamels survey list S26 --out walk")
@click.argument("survey_id", required=False)
@out_option
@as_of_option
@store_option
@json_option
def list_(survey_id: str | None, out: Path, replace: bool, as_of: str | None, store_path: Path, as_json: bool) -> None:
    """Every survey and how far it is; of one, a list to carry and a sheet of checks to fill."""
    triage = _assessed(store_path, as_of)
    if survey_id is None:
        rows = surveys.surveys(triage)
        lines = [f"  {r['survey_id']}: {r['question'] or ''} {r['done']} of {r['drawn']}" for r in rows.to_dicts()]
        emit(Answer("\n".join([f"{count(rows.height, 'survey')}.", *lines]), {"surveys": rows}), as_json=as_json)
        return
    words = _how_far(triage, survey_id)
    rows = survey_walk(triage, survey_id)
    if rows.is_empty():
        emit(Answer(f"{words} Nothing waits.", {"waiting": rows}), as_json=as_json)
        return
    document = walk_list(rows, f"{words} {coverage_sentence(triage.coverage())}", triage.as_of)
    paths = (
        write_pdf(document, out / f"survey_{survey_id}.pdf", replace=replace),
        write_workbook(workbook(survey_sheet(triage, survey_id)), out / f"survey_{survey_id}.xlsx", replace=replace),
    )
    back = f"Filled, it comes back by: enamels intake survey_{survey_id}.xlsx --as condition_check"
    answer = written(*paths, words=words)
    emit(Answer(f"{answer.words}\n{back}", {"waiting": rows, **answer.document}), as_json=as_json)


@survey.command(epilog="Example: enamels survey estimate S25")
@click.argument("survey_id")
@as_of_option
@store_option
@json_option
def estimate(survey_id: str, as_of: str | None, store_path: Path, as_json: bool) -> None:
    """What the checks of a survey say of all objects it stands for, with limits and bounds."""
    triage = _assessed(store_path, as_of)
    words = _how_far(triage, survey_id)
    rows = surveys.estimates(triage, survey_id)
    confidence = surveys.confidence_of(triage, survey_id)
    lines = surveys.results_in_words(rows, confidence)
    document = {"survey_id": survey_id, "confidence": confidence, "estimates": rows}
    emit(Answer("\n".join([words, *lines]), document), as_json=as_json)


@survey.command(epilog="Examples: enamels survey agree; enamels survey agree S21 --json")
@click.argument("survey_id", required=False)
@as_of_option
@store_option
@json_option
def agree(survey_id: str | None, as_of: str | None, store_path: Path, as_json: bool) -> None:
    """Whether people who graded the same objects agree, and on which they do not."""
    triage = _assessed(store_path, as_of)
    if survey_id:
        _how_far(triage, survey_id)
    its = agreement.agreed(triage, survey_id or "")
    lines = [f"  {row['object_id']}: {', '.join(row['gave'])}" for row in its.apart.head(MOST_NAMED).to_dicts()]
    document = {"agreement": agreement.figure(its.its), "pairs": its.pairs, "differences": its.apart}
    emit(Answer("\n".join([agreement.agreement_sentence(its.its), *lines]), document), as_json=as_json)


def _assessed(store_path: Path, as_of: str | None) -> Triage:
    return pipeline.assess_store(Store(store_path), lambda c: as_of_day(as_of, c))


def _filters(typed: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in typed.items() if name not in DESIGN}


MOST_NAMED = 20  # objects on which people differ, in words
DESIGN = ("design", "groups", "margin", "size", "in_a_place")


def _asked(triage: Triage, typed: dict[str, Any]) -> tuple[Design, pl.DataFrame, pl.DataFrame | None]:
    """The design, the objects that could be drawn, and how many of each group."""
    its, known = figures(), vocabulary("sampling")
    sampling = typed["design"] or surveys.by_lot_from_all()
    design = Design(
        sampling, typed["margin"] or its.margin, its.confidence, size=typed["size"],
        in_a_cluster=typed["in_a_place"] or its.in_a_cluster,
    )  # fmt: skip
    grouped = sampling in known.terms_where("by_stratum")
    frame = frame_of(triage, select(triage, selection_of(triage, _filters(typed))), typed["groups"] if grouped else "")
    return design, frame, groups_of(triage, frame, design) if grouped and frame.height else None


def _how_far(triage: Triage, survey_id: str) -> str:
    """How far a survey is. Raises NotFound for one that is not in the register."""
    row = surveys.survey_row(triage, survey_id)
    if row is None:
        known = ", ".join(triage.collection["survey"]["survey_id"].sort()) or "none"
        raise NotFound("enamels survey", f"there is no survey '{survey_id}'", known, "Name one of these.")
    its = progress(surveys.units_of(triage, survey_id), row["starts_on"], triage.as_of, figures().pace_limits)
    return surveys.progress_sentence(its)
