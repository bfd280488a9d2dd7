"""HiGHS on a model: one thread, no chance, and always an answer where a start is given.

Traps: the same `threads` for every model of a process, else the status is *not set*; a time limit does not stop
presolve, so it is off where time is short; a solution is there if the primal status says so, whatever the model status.
"""

from dataclasses import dataclass
from threading import Event

import highspy
import numpy as np
import numpy.typing as npt
from highspy import _Highs as Highs  # type: ignore[attr-defined]  # without the wrapper's own threads

from collection.plan.model import Model
from collection.plan.parameters import solver
from collection.plan.program import Selection
from collection.plan.stopping import stop_event

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Effort:
    """How hard HiGHS tries: seconds, a gap in share of the best and one in worth, nodes (null: no limit), presolve.

    whole : numbers are whole; else the relaxation. objects_whole : also whether an object is treated; else only states
    of places and set-up work are, which is soon solved and leaves few objects in doubt.
    """

    seconds: float
    gap: float
    gap_worth: float = 0.0
    nodes: int | None = None
    presolve: bool = True
    whole: bool = True
    objects_whole: bool = True


@dataclass(frozen=True)
class Solved:
    """selection : the best there is, null where none is known. bound : no plan is worth more, in the table's unit.
    column : of the model's columns, 0 where there is no solution. in_time : not stopped. clocked : stopped by the
    clock, not by its nodes.
    """

    selection: Selection | None
    bound: float
    column: Array
    in_time: bool
    feasible: bool
    clocked: bool = False


def solve(model: Model, effort: Effort, start: Selection | None = None) -> Solved:
    """The best selection of a model. `start` must be feasible; without one, the search for it is never cut short."""
    stop = stop_event() if start is not None or not effort.whole else None
    if stop is not None and stop.is_set():
        return Solved(start, np.inf, np.zeros(model.at.end), in_time=False, feasible=True)
    engine = _engine(effort)
    engine.passModel(_program(model, effort))
    if start is not None:
        given = highspy.HighsSolution()
        given.col_value = _columns_of(model, start).tolist()
        engine.setSolution(given)
    if stop is not None:
        _listen(engine, stop)
    engine.run()
    status, info = engine.getModelStatus(), engine.getInfo()
    there = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    column = np.array(engine.getSolution().col_value) if there else np.zeros(model.at.end)
    selection = _selection(model, column) if there and effort.whole and effort.objects_whole else start
    bound = info.mip_dual_bound if effort.whole else info.objective_function_value
    done = status in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kInfeasible)
    infeasible = status == highspy.HighsModelStatus.kInfeasible
    clocked = status == highspy.HighsModelStatus.kTimeLimit
    return Solved(selection, bound + model.held_worth, column, done, not infeasible, clocked)


def quiet_engine() -> Highs:
    """HiGHS with one thread and no chance. The plain engine: the other one prints a banner where a command answers."""
    engine, its = Highs(), solver()
    engine.setOptionValue("output_flag", False)
    engine.setOptionValue("threads", its.threads)
    engine.setOptionValue("random_seed", its.random_seed)
    return engine


def _engine(effort: Effort) -> Highs:
    engine, its = quiet_engine(), solver()
    engine.setOptionValue("mip_rel_gap", effort.gap)
    engine.setOptionValue("mip_abs_gap", effort.gap_worth)
    engine.setOptionValue("mip_feasibility_tolerance", its.feasibility)
    engine.setOptionValue("primal_feasibility_tolerance", its.feasibility)
    engine.setOptionValue("time_limit", effort.seconds)
    engine.setOptionValue("presolve", "on" if effort.presolve else "off")
    if effort.nodes is not None:
        engine.setOptionValue("mip_max_nodes", effort.nodes)
    return engine


def _listen(engine: Highs, stop: Event) -> None:
    """Have HiGHS ask now and then whether it is to stop; it may ask from a thread of its own."""
    kinds = highspy.cb.HighsCallbackType

    def ask(kind: int, text: str, out: object, given: highspy.cb.HighsCallbackInput, data: object) -> None:
        given.user_interrupt = stop.is_set()

    engine.setCallback(ask, None)
    engine.startCallback(kinds.kCallbackMipInterrupt)
    engine.startCallback(kinds.kCallbackSimplexInterrupt)


def _program(model: Model, effort: Effort) -> highspy.HighsLp:
    lp, rows = highspy.HighsLp(), model.rows
    lp.num_col_, lp.num_row_ = model.at.end, rows.count
    lp.sense_ = highspy.ObjSense.kMaximize
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = model.cost, np.zeros(model.at.end), model.upper
    lp.row_lower_, lp.row_upper_ = np.concatenate(rows.lower), np.concatenate(rows.upper)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.num_col_, lp.a_matrix_.num_row_ = model.at.end, rows.count
    lp.a_matrix_.start_ = np.append(np.concatenate(rows.starts), rows.entries)
    lp.a_matrix_.index_, lp.a_matrix_.value_ = np.concatenate(rows.index), np.concatenate(rows.values)
    if effort.whole:
        whole, any_ = highspy.HighsVarType.kInteger, highspy.HighsVarType.kContinuous
        objects = [whole if effort.objects_whole else any_] * model.at.y
        lp.integrality_ = (
            objects + [whole] * (model.at.carried - model.at.y) + [any_] * (model.at.end - model.at.carried)
        )
    return lp


def _selection(model: Model, column: Array) -> Selection:
    """Choices and states that a solution of the model stands for, held blocks as they are held."""
    program, freedom = model.program, model.freedom
    choices = np.zeros(len(program.blocks), dtype=np.int64) if freedom.held is None else freedom.held.copy()
    states = np.array([its[0] for its in freedom.states], dtype=np.int64)
    chosen = np.flatnonzero(column[: model.at.y] > 1 / 2)
    choices[np.searchsorted(program.starts, model.choice[chosen], side="right") - 1] = model.choice[chosen]
    y = np.flatnonzero(column[model.at.y : model.at.z] > 1 / 2)
    pairs = [(q, s) for q, its in enumerate(freedom.states) for s in its]
    for n in y:
        states[pairs[n][0]] = pairs[n][1]
    return Selection(choices, states)


def _columns_of(model: Model, start: Selection) -> Array:
    """A selection as columns of the model; money carried is left for the solver."""
    column = np.zeros(model.at.end)
    chosen = np.isin(model.choice, start.choices) & (model.state == start.states[model.program.places_of(model.choice)])
    column[: model.at.y] = chosen
    pairs = [(q, s) for q, its in enumerate(model.freedom.states) for s in its]
    column[model.at.y : model.at.z] = [start.states[q] == s for q, s in pairs]
    opened = np.unique(model.program.setup[model.choice[np.flatnonzero(chosen)]])
    column[model.at.z : model.at.carried] = np.isin(model.setups, opened)
    return column
