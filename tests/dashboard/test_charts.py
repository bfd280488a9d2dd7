"""Each picture draws its frame and nothing else: fields exist, units stand in titles, an empty frame draws."""

import json
from collections.abc import Iterator

import polars as pl
import pytest

from collection.questions import (
    air,
    air_of_place,
    backlog,
    condition,
    history,
    not_yet_checked,
    plan_tables,
    where_lost,
    work_ahead,
)
from dashboard import charts, theme


def _read(unit: str) -> pl.Schema:
    """Schema BUDGETS in the unit a person reads."""
    return pl.Schema({n.replace("prevented", f"prevented_{unit}"): t for n, t in plan_tables.BUDGETS.items()})


CASES = {
    "location": (charts.by_location_chart, where_lost.BY_LOCATION),
    "grades": (charts.grades_chart, condition.GRADES),
    "damage": (charts.damage_chart, condition.DAMAGE),
    "group": (charts.by_group_chart, condition.BY_GROUP),
    "kinds": (charts.kinds_chart, condition.KINDS_BY_TECHNIQUE),
    "expected": (charts.expected_chart, not_yet_checked.BY_KIND),
    "backlog": (charts.backlog_chart, backlog.BACKLOG),
    "history": (charts.history_chart, history.EVENTS),
    "ahead": (charts.ahead_chart, work_ahead.AHEAD),
    "before": (charts.past_chart, work_ahead.PAST),
    "budgets": (charts.budgets_chart, _read("percent")),
    "budgets in money": (charts.budgets_chart, _read("money")),
    "use": (charts.use_chart, plan_tables.USE_SHARES),
    "air": (charts.air_chart, air_of_place.AIR_PICTURE),
    "needs": (charts.needs_chart, air.NEEDS),
}
EACH = pytest.mark.parametrize(("draw", "schema"), CASES.values(), ids=CASES)


def encodings(spec: object) -> Iterator[tuple[str, dict]]:
    if isinstance(spec, dict):
        for key, value in spec.items():
            if key == "encoding":
                yield from value.items()
            yield from encodings(value)
    elif isinstance(spec, list):
        for value in spec:
            yield from encodings(value)


def made_here(spec: object) -> Iterator[str]:
    if isinstance(spec, dict):
        for step in spec.get("transform", []):
            said = step.get("as", [])
            yield from [said] if isinstance(said, str) else said
            yield from (a["as"] for a in step.get("aggregate", []))
        for value in spec.values():
            yield from made_here(value)
    elif isinstance(spec, list):
        for value in spec:
            yield from made_here(value)


@EACH
def test_an_empty_frame_draws(draw, schema):
    assert draw(pl.DataFrame(schema=schema)).to_dict()


@EACH
@pytest.mark.parametrize("look", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
def test_fields_exist_and_have_types(draw, schema, look):
    spec = draw(pl.DataFrame(schema=schema), look).to_dict()
    drawn = [
        e
        for _, channel in encodings(spec)
        for e in (channel if isinstance(channel, list) else [channel])
        if "field" in e
    ]

    assert drawn
    assert {e["field"] for e in drawn} <= {*schema, *made_here(spec)}
    assert all(
        "type" in e
        for _, channel in encodings(spec)
        if isinstance(channel, dict) and "field" in channel
        for e in [channel]
        if _ not in ("x2", "y2")
    )


@EACH
def test_the_axis_says_its_unit(draw, schema):
    spec = draw(pl.DataFrame(schema=schema)).to_dict()
    measured = [c for name, c in encodings(spec) if name == "x" and c.get("type") in ("quantitative", "temporal")]
    titles = [c["title"] for c in measured if c.get("title")]

    assert titles or not measured
    assert all("[" in t and "]" in t for t in titles)


def test_a_picture_draws_its_frame_itself(found):
    frame = where_lost.by_location(found, found.objects)

    spec = charts.by_location_chart(frame).to_dict()
    rows = next(iter(spec["datasets"].values()))

    assert [r["name"] for r in rows] == frame["name"].to_list()
    assert [r["damage"] for r in rows] == pytest.approx(frame["damage"].to_list())


def test_the_unseen_is_told_apart_by_more_than_colour(found):
    spec = json.dumps(charts.by_location_chart(where_lost.by_location(found, found.objects)).to_dict())

    assert "strokeDash" in spec
    assert "not yet checked" in spec


@pytest.mark.parametrize(
    ("draw", "schema", "by"),
    [(charts.budgets_chart, _read("percent"), "way"), (charts.ahead_chart, work_ahead.AHEAD, "budget")],
    ids=["budgets", "ahead"],
)
def test_lines_are_told_apart_by_more_than_colour(draw, schema, by):
    channels = {name for name, channel in encodings(draw(pl.DataFrame(schema=schema)).to_dict()) if isinstance(channel, dict) and channel.get("field") == by}  # fmt: skip

    assert {"color", "strokeDash"} <= channels
