"""Files that must agree with each other: each kind of damage has its rates, each use of a repair, each shape.

A museum that adds a term in a folder of its own is told at once which file lacks the row that goes with it.
"""

from collections.abc import Callable, Collection, Iterator, Mapping
from functools import cache
from typing import Any

from schemas.errors import VocabularyError
from schemas.terms import Activity, Damage, ObjectType, Packing, Stability
from schemas.vocabularies import load_parameters, terms, vocabularies, vocabulary


@cache
def require_agreement() -> None:
    """Raise VocabularyError for the first term that a file of values lacks a row for."""
    for check in CHECKS:
        for where, lacking, to_do in check():
            raise VocabularyError(where, f"there is no {lacking}", "files that agree with each other", to_do)


NO_RESPONSE = "none"  # a row of the rates that no climate speeds up says so
Lacking = Iterator[tuple[str, str, str]]


def _lacking(file: str, dotted: str, wanted: Collection[str], of_what: str) -> Lacking:
    """Where, what and what to do for each wanted row that a table of values does not have."""
    table: Mapping[str, Any] = load_parameters(file)
    for key in filter(None, dotted.split(".")):
        table = table.get(key, {})
    for name in wanted:
        if name not in table:
            yield f"{file}.toml, {dotted}", f"row for {of_what} {name}", f"Add [{dotted}.{name}] or take the term out."


def _damage_has_rates() -> Lacking:
    """Each kind, or each stage of it, has a row of years, unless it makes no hazard; each row a state on offer."""
    kinds = {name: kind for name, kind in terms("damage", Damage).items() if not kind.no_hazard}
    rows = [row for name, kind in kinds.items() for row in (kind.rows_by_stage or (name,))]
    yield from _lacking("rates", "rate", rows, "damage")
    states = set(terms("activity", Activity))
    for name in rows:
        if not states & set(load_parameters("rates")["rate"][name]):
            yield f"rates.toml, rate.{name}", f"row for any activity of {name}", "Add years for at least one activity."


def _repairs_have_rates() -> Lacking:
    yield from _lacking("rates", "repair", list(vocabulary("repair_function").term), "repair that")
    yield from _lacking("rates", "repair_material", list(vocabulary("repair_material").term), "material")
    ageing = vocabulary("stability").terms_where("years_by_material")
    others = [state for state in vocabulary("stability").term if state not in ageing]
    for name in vocabulary("repair_material").term:
        yield from _lacking("rates", f"repair_material.{name}", ageing, "stability")
    for name in vocabulary("repair_function").term:
        yield from _lacking("rates", f"repair.{name}", others, "stability")


def _climate_groups_have_limits() -> Lacking:
    rows = [*load_parameters("rates")["rate"].values(), *load_parameters("rates")["repair"].values()]
    yield from _lacking(
        "climate_response", "climate_response", sorted({r["climate"] for r in rows} - {NO_RESPONSE}), "climate group"
    )


def _handling_has_chances() -> Lacking:
    rows = [*load_parameters("rates")["rate"].values(), *load_parameters("rates")["repair"].values()]
    counted = [its.counts_as for its in terms("packing", Packing).values() if its.counts_as]
    yield from _lacking("rates", "per_move", sorted({r["handling"] for r in rows}), "handling group")
    yield from _lacking("rates", "per_move", counted, "journey")
    states = {its.handling_row for its in terms("activity", Activity).values()}
    states |= {its.handling_row for its in terms("stability", Stability).values()}
    for group, chances in load_parameters("rates")["per_move"].items():
        if group in {r["handling"] for r in rows} and isinstance(chances, Mapping):
            yield from _lacking("rates", f"per_move.{group}", sorted(states), "state")


def _shapes_are_known() -> Lacking:
    shapes = {its.shape for its in terms("object_type", ObjectType).values() if its.shape}
    yield from _lacking("lines", "shape", sorted(shapes), "shape")


def _kinds_say_each_stage_and_severity() -> Lacking:
    """A kind with stages has words for each of them; one that says what a severity means says it of each."""
    severities = list(vocabulary("severity").term)
    for name, kind in terms("damage", Damage).items():
        where = f"damage.toml, term.{name}"
        looks = vocabulary(kind.stages).term if kind.stages else kind.rows_by_stage
        if len(looks) != len(kind.rows_by_stage):
            yield where, "word for each stage", f"Make {kind.stages} as long as rows_by_stage."
        if kind.anchors and len(kind.anchors) != len(severities):
            yield where, "anchor for each severity", f"Give one for each of {', '.join(severities)}."


def _cautions_name_what_there_is() -> Lacking:
    """A caution that names a term or property nobody has would be told of no object."""
    for caution in load_parameters("cautions")["caution"]:
        for name in sorted(set(caution) & set(vocabularies())):
            its = vocabulary(name).term
            properties = {key for entry in its.values() for key in type(entry).model_fields}
            for asked in caution[name]:
                if asked not in its and asked not in properties:
                    yield f"cautions.toml, {caution['title']}", f"{name} {asked}", "Correct the caution."


CHECKS: tuple[Callable[[], Lacking], ...] = (
    _damage_has_rates,
    _repairs_have_rates,
    _climate_groups_have_limits,
    _handling_has_chances,
    _shapes_are_known,
    _kinds_say_each_stage_and_severity,
    _cautions_name_what_there_is,
)
