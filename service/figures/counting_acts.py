"""From facts to populations: incidents, notices, follow-up checks and builds, of everybody. Exact."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from service.figures import cuts
from service.figures.counting import Counted, first_of, population
from service.figures.cuts import Cut
from service.figures.facts import Facts, Happened, Look, Noticed, Spent
from service.figures.rules import past_years
from service.handovers.rules import follow_up_words
from service.notices.rules import NoticeKind
from service.safety.rules import IncidentKind

SERIOUS: Final = ("serious", "not serious", "not judged yet")
NOTICED: Final = ("open", "closed")
MADE: Final = ("fitted", "not fitted yet")
LOOKED: Final = ("done in time", "done late", "not done")
LATE_LOOK: Final = timedelta(days=14)
"""A follow-up check is in time until so long after its day (judgement)."""


def of_acts(facts: Facts) -> list[Counted]:
    """Incidents, notices, follow-up checks, builds."""
    return [_incidents(facts), _notices(facts), _looks(facts, facts.sites), _builds(facts, facts.sites)]


def _serious_column(incident: Happened) -> str:
    return SERIOUS[2] if incident.serious is None else SERIOUS[0] if incident.serious else SERIOUS[1]


CLOCK_ROWS: Final = ("reported in time", "reported late", "not reported, with a reason", "not reported yet", "no clock")


def _clock_row(incident: Happened) -> str:
    if incident.report_by is None or not incident.serious:
        return CLOCK_ROWS[4]
    if incident.reported_on is not None:
        return CLOCK_ROWS[0] if incident.reported_on <= incident.report_by else CLOCK_ROWS[1]
    return CLOCK_ROWS[3] if incident.closed_on is None else CLOCK_ROWS[2]


def _incidents(facts: Facts) -> Counted:
    kinds = tuple(kind.label for kind in IncidentKind)
    first = first_of((each.aware_on for each in facts.incidents), facts)
    year: Cut[Happened] = cuts.by_year("By year", lambda each: each.aware_on, first, facts.until)
    by: list[Cut[Happened]] = [
        Cut("kind", "By what happened", kinds, lambda each: each.kind.label),
        year,
        Cut("clock", "By whether it had to be reported", CLOCK_ROWS, _clock_row),
    ]
    sums = cuts.up_to(year.rows, past_years(facts.until))
    return population("incidents", "Incidents", SERIOUS, facts.incidents, _serious_column, by=by, sums=sums)


CLOSED_ROWS: Final = ("closed within 30 days", "closed within 90 days", "closed later", "open")


def _closed_row(notice: Noticed) -> str:
    if notice.closed_on is None:
        return CLOSED_ROWS[3]
    days = (notice.closed_on - notice.opened_on).days
    return CLOSED_ROWS[0] if days <= 30 else CLOSED_ROWS[1] if days <= 90 else CLOSED_ROWS[2]


def _notices(facts: Facts) -> Counted:
    kinds = tuple(kind.value for kind in NoticeKind)
    by: list[Cut[Noticed]] = [
        Cut("kind", "By what it is about", kinds, lambda each: each.kind.value),
        Cut("closed", "By how soon it was closed", CLOSED_ROWS, _closed_row),
    ]
    return population(
        "notices", "Safety notices", NOTICED, facts.notices, lambda each: NOTICED[each.closed_on is not None], by=by
    )


def _looked_column(look: Look) -> str:
    if look.done_on is None:
        return LOOKED[2]
    return LOOKED[0] if look.done_on <= look.due_on + LATE_LOOK else LOOKED[1]


def _looks(facts: Facts, sites: tuple[str, ...]) -> Counted:
    names = tuple(dict.fromkeys(follow_up_words(each.name) for each in facts.looks)) or ("none",)
    by: list[Cut[Look]] = [
        Cut("name", "By which check", names, lambda each: follow_up_words(each.name)),
        Cut("site", "By site", sites, lambda each: each.site),
    ]
    return population("looks", "Follow-up checks that were due", LOOKED, facts.looks, _looked_column, by=by)


def _builds(facts: Facts, sites: tuple[str, ...]) -> Counted:
    by: list[Cut[Spent]] = [Cut("site", "By site", sites, lambda each: each.site)]
    return population("builds", "Builds", MADE, facts.spent, lambda each: MADE[each.fitted_on is None], by=by)
