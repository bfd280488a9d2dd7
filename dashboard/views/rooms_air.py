"""The air of one place: what befell it, by month, against what is needed, in figures, and at a colder surface."""

import polars as pl
import streamlit as st

from collection.climate.air import QUANTITIES, at_surface
from collection.questions.air import Air, needs, needs_in_words
from collection.questions.air_of_place import air_figures, air_picture, measured_words
from collection.questions.spells import spells, spells_sentence
from collection.questions.words import percent
from dashboard import charts, data, text
from dashboard.views import parts

SURFACE = "rooms_surface"
COLDEST, WARMEST, FIRST = -20.0, 40.0, 12.0  # °C that may be asked of a surface, and what is shown at first
UNITS = {"rh_percent": "%", "temperature_c": "\N{DEGREE SIGN}C"}
BANDS = {"low": "Low", "middle": "Middle", "high": "High"}
WORDS = {"rh_percent": "Relative humidity", "temperature_c": "Temperature"}


def draw(air: Air, here: str) -> None:
    """Everything about the air of one place."""
    worst = spells(air, here)
    parts.section("Its air", spells_sentence(worst))
    for quantity in QUANTITIES:
        _months(air, here, quantity)
    if worst.height:
        parts.folded(
            "Spells of heat and damp, the worst first",
            "spells",
            worst,
            alt="Spells beyond what is kept here bears",
            starts="From",
            ends="To",
        )
    against_needs(air, here)
    figures = air_figures(air, here).drop("location_id")
    parts.folded(
        "Figures for a report",
        "air_figures",
        figures,
        alt="What the air was, with days and method",
        what="What",
        value="Value",
        low="From",
        high="To",
        n="Days",
        method="How it was counted",
    )
    _surface(air, here)


def _months(air: Air, here: str, quantity: str) -> None:
    rows = air_picture(air, here, quantity)
    if rows.is_empty():
        return
    caption = (
        f"{WORDS[quantity]}, {measured_words(rows)}: the middle of each month, and between what nine tenths of its"
        f" hours lay; in blue what most objects here need; grey where the logger failed; {parts.as_of(data.state())}."
    )
    alt = f"{WORDS[quantity]} by month beside what is needed"
    headings = {"shown": "What", "quantity": parts.ONLY_DRAWN, "starts": "From", "ends": "To", "words": "Note"}
    headings |= {n: f"{words} [{UNITS[quantity]}]" for n, words in BANDS.items()}
    parts.picture(f"air_{quantity}_{here}", charts.air_chart, rows, alt=alt, caption=caption, headings=headings)


def against_needs(air: Air, here: str) -> None:
    """Time inside each target, and those of which nothing can be said."""
    rows = needs(air, here)
    parts.section("The air against what objects need")
    measured = rows.filter(pl.col("inside").is_not_null())
    if measured.height:
        caption = "Share of the last twelve months inside each target with a reason; each day counts as 24 hours."
        parts.picture(
            f"needs_{here}", charts.needs_chart, measured, alt="Time inside what objects here need", caption=caption
        )
    if rows.height:
        st.html(text.facts(needs_in_words(rows)))
    else:
        parts.say("No target with a reason applies here: set one, and the air is held against it.")


def _surface(air: Air, here: str) -> None:
    """How damp the air is at a colder surface, such as an outer wall."""
    own = air.airs.filter(pl.col("location_id") == here)["air"]
    hours = air.year.filter(pl.col("location_id").is_in(own.implode()))
    asked = st.number_input(
        "A surface of so many °C, such as an outer wall", COLDEST, WARMEST, FIRST, 0.5, key=SURFACE, width=320
    )
    its = at_surface(hours, float(asked))
    if its is None:
        parts.say("Nothing can be said of surfaces: temperature and humidity were not measured together here.")
        return
    wet = (
        f"water would condense there on {percent(its.wet_share).removeprefix('about ')} of the time"
        if its.wet_share
        else "water would not condense there"
    )
    middle = f"the air is at {its.median_rh:.0f} % in the middle of the last twelve months"
    highest = f"The highest dew point was {its.highest_dew_c:.1f} °C, over {its.days} days."
    parts.say(f"Against a surface of {its.at_c:g} °C {middle}; {wet}. {highest}")
