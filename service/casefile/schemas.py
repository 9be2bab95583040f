"""Views of the work list and of a case file."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from service.casefile.rules import PROBABLY, Kind
from service.devices.schemas import DeviceHistory, SockReportView, WornSocket
from service.growth.rules import ForecastState
from service.growth.schemas import Due, Limiting
from service.growth.stored import StoredForecast
from service.kit.schema import View
from service.measurements.schemas import MeasurementView
from service.recipients.rules import CaseState, Side
from service.recipients.schemas import NO_CHOICE, RecipientFilter, RecipientView


class WorkFilter(RecipientFilter):
    """Whose work to list, as for recipients, and of which kind; `state` is the case's."""

    kind: Annotated[Kind | None, NO_CHOICE] = None
    side: Annotated[Side | None, NO_CHOICE] = None


class WorkItem(View):
    """One thing to do. `act_by` is the day by which, or null; `why` is a sentence.

    `missing` names what a case lacks. A socket that is due has `side`, `device`, `purpose`, `socket` and its forecast:
    `already` and `within` are probabilities of being tight, now and within so many days; `start_by` is the day by
    which the making must start, which takes `lead_days` at this site; all are null until first worked out.
    """

    kind: Kind
    case_number: str
    given_name: str
    family_name: str
    birth_date: date
    site: str
    site_name: str
    act_by: date | None
    why: str
    missing: tuple[str, ...] = ()
    side: Side | None = None
    device: int | None = None
    purpose: str | None = None
    socket: int | None = None
    due: Due | None = None
    already: float | None = None
    within: dict[str, float] | None = None
    start_by: date | None = None
    lead_days: int | None = None
    limiting: Limiting | None = None
    state: ForecastState | None = None

    @property
    def probably_tight(self) -> bool:
        """Whether the socket is more likely tight today than not."""
        return self.already is not None and self.already >= PROBABLY


class WorkCounts(View):
    """How much there is to do, whatever the kind asked for.

    Of the sockets, `start_now` should be started today or before, `next_start` is the first day after on which
    another should, and `probably_tight` are more likely tight than not.
    """

    of_kind: dict[Kind, int]
    start_now: int
    next_start: date | None
    probably_tight: int


class StateChange(View):
    """The case came to stand somewhere else, or was opened (`before` null)."""

    on: date
    by: str
    before: CaseState | None
    after: CaseState


class CaseFile(View):
    """Everything the register knows of a case, newest first, but for the audit of who read it.

    `worn` are the sockets in place of devices in use, each with one of `forecasts`; `lead_days` is how long making a
    socket takes at the case's site.
    """

    person: RecipientView
    lead_days: int
    devices: list[DeviceHistory]
    worn: list[WornSocket]
    forecasts: list[StoredForecast]
    sessions: list[MeasurementView]
    sock_reports: list[SockReportView]
    states: list[StateChange]
