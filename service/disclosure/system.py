"""What anybody may know of a population: which numbers each count may be, and which counts add up to which."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from service.disclosure.cuts import EVERYBODY, Cell, Population, Sum
from service.disclosure.rules import NOTHING, Told

Points = NDArray[np.int64]
Place = Cell | Sum
"""A number that is told: a cell, or a sum of cells."""


@dataclass(frozen=True)
class System:
    """The N numbers that are not nothing, and the equations: `adds` (E, N) times counts is 0.

    What is nothing is told as nothing, so it is no unknown. True counts are not here: what is withheld follows from
    what is told.
    """

    places: tuple[Place, ...]
    adds: csr_array


def system(population: Population, told: Mapping[Place, Told]) -> System:
    """Totals are sums of their rows and columns, which all tables share."""
    places = tuple(place for place, each in told.items() if each != NOTHING)
    column_of = {place: column for column, place in enumerate(places)}
    equations = [[(place, sign) for place, sign in each if place in column_of] for each in _equations(population)]
    equations = [each for each in equations if each]
    entries = [(row, column_of[place], sign) for row, equation in enumerate(equations) for place, sign in equation]
    rows, columns, signs = np.array(entries, dtype=np.int64).reshape(-1, 3).T
    adds = csr_array((signs.astype(float), (rows, columns)), shape=(len(equations), len(places)))
    return System(places, adds)


def _equations(population: Population) -> list[list[tuple[Place, int]]]:
    """Each as its parts, and what they add up to with the sign -1."""
    columns: list[tuple[Place, int]] = [(Cell(column=column), 1) for column in population.columns]
    found = [[*columns, (EVERYBODY, -1)]]
    for table in population.tables:
        for column in population.columns:
            parts: list[tuple[Place, int]] = [(Cell(table.name, row, column), 1) for row in table.rows]
            found.append([*parts, (Cell(column=column), -1)])
        for row in table.rows:
            parts = [(Cell(table.name, row, column), 1) for column in population.columns]
            found.append([*parts, (Cell(table.name, row), -1)])
    return found + [[*((cell, 1) for cell in each.of), (each, -1)] for each in population.sums]
