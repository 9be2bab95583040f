"""The mathematics of what trustees are told: how sure a share is, how long a part lasts, how many to send.

A low room: it knows nothing of the register, reads no clock and no file. Days are counted from wherever the caller
counts them, times may be fractions of a day. Every figure comes with an interval of 95 per cent, and what cannot be
estimated is None, with the reason where there are several; it is never zero, never infinity, never a figure that looks
like one. A call that makes no sense (more successes than trials) raises ValueError: its caller has a fault.

- `intervals.py`: a share (Wilson), a count and a rate (Garwood), the difference of two shares (Newcombe)
- `lives.py`: who was followed from when to when, and how many are at risk
- `survival.py`: how long things last (Kaplan-Meier); `comparing.py`: whether groups differ (log-rank)
- `hazard.py`: how many times faster those of one group fail than those of another (Cox)
- `spares.py`: how many of a part to send with a device, or to keep at a site
- `runs.py`: whether a figure of each month does more than vary as it always did (XmR)
- `goals.py`: how far somebody's own goals were reached (goal attainment)

Twins in other people's libraries, naive implementations and simulated coverage: `tests/statistics`.
"""

from service.statistics.comparing import LogRank, logrank
from service.statistics.goals import goal_attainment
from service.statistics.hazard import HazardRatio, hazard_ratio
from service.statistics.intervals import Estimate, Interval, garwood, newcombe, rate, wilson
from service.statistics.lives import Lives
from service.statistics.runs import Chart, Finding, Limits, Rule, chart
from service.statistics.spares import Kit, kit, site_kit
from service.statistics.survival import Curve, kaplan_meier

__all__ = [
    "Chart",
    "Curve",
    "Estimate",
    "Finding",
    "HazardRatio",
    "Interval",
    "Kit",
    "Limits",
    "Lives",
    "LogRank",
    "Rule",
    "chart",
    "garwood",
    "goal_attainment",
    "hazard_ratio",
    "kaplan_meier",
    "kit",
    "logrank",
    "newcombe",
    "rate",
    "site_kit",
    "wilson",
]
