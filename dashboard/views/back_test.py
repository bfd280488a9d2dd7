"""What the register expected some years ago, beside what its checks found since."""

import streamlit as st

from collection.questions import back_test
from collection.questions.learned_rates import NOT_OURS
from collection.questions.words import coverage_sentence, day_in_words
from dashboard import charts, data
from dashboard.views import parts

YEARS = (data.YEARS_BACK, 3, 10)

state = data.state()
st.title("Back-test", anchor=False)
parts.say(coverage_sentence(state.triage.coverage()))
years = st.selectbox("Years back", YEARS, key="back_years")
test = data.back_test(years)
parts.say(back_test.storeroom_sentence(test), "answer")
for words in (back_test.unmeasured_sentence(test), f"{NOT_OURS}. {back_test.NOT_BY_CHANCE}"):
    if words:
        parts.say(words)
since = f"{day_in_words(test.cut)} to {day_in_words(test.until)}"
if test.objects:
    parts.section("Expected beside found")
    parts.picture(
        "beside",
        charts.expected_and_seen_chart,
        back_test.expected_and_seen(test),
        alt="Share of the collection's value expected to be lost, with limits, and what the checks found",
        caption=f"{since}, in {test.objects:,} objects checked before and since, each over its own years. The line"
        " holds nine in ten of what could have been found if the rates are as believed. What was closed is left out.",
    )
    parts.section("Did it happen as often as forecast?")
    for by, judged in test.judged.items():
        parts.say(back_test.score_sentence(judged, by))
    groups = back_test.calibration_groups(test)
    if not groups.is_empty():
        parts.picture(
            "calibration",
            charts.calibration_chart,
            groups,
            alt="Chance of a loss that was forecast against the share in which it happened, with limits",
            caption=f"Damage and repairs checked again, {since}, in groups of five expected losses or more; lines are"
            " the exact limits of Clopper and Pearson, nine in ten. On the broken line losses came as often as"
            " forecast.",
        )
    parts.folded("How good the forecasts were", "scores", back_test.scores(test), alt="Scores of the forecasts")
