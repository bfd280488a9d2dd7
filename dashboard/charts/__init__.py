"""Pictures: a frame in, a chart out. No Streamlit, no counting: the frame is already the answer, sorted."""

from dashboard.charts.air import air_chart, needs_chart
from dashboard.charts.condition import by_group_chart, damage_chart, grades_chart, kinds_chart
from dashboard.charts.estimates import (
    calibration_chart,
    expected_and_seen_chart,
    margins_chart,
    rates_chart,
    shares_chart,
)
from dashboard.charts.losses import PICKED, by_location_chart, expected_chart
from dashboard.charts.over_time import (
    axis_chart,
    curve_chart,
    examiners_chart,
    forest_chart,
    growth_chart,
    history_chart,
    moves_chart,
    room_chart,
)
from dashboard.charts.work import ahead_chart, backlog_chart, budgets_chart, past_chart, use_chart

__all__ = [
    "PICKED",
    "ahead_chart",
    "air_chart",
    "axis_chart",
    "backlog_chart",
    "budgets_chart",
    "expected_and_seen_chart",
    "by_group_chart",
    "by_location_chart",
    "calibration_chart",
    "curve_chart",
    "damage_chart",
    "examiners_chart",
    "expected_chart",
    "forest_chart",
    "grades_chart",
    "growth_chart",
    "history_chart",
    "kinds_chart",
    "margins_chart",
    "moves_chart",
    "needs_chart",
    "past_chart",
    "rates_chart",
    "room_chart",
    "shares_chart",
    "use_chart",
]
