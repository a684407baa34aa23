"""Small linear and whole-number programs on HiGHS: covering rows, one column per pattern."""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np

# The plain solver class: the one with call-backs on top prints a banner to standard output.
from highspy._core import _Highs

from acoustics.takeoff.clock import Deadline

# Work in seconds, measured: a linear program, and a simplex step for each of its rows; a whole-number
# program, each of its columns, and a node of its tree
LP_CALL, LP_STEP, MILP_CALL, MILP_COLUMN, MILP_NODE = 3e-4, 1.7e-7, 5e-3, 1e-4, 2e-3


def quiet_solver() -> _Highs:
    highs = _Highs()
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("threads", 1)
    return highs


@dataclass
class LpAnswer:
    value: float
    duals: np.ndarray
    amounts: np.ndarray


class CoverLp:
    """min cost.x with rows lower <= A.x <= upper and x >= 0; columns are added as they are found."""

    def __init__(self, lower: np.ndarray, upper: np.ndarray) -> None:
        self.highs = quiet_solver()
        for low, high in zip(lower, upper, strict=True):
            self.highs.addRow(float(low), float(high), 0, np.empty(0, np.int32), np.empty(0))
        self.columns, self.rows = 0, len(lower)

    def add(self, cost: float, column: np.ndarray, upper: float = highspy.kHighsInf) -> None:
        rows = np.nonzero(column)[0].astype(np.int32)
        self.highs.addCol(float(cost), 0.0, float(upper), len(rows), rows, column[rows].astype(float))
        self.columns += 1

    def solve(self, clock: Deadline) -> LpAnswer | None:
        self.highs.setOptionValue("time_limit", float(self.highs.getRunTime() + max(clock.wall(), 0.01)))
        self.highs.run()
        steps = max(0, self.highs.getInfo().simplex_iteration_count)
        clock.spend(LP_CALL + LP_STEP * steps * self.rows)
        if self.highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        solution = self.highs.getSolution()
        return LpAnswer(
            self.highs.getInfo().objective_function_value,
            np.array(solution.row_dual),
            np.array(solution.col_value),
        )


@dataclass
class MilpAnswer:
    """amounts is None where the program is proved to have no answer."""

    value: float
    bound: float
    amounts: np.ndarray | None
    proved: bool


def solve_cover(
    costs: np.ndarray,
    columns: np.ndarray,
    lower: np.ndarray,
    upper: np.ndarray,
    clock: Deadline,
    start: np.ndarray | None = None,
    most: np.ndarray | None = None,
    cutoff: float | None = None,
    seed: int = 0,
) -> MilpAnswer | None:
    """Whole-number cover. columns is (rows, patterns); None when nothing was found within the clock.

    Its search is limited by nodes, as many as the work left allows; wall time guards it.
    """
    rows, count = columns.shape
    highs = quiet_solver()
    highs.setOptionValue("random_seed", int(seed))
    highs.setOptionValue("mip_max_nodes", max(1, int(clock.left() / MILP_NODE)))
    highs.setOptionValue("time_limit", max(0.7 * clock.wall(), 0.01))  # it overruns its limit a little
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.setOptionValue("mip_abs_gap", 1e-6)
    if cutoff is not None:
        highs.setOptionValue("objective_bound", float(cutoff))
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = count, rows
    model.col_cost_ = np.asarray(costs, float)
    model.col_lower_ = np.zeros(count)
    model.col_upper_ = np.full(count, highspy.kHighsInf) if most is None else np.asarray(most, float)
    model.row_lower_, model.row_upper_ = np.asarray(lower, float), np.asarray(upper, float)
    model.integrality_ = [highspy.HighsVarType.kInteger] * count
    column_of, row_of = np.nonzero(columns.T)
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.start_ = np.concatenate([[0], np.cumsum(np.bincount(column_of, minlength=count))])
    model.a_matrix_.index_ = row_of
    model.a_matrix_.value_ = columns.T[column_of, row_of].astype(float)
    highs.passModel(model)
    if start is not None:
        guess = highspy.HighsSolution()
        guess.col_value = list(map(float, start))
        highs.setSolution(guess)
    highs.run()
    info = highs.getInfo()
    clock.spend(MILP_CALL + MILP_COLUMN * count + MILP_NODE * max(0, info.mip_node_count))
    status = highs.getModelStatus()
    proved = status == highspy.HighsModelStatus.kOptimal
    if status == highspy.HighsModelStatus.kInfeasible:
        return MilpAnswer(float("inf"), float("inf"), None, True)
    if info.primal_solution_status != 2:
        return None
    amounts = np.rint(np.array(highs.getSolution().col_value)).astype(int)
    bound = info.objective_function_value if proved else info.mip_dual_bound
    return MilpAnswer(float(costs @ amounts), float(bound), amounts, proved)
