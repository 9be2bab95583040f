# ruff: noqa: T201 - a script prints
"""How fast forecasts are computed.

    HANDSPAN_CHECK_DATA=... OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.speed [CASES]

The aims: one case under 2 ms of computing, and 50,000 cases under 60 s on two cores. Processor time is what counts;
the wall clock beside it says how busy the machine was. One thread for the linear algebra: the matrices are small.
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from itertools import cycle, islice
from resource import RUSAGE_CHILDREN, getrusage
from time import perf_counter, process_time

from service.growth.model import forecast
from service.growth.model.case import Case
from tests.benchmarks.cases import FILES, load

CORES = 2


def computed(cases: list[Case]) -> int:
    """Forecast all; how many there were."""
    return sum(bool(forecast(case)) for case in cases)


def main(wanted: int) -> None:
    for name in FILES:
        cases = [known.case for known in load(name)]
        computed(cases[:20])  # the curves are read and the random numbers drawn once
        wall, busy = perf_counter(), process_time()
        computed(cases)
        each = 1000 / len(cases)
        print(
            f"{name:18}{(process_time() - busy) * each:6.2f} ms computing{(perf_counter() - wall) * each:8.2f} ms wall"
        )
    every = [known.case for name in FILES for known in load(name)]
    chunks = [list(islice(cycle(every), start, start + 500)) for start in range(0, wanted, 500)]
    wall = perf_counter()
    with ProcessPoolExecutor(CORES) as pool:
        done = sum(pool.map(computed, chunks))
    seconds = perf_counter() - wall
    used = getrusage(RUSAGE_CHILDREN)
    idle = (used.ru_utime + used.ru_stime) / CORES
    print(f"{done} cases on {CORES} processes: {seconds:.1f} s wall, {idle:.1f} s had both cores been free;")
    print(f"50,000 cases: {50_000 * seconds / done:.0f} s wall, {50_000 * idle / done:.0f} s had both cores been free")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)
