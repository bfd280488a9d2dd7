"""Grades ahead: a mix of grades carried on by a matrix of yearly chances, row the grade now, column the grade then."""

import numpy as np
import numpy.typing as npt
import polars as pl

Array = npt.NDArray[np.float64]


def project(mix: Array, matrix: Array, steps: int) -> Array:
    """Objects of each grade after so many steps of equal length; 0 steps are today's mix.

    matrix : chance from each grade (row) to each grade (column). ValueError where a row does not add up to 1, as it
    does not in a matrix with rows and columns exchanged.
    """
    sums = matrix.sum(axis=1)
    if not np.allclose(sums, 1.0):
        raise ValueError(f"rows of the matrix add up to {', '.join(f'{s:.4g}' for s in sums)}, not to 1")
    return np.asarray(mix @ np.linalg.matrix_power(matrix, steps))


def step_matrix(table: pl.DataFrame) -> Array | str:
    """Chances by the counts of schema TRANSITIONS, all over one equal span; or why there are none.

    A grade nobody began with says nothing of where it goes.
    """
    counts = table.sort("grade", "end_grade")["objects"].to_numpy().astype(np.float64)
    square = counts.reshape(table["grade"].n_unique(), -1)
    of = square.sum(axis=1, keepdims=True)
    empty = [grade for grade, n in enumerate(of[:, 0]) if not n]
    if empty:
        return f"{len(empty)} of {len(square)} grades were nobody's at the start, so nothing is known of where they go"
    return np.asarray(square / of)
