# ruff: noqa: T201 - a script prints
"""What it costs to see to it that nobody can be picked out: `python -m tests.benchmarks.disclosure`.

Registers of 12 cuts of 10 rows and 4 columns, drawn at random: processor time, and how many of the numbers that are not
nothing are withheld beside the small ones.
"""

from __future__ import annotations

import time

from service.disclosure import Hidden, Rule, disclose
from tests.disclosure.registers import drawn


def main() -> None:
    print("| people | numbers | small | withheld | seconds |\n|---|---|---|---|---|")
    for people in (30, 100, 300, 1_000, 5_000):
        population = drawn(people, tables=12, rows=10, columns=4, people=people)
        before = time.process_time()
        told = disclose(population, Rule())
        seconds = time.process_time() - before
        said = [each.hidden for each in [*told.told.values(), *told.told_sums.values()] if each.value != 0]
        small, withheld = (said.count(each) for each in (Hidden.SMALL, Hidden.WITHHELD))
        print(f"| {people:,} | {len(said)} | {small} | {withheld} | {seconds:.1f} |")


if __name__ == "__main__":
    main()
