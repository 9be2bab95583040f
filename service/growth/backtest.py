"""A record printed for whoever runs the register and decides on a model: in full, since they can read the database."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from service.growth.record import HORIZONS, Tally
from service.growth.recorded import Entry
from service.statistics import Estimate

NOTHING = "No socket that came off was worn for a month with its limits known, so there is nothing to replay."
HEADINGS = ("days before", "sockets", "outgrown", "in p10-p90, % [95 %]", "too late by, days [95 %]", "mean loss, days")
WIDTHS = (12, 9, 10, 22, 26, 17)


def table(entries: Iterable[Entry]) -> Iterator[str]:
    """The lines of a table by model version and horizon, of entries gone through once."""
    models: defaultdict[str, dict[int, Tally]] = defaultdict(lambda: {days: Tally() for days in HORIZONS})
    for entry in entries:
        models[entry.model][entry.horizon_days].add(entry.judged)
    if not models:
        yield NOTHING
    for model, tallies in sorted(models.items()):
        yield model
        yield _row(HEADINGS)
        for days, tally in tallies.items():
            pinball = tally.pinball()
            yield _row(
                (
                    str(days),
                    str(tally.judged),
                    str(tally.outgrown),
                    _said(tally.coverage(), 100),
                    _said(tally.bias(), 1),
                    "-" if pinball is None else f"{pinball:.1f}",
                )
            )


def _row(cells: Iterable[str]) -> str:
    return "".join(cell.rjust(width) for cell, width in zip(cells, WIDTHS, strict=True))


def _said(found: Estimate | None, scale: float) -> str:
    if found is None:
        return "-"
    value, low, high = (f"{scale * part:.0f}" for part in found)
    return f"{value} [{low} to {high}]"
