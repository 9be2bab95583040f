"""Registers drawn at random: as many people, cuts, rows and columns as a small charity's, most of them in few rows."""

from __future__ import annotations

import numpy as np

from service.disclosure import Cell, Population, Sum, Table, counted


def drawn(
    seed: int,
    *,
    tables: int | None = None,
    rows: int | None = None,
    columns: int | None = None,
    people: int | None = None,
) -> Population:
    """A register of 15 to 600 people: 2 to 5 cuts of 3 to 9 rows, 2 to 4 columns; a sum over the first rows of one."""
    chance = np.random.default_rng(seed)
    tables, columns = tables or int(chance.integers(2, 6)), columns or int(chance.integers(2, 5))
    people = people or int(np.exp(chance.uniform(np.log(15), np.log(600))))
    named = [f"column {at}" for at in range(columns)]
    cuts = {f"cut {at}": [f"row {each}" for each in range(rows or int(chance.integers(3, 10)))] for at in range(tables)}
    fates = chance.choice(named, people, p=chance.dirichlet(np.full(columns, 0.7)))
    lies = {
        cut: chance.choice(those, people, p=chance.dirichlet(np.full(len(those), 0.7))) for cut, those in cuts.items()
    }
    things = [(str(fates[at]), {cut: str(those[at]) for cut, those in lies.items()}) for at in range(people)]
    first, *_ = cuts
    up_to = [Sum(f"up to {last}", tuple(Cell(first, f"row {each}") for each in range(last + 1))) for last in (1, 2)]
    return counted(f"register {seed}", named, cuts, things, up_to)


def on_edge(seed: int) -> Population:
    """A register whose counts often lie at the upper end of what is told alike, so that rounded sums give them away.

    One cut is drawn so; the others share out the same columns over their rows.
    """
    chance = np.random.default_rng(seed)
    ends, columns = np.array([7, 12, 17, 22]), ("still worn", "stopped", "not known", "not asked")
    kinds = chance.choice(ends, (int(chance.integers(3, 7)), 4)) - chance.integers(0, 3, (1, 4)) * chance.integers(0, 2)
    tables = [_table("kind", kinds)]
    for cut in ("age", "cause"):
        shares = chance.dirichlet(np.full(int(chance.integers(2, 6)), 0.8))
        tables.append(_table(cut, np.stack([chance.multinomial(total, shares) for total in kinds.sum(axis=0)], axis=1)))
    return Population(f"on edge {seed}", columns, tuple(tables))


def _table(name: str, counts: np.ndarray) -> Table:
    return Table(name, tuple(f"{name} {at}" for at in range(len(counts))), tuple(map(tuple, counts.tolist())))
