"""THE table: which role may do what. Read it aloud; `tests/access/permissions.txt` pins what follows from it.

It says what a role covers, not whose rows: a coordinator sees the cases of their own sites, a volunteer only those
they were asked to help with, a family its own and only on its own pages (`recipients.scope`). A trustee and an
administrator see no case at all.
"""

from __future__ import annotations

from service.access.permissions import PEOPLE, May, Role

_EVERY_PERSON = frozenset(PEOPLE)
_CASE_WORKERS = frozenset({Role.COORDINATOR, Role.CLINICIAN, Role.VOLUNTEER})

POLICY: dict[May, frozenset[Role]] = {
    May.SIGN_IN: frozenset({Role.NOBODY}) | _EVERY_PERSON,
    May.KEEP_OWN_ACCOUNT: _EVERY_PERSON,
    May.MANAGE_ACCOUNTS: frozenset({Role.ADMINISTRATOR, Role.SYSTEM}),
    May.SEE_SITES: _EVERY_PERSON | {Role.SYSTEM},
    May.SEE_CASES: _CASE_WORKERS | {Role.SAFEGUARDING_LEAD, Role.FAMILY, Role.SYSTEM},
    May.KEEP_CASES: frozenset({Role.COORDINATOR}),
    May.JUDGE_SUITABILITY: frozenset({Role.CLINICIAN}),
    May.RECORD_MEASUREMENTS: _CASE_WORKERS,
    May.REPORT_SOCKS: _CASE_WORKERS | {Role.FAMILY},
    May.KEEP_DEVICES: _CASE_WORKERS,
    May.SEE_PARTS: _EVERY_PERSON | {Role.SYSTEM},
    May.KEEP_PARTS: frozenset({Role.COORDINATOR, Role.VOLUNTEER}),
    May.RELEASE_PARTS: frozenset({Role.COORDINATOR, Role.CLINICIAN}),
    May.KEEP_SHAPES: _CASE_WORKERS,
    May.SEE_LOTS: _CASE_WORKERS | {Role.SYSTEM},
    May.KEEP_LOTS: frozenset({Role.COORDINATOR, Role.VOLUNTEER}),
    May.ASK_FORECASTS: _EVERY_PERSON | {Role.SYSTEM},
    May.SEE_FORECAST_RECORD: frozenset({Role.COORDINATOR, Role.CLINICIAN}),
    May.SEE_REQUESTS: _CASE_WORKERS | {Role.SAFEGUARDING_LEAD, Role.FAMILY, Role.SYSTEM},
    May.ASK: _CASE_WORKERS | {Role.FAMILY, Role.SYSTEM},
    May.ORDER_REQUESTS: frozenset({Role.COORDINATOR}),
    May.REVIEW_REQUESTS: frozenset({Role.SYSTEM}),
    May.REFRESH_FORECASTS: frozenset({Role.SYSTEM}),
    May.KEEP_TOWNS: frozenset({Role.COORDINATOR, Role.ADMINISTRATOR, Role.SYSTEM}),
    May.SEE_VOLUNTEERS: _CASE_WORKERS | {Role.SAFEGUARDING_LEAD, Role.SYSTEM},
    May.KEEP_VOLUNTEERS: frozenset({Role.COORDINATOR}),
    May.KEEP_OWN_VOLUNTEERING: frozenset({Role.COORDINATOR, Role.VOLUNTEER}),
    May.KEEP_VETTING: frozenset({Role.COORDINATOR, Role.SAFEGUARDING_LEAD}),
    May.STOP_MAIL: frozenset({Role.NOBODY}) | _EVERY_PERSON,
    May.SEE_MESSAGES: frozenset({Role.COORDINATOR, Role.SYSTEM}),
    May.PLAN: frozenset({Role.COORDINATOR}),
    May.ANSWER_OFFERS: frozenset({Role.COORDINATOR, Role.VOLUNTEER}),
    May.OPEN_OFFERS: frozenset({Role.NOBODY}) | _EVERY_PERSON,
    May.KEEP_OFFERS: frozenset({Role.SYSTEM}),
    May.SEE_BUILDS: _CASE_WORKERS | {Role.SAFEGUARDING_LEAD, Role.SYSTEM},
    May.MAKE_BUILDS: frozenset({Role.COORDINATOR, Role.VOLUNTEER}),
    May.KEEP_BUILDS: frozenset({Role.SYSTEM}),
    May.SUM_BUILDS: frozenset({Role.COORDINATOR}),
    May.SIGN_CHECKS: _CASE_WORKERS,
    May.ACCEPT_IN_WRITING: frozenset({Role.CLINICIAN}),
    May.SEE_GATE: _EVERY_PERSON,
    May.SEE_RULES: frozenset({Role.COORDINATOR, Role.CLINICIAN, Role.TRUSTEE, Role.ADMINISTRATOR}),
    May.KEEP_RULES: frozenset({Role.TRUSTEE, Role.ADMINISTRATOR}),
    May.HAND_OVER: _CASE_WORKERS,
    May.SEE_FOLLOW_UPS: _CASE_WORKERS | {Role.SAFEGUARDING_LEAD, Role.FAMILY, Role.SYSTEM},
    May.RECORD_FOLLOW_UPS: _CASE_WORKERS | {Role.FAMILY},
    May.SEE_TO_FOLLOW_UPS: frozenset({Role.COORDINATOR}),
    May.ASK_FOLLOW_UPS: frozenset({Role.SYSTEM}),
    May.KEEP_GOALS: _CASE_WORKERS,
    May.SEE_NOTICES: _CASE_WORKERS | {Role.SAFEGUARDING_LEAD, Role.SYSTEM},
    May.KEEP_NOTICES: frozenset({Role.COORDINATOR, Role.CLINICIAN}),
    May.ANSWER_NOTICES: _CASE_WORKERS,
    May.SEE_INCIDENTS: _CASE_WORKERS | {Role.SAFEGUARDING_LEAD, Role.SYSTEM},
    May.REPORT_INCIDENTS: _CASE_WORKERS | {Role.FAMILY},
    May.JUDGE_INCIDENTS: frozenset({Role.COORDINATOR, Role.CLINICIAN, Role.SAFEGUARDING_LEAD}),
    May.RAISE_CONCERN: _EVERY_PERSON | {Role.FAMILY},
    May.READ_CONCERNS: frozenset({Role.SAFEGUARDING_LEAD}),
    May.SEE_FIGURES: frozenset({Role.TRUSTEE, Role.COORDINATOR, Role.CLINICIAN, Role.SAFEGUARDING_LEAD}),
    May.SEE_EXACT_FIGURES: frozenset({Role.COORDINATOR}),
    May.PLAN_SPARES: _CASE_WORKERS,
    May.KEEP_FIGURES: frozenset({Role.SYSTEM}),
    May.KEEP_FAMILY_LINKS: frozenset({Role.COORDINATOR}),
    May.OPEN_FAMILY_LINKS: frozenset({Role.NOBODY}) | _EVERY_PERSON,
    May.OPEN_CALENDARS: frozenset({Role.NOBODY}) | _EVERY_PERSON,
    May.SPEAK_AS_FAMILY: frozenset({Role.FAMILY}),
}


def allows(roles: frozenset[Role], may: May) -> bool:
    """Whether any of the roles covers it."""
    return not roles.isdisjoint(POLICY[may])
