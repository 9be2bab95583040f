"""How many spare parts to send with a device, or to keep at a site: what is in place, and how often such parts broke.

Rates are those of a part's own version, over the whole register; a version that has not been in place for as long as
its parts together will be is judged with all versions of its design, which is said.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from service.devices.rules import EndReason
from service.figures import lasting
from service.figures.facts import Stay
from service.figures.rules import DAYS_A_MONTH, DAYS_A_YEAR
from service.statistics.spares import Kit, site_kit


@dataclass(frozen=True)
class Wanted:
    """A part to send: how many, the chance (0-1) that they are enough, and what that rests on."""

    design: str
    version: int
    in_place: int
    kit: Kit | None
    failures: int
    years: float
    pooled: bool


def wanted(worn: Sequence[Stay], known: Iterable[Stay], until: date, months: float, level: float) -> list[Wanted]:
    """What to send for parts in place (`worn`), given all stays there ever were of those designs (`known`)."""
    by_version: defaultdict[tuple[str, int], list[Stay]] = defaultdict(list)
    by_design: defaultdict[str, list[Stay]] = defaultdict(list)
    for stay in known:
        by_version[stay.design, stay.version].append(stay)
        by_design[stay.design].append(stay)
    days = months * DAYS_A_MONTH
    found = []
    for (design, version), count in sorted(Counter((each.design, each.version) for each in worn).items()):
        own = by_version[design, version]
        pooled = lasting.years_in_place(own, until) * DAYS_A_YEAR < count * days
        basis = by_design[design] if pooled else own
        failures = sum(each.came_off is EndReason.BROKEN for each in basis)
        years = lasting.years_in_place(basis, until)
        kit = site_kit(failures, years * DAYS_A_YEAR, [(count, days)], level)
        found.append(Wanted(design, version, count, kit, failures, years, pooled))
    return found
