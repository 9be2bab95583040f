"""What each figure means: its question, who is in it, what it is divided by, what is missing, and how it is worked out.

A page opens each figure to its definition, and the data dictionary of the files is this table.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple


class Definition(NamedTuple):
    """One figure, defined. `unit` is that of its value: `share` is 0-1."""

    title: str
    unit: str
    population: str
    denominator: str
    missing: str
    method: str


_COUNTED = "Only those who agreed to be counted in figures that name nobody, and have not taken it back."
_SHARE = (
    "A share of counts as told. The interval is Wilson's, from the least to the greatest that the rounding of both "
    "counts allows: 95 in 100 or more."
)
_RATE = (
    "Events as told for each year of exposure as told. The interval is Garwood's exact one for a Poisson count, from "
    "the least to the greatest that rounding allows: 95 in 100 or more."
)
_CURVE = (
    "Kaplan and Meier's estimate, which counts everybody for as long as they are followed; its steps are told as if "
    "they were counts, so coarsely that none can be worked back. The interval is log-log, after Greenwood, and "
    "allows for that."
)
_MEAN = "A mean told coarsely, and only where it rests on the threshold or more."

DEFINITIONS: Final[Mapping[str, Definition]] = MappingProxyType(
    {
        "people.served": Definition(
            "People with a device", "people", f"Everybody who was fitted with a device at any time. {_COUNTED}",
            "none: a count", "Those who did not agree to be counted are not in it.", "A count, rounded.",
        ),
        "waits.in_time": Definition(
            "Answered by the day it was promised for", "share",
            f"Requests that were answered, whatever was asked for. {_COUNTED}",
            "requests answered, in time or late",
            "Requests still waited for, and those closed without an answer, are in the table but not in this share.",
            "In time is by the day promised, or where none was promised by the day it was needed; days on which the "
            f"charity waited for the family or a clinician do not count against it. {_SHARE}",
        ),
        "waits.curve": Definition(
            "Still waiting, week by week", "share", f"All requests. {_COUNTED}",
            "requests, from the day they were asked",
            "Requests still waited for count for as long as they have waited; those closed without an answer until "
            "then.",
            f"{_CURVE} Days on which the charity waited for the family or a clinician are taken out.",
        ),
        "waits.half": Definition(
            "Weeks until half are answered", "weeks", f"All requests. {_COUNTED}", "none: a point of the curve",
            "As of the curve.", "The first point of the told curve, and of its interval, at which half or fewer "
            "still wait.",
        ),
        "wear.now": Definition(
            "Still worn, of those heard of", "share", "Every device that was ever worn, across its sockets. "
            f"{_COUNTED}",
            "devices still worn or stopped",
            "Devices nobody has heard of for a year are in the table, not in this share: it may be less than it says.",
            f"A spare counts as worn. {_SHARE}",
        ),
        "wear.curve": Definition(
            "Still worn, by months since it was first worn", "share", f"Every device that was ever worn. {_COUNTED}",
            "devices, from the day first worn",
            "A device counts for as long as anybody has told or read anything of it; lost to sight is not stopped, "
            "nor worn.",
            _CURVE,
        ),
        "wear.answers": Definition(
            "What those who were asked said", "share", f"The last follow-up answered for each device. {_COUNTED}",
            "answers in which the question was answered",
            "Those who were asked and did not answer are counted as asked; questions left out are counted as left out.",
            _SHARE,
        ),
        "wear.reached": Definition(
            "Follow-ups answered", "share", f"Every follow-up that was due. {_COUNTED}", "follow-ups due and over",
            "Declined and lost ones are in the denominator: they are not left out.", _SHARE,
        ),
        "wear.goals": Definition(
            "Goals reached as hoped or better", "share",
            f"Goals agreed with a recipient and scored at least once; the last score counts. {_COUNTED}",
            "goals scored", "Goals not scored yet are in the table, not in this share.", _SHARE,
        ),
        "wear.attainment": Definition(
            "Goal attainment, T", "T points", f"Recipients with scored goals. {_COUNTED}", "recipients",
            "Recipients whose goals are not scored yet are not in it.",
            f"T of Kiresuk and Sherman (1968): 50 is all as hoped, 10 a standard deviation. {_MEAN}",
        ),
        "durability.rate": Definition(
            "Breakages for each year in place", "per year in place",
            f"Printed parts of a design in place in devices. {_COUNTED}", "years in place, all parts together",
            "A part that came off for another reason counts until that day. Parts nobody reported broken count as "
            "whole.",
            _RATE,
        ),
        "durability.curve": Definition(
            "Not broken, by months in place", "share", f"Printed parts of a design, by version. {_COUNTED}",
            "parts in place, from the day they were put in",
            "A part that came off otherwise counts until then; a part the register learned of later counts from "
            "then, and one that moved goes on with the days it was worn before (delayed entry).",
            _CURVE,
        ),
        "durability.compared": Definition(
            "How fast one version breaks against another", "ratio",
            f"Printed parts of two versions of a design. {_COUNTED}", "none: a ratio of hazards",
            "As of the curve.",
            "Cox's hazard ratio (Efron for ties), with an interval that takes the parts of one device for one "
            "witness, and the log-rank test. Told only from the threshold of breakages in both on, in steps of about "
            "ten per cent.",
        ),
        "fit.tight": Definition(
            "Days in a tight socket, for each child and year", "days per child-year",
            f"Sockets of children. {_COUNTED}", "years that children wore a socket",
            "A socket is tight from the first report of tight socks, or the first reading that meets its limit. "
            "Tight days that nobody reported or measured are missing: the true figure is higher.",
            "A ratio of two sums, each told coarsely. The interval takes each child for one witness (linearisation, "
            "Student's t), and is told outwards to two digits.",
        ),
        "fit.sockets": Definition(
            "Sockets for each child and year", "per child-year", f"Sockets of children. {_COUNTED}",
            "years that children wore a socket", "None known.", _RATE,
        ),
        "fit.forecasts": Definition(
            "Forecasts that came true within their range", "share",
            "Sockets found outgrown, with the forecast in force three months before.",
            "sockets found outgrown that had a forecast",
            "Sockets that came off for another reason are in the table, not in this share, which leans towards "
            "children who grew fast. It should be about 80 in 100.",
            _SHARE,
        ),
        "costs.device": Definition(
            "Material for each build that was fitted", "money", "Builds with prints on record.", "builds fitted",
            "Failed prints are in it. Bought parts, post, travel and people's time are not: nobody records them.",
            "A ratio of two figures told coarsely. The interval takes each build for one witness, and is told outwards "
            "to two digits.",
        ),
        "costs.month": Definition(
            "Material for each month a device was worn", "money", "All prints on record; all devices.",
            "months that devices were worn", "As of the cost of a build.",
            "A ratio of two figures told coarsely; no interval.",
        ),
        "costs.hours": Definition(
            "Hours of printing", "hours", "All prints on record.", "none: a sum",
            "Hours of volunteers at the bench, on the road and with families are not recorded.", "A sum told coarsely.",
        ),
        "safety.rate": Definition(
            "Incidents for each year a device was worn", "per device-year",
            "Incidents of everybody, whether they agreed to be counted or not: the charity answers for each.",
            "years that devices were worn", "What nobody reported.", _RATE,
        ),
        "safety.looks": Definition(
            "Follow-up checks done in time", "share", "Follow-up checks that were due.", "checks due",
            "Checks not done are in the denominator.", f"In time is up to fourteen days after its day. {_SHARE}",
        ),
        "fairness.in_time": Definition(
            "Answered in time, against everybody else", "difference of shares", "Requests that were answered. "
            f"{_COUNTED}",
            "requests answered, of the group and of all others",
            "As of the share answered in time. Groups too small to tell of are hidden.",
            "The share of a group less that of all others, by Newcombe's hybrid score interval, over all that "
            "rounding allows. Groups are in a fixed order; of twenty true equals, one may look different by chance.",
        ),
        "fairness.worn": Definition(
            "Still worn, against everybody else", "difference of shares", f"Devices still worn or stopped. {_COUNTED}",
            "devices still worn or stopped, of the group and of all others",
            "As of the share still worn.", "As of answered in time.",
        ),
        "change.asked": Definition(
            "Requests, quarter by quarter", "requests", f"All requests. {_COUNTED}", "none: a count",
            "Quarters with too few to tell of are left out of the limits.",
            "An XmR chart: mean and natural limits from moving ranges, and the four usual rules.",
        ),
        "change.in_time": Definition(
            "Answered in time, quarter by quarter", "share", f"Requests answered. {_COUNTED}", "requests answered",
            "Requests of the last quarters may still be waited for.",
            "An XmR chart: mean and natural limits from moving ranges, and the four usual rules.",
        ),
    }
)  # fmt: skip
