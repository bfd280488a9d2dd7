"""How far work in a thread is, with a way to stop it, while the page stays as it is."""

import streamlit as st

from dashboard.background import Task
from dashboard.views import parts

EVERY_S = 1.0  # between two looks
STEPS_SHOWN = "steps_shown"  # begins a key of the session


def follow(task: Task, key: str, stopping: str = "Stopping; what is best so far stays") -> None:
    """Say how far it is until it is done; the page is drawn anew when there is something more to show.

    `stopping`: what is said once somebody asked it to stop.
    """
    st.session_state[f"{STEPS_SHOWN}_{key}"] = len(task.results)
    _drawn(task, key, stopping)


@st.fragment(run_every=EVERY_S)
def _drawn(task: Task, key: str, stopping: str) -> None:
    if task.done or len(task.results) > st.session_state.get(f"{STEPS_SHOWN}_{key}", 0):
        st.rerun()
    words = stopping if task.stopping else task.words or "Waiting for another plan"
    with st.container(horizontal=True, vertical_alignment="center"):
        parts.say(f"{words}. {task.seconds:.0f} s so far.")
        st.button("Stop", key=f"stop_{key}", on_click=task.stop, disabled=task.stopping)
