"""Whole-number optimisation with HiGHS, made repeatable: one thread, a fixed seed, a limit in nodes and never in time.

A limit in seconds would make the plan depend on the machine.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import highspy
from highspy._core import _Highs as Solver  # the class over it prints a banner where our JSON goes

NODES_MAX: Final = 4000
"""Nodes searched before the best found so far is taken. Ordinary shows end long before."""


@dataclass
class Program:
    """A linear program in whole numbers, built row by row. Columns are numbered in the order they are added."""

    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[dict[int, float], float, float]] = field(default_factory=list)

    def column(self, lower: float, upper: float, *, whole: bool = True) -> int:
        """A new unknown between two bounds; gives its number."""
        self.lower.append(lower)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.lower) - 1

    def row(
        self, terms: Mapping[int, float], *, least: float = -highspy.kHighsInf, most: float = highspy.kHighsInf
    ) -> None:
        """A sum of columns that must lie between ``least`` and ``most``."""
        self.rows.append((dict(terms), least, most))


@dataclass(frozen=True, slots=True)
class Solution:
    """The values of all columns, the cost, and whether nothing cheaper exists."""

    values: tuple[float, ...]
    cost: float
    proved: bool

    def is_on(self, column: int) -> bool:
        """Whether a yes-or-no column is yes."""
        return self.values[column] > 0.5


def cheapest(program: Program, cost: Mapping[int, float], *, start: Sequence[float] | None = None) -> Solution | None:
    """The cheapest solution, or ``None`` when there is none. ``start``: a known solution to begin from."""
    solver = Solver()
    options: dict[str, bool | int | float | str] = {
        "output_flag": False,
        "threads": 1,
        "parallel": "off",
        "random_seed": 0,
        "mip_rel_gap": 0.0,
        "mip_abs_gap": 1e-6,
        "mip_max_nodes": NODES_MAX,
    }
    for name, value in options.items():
        solver.setOptionValue(name, value)
    solver.passModel(_model(program, cost))
    if start is not None:
        known = highspy.HighsSolution()
        known.col_value = list(start)
        solver.setSolution(known)
    solver.run()
    status, info = solver.getModelStatus(), solver.getInfo()
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return None
    values = tuple(solver.getSolution().col_value)
    return Solution(values, info.objective_function_value, status == highspy.HighsModelStatus.kOptimal)


def _model(program: Program, cost: Mapping[int, float]) -> highspy.HighsLp:
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(program.lower), len(program.rows)
    model.col_cost_ = [cost.get(column, 0.0) for column in range(len(program.lower))]
    model.col_lower_, model.col_upper_ = program.lower, program.upper
    kinds = highspy.HighsVarType
    model.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in program.whole]
    model.row_lower_ = [least for _, least, _ in program.rows]
    model.row_upper_ = [most for _, _, most in program.rows]
    starts, columns, values = [0], [], []
    for terms, _, _ in program.rows:
        columns += list(terms)
        values += list(terms.values())
        starts.append(len(columns))
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_, model.a_matrix_.index_, model.a_matrix_.value_ = starts, columns, values
    return model
