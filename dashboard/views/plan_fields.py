"""What is asked of a plan, moved by hand: years, money, hours of each skill. The address is the only truth."""

from collections.abc import Mapping

import polars as pl
import streamlit as st

from collection.plan.parameters import planning
from collection.planning.asked import CLEAR, HOURS, LINE, MONEY, MOST_YEARS, YEARS, Asked, on_record, skills_needed
from collection.planning.options import BENCH
from collection.questions.triage import Triage
from schemas.vocabularies import vocabulary

MONEY_STEP, HOURS_STEP = 500.0, 10.0
WIDE = 200  # pixels
RECORDED = "recorded_of_plan"  # key of the session: what fields show where the address says nothing
c = pl.col


def asked() -> Asked:
    """What the address asks for."""
    return Asked.of_query(st.query_params.to_dict())


def draw(triage: Triage, its: Asked, unit: str) -> None:
    """The fields, showing the address; where that says nothing, what is on record."""
    question = its.question(triage)
    first, years = question.first_year or 0, question.years or 1
    recorded = on_record(triage, range(first, first + years))
    skills = skills_needed(triage)
    _show(its, {MONEY: _alike(recorded, None), **{HOURS + s: _alike(recorded, s) for s in skills}})
    with st.container(horizontal=True, vertical_alignment="bottom"):
        st.number_input("Years", 1, MOST_YEARS, step=1, key=YEARS, on_change=_write, args=(YEARS,), width=WIDE * 3 // 4)
        _amount(MONEY, f"Money a year [{unit}]", MONEY_STEP, _on_record(recorded, None))
        for skill in skills:
            _amount(HOURS + skill, _label(skill), HOURS_STEP, _on_record(recorded, skill))


def clear_asked(words: str) -> bool:
    """Whether it is asked what it takes to clear what needs attention now."""
    st.session_state[CLEAR] = CLEAR in st.query_params
    return st.toggle(words, key=CLEAR, on_change=_write_clear)


def line_asked() -> str:
    """The line of the plan that the address names; empty where it names none."""
    return str(st.query_params.get(LINE, ""))


def ask_line(option_id: str) -> None:
    """Write a line of the plan into the address."""
    st.query_params[LINE] = option_id


def _amount(key: str, label: str, step: float, recorded: str) -> None:
    st.number_input(label, 0.0, step=step, key=key, on_change=_write, args=(key,), placeholder="as on record",
                    format="%.0f", help=f"On record: {recorded}.", width=WIDE)  # fmt: skip


def _label(skill: str) -> str:
    if skill == BENCH:
        return "Days at the bench a year [day]"
    return f"{vocabulary('skill').labels().get(skill, skill)} a year [h]"


def _of(recorded: pl.DataFrame, skill: str | None) -> pl.DataFrame:
    return recorded.filter(c("skill").is_null() if skill is None else c("skill") == skill).sort("year")


def _alike(recorded: pl.DataFrame, skill: str | None) -> float | None:
    """The amount on record where it is the same in every year."""
    amounts = _of(recorded, skill)["amount"].unique()
    return float(amounts[0]) if amounts.len() == 1 else None


def _on_record(recorded: pl.DataFrame, skill: str | None) -> str:
    """*8,600 in 2027, 5,600 in 2028*."""
    rows = _of(recorded, skill).select("amount", "year").iter_rows()
    return ", ".join(f"{amount:,.0f} in {year}" for amount, year in rows) or "nothing"


def _show(its: Asked, recorded: Mapping[str, float | None]) -> None:
    """Set the fields to the address, else to what is on record."""
    st.session_state[RECORDED] = {**recorded, YEARS: planning().years}
    typed = {YEARS: its.years, MONEY: its.money, **{HOURS + skill: hours for skill, hours in its.hours.items()}}
    for key, value in st.session_state[RECORDED].items():
        mine = typed.get(key)
        st.session_state[key] = value if mine is None else mine


def write(key: str, value: object) -> None:
    """Write what was chosen into the address; what is empty needs no word there."""
    if value in (None, ""):
        st.query_params.pop(key, None)
    else:
        st.query_params[key] = str(value)


def write_amount(key: str) -> None:
    """Write the number in a field into the address."""
    value = st.session_state[key]
    write(key, value if value is None else f"{value:g}" if value < LARGE else f"{value:.0f}")


def _write(key: str) -> None:
    """Write a field into the address; what is on record needs no word there."""
    if st.session_state[key] == st.session_state[RECORDED].get(key):
        write(key, None)
    else:
        write_amount(key)


LARGE = 1e5  # from here on `g` would write an exponent


def _write_clear() -> None:
    write(CLEAR, "1" if st.session_state[CLEAR] else None)
