"""What may be done in the register, and the roles a person can hold."""

from __future__ import annotations

import enum


class Role(enum.StrEnum):
    """The six roles of people (one person may hold several), that of a family's link, and two that are nobody's."""

    COORDINATOR = "coordinator"
    VOLUNTEER = "volunteer"
    CLINICIAN = "clinician"
    TRUSTEE = "trustee"
    SAFEGUARDING_LEAD = "safeguarding_lead"
    ADMINISTRATOR = "administrator"
    FAMILY = "family"
    NOBODY = "nobody"
    SYSTEM = "system"

    @property
    def label(self) -> str:
        """The word on a screen."""
        return self.value.replace("_", " ")


PEOPLE = tuple(role for role in Role if role not in {Role.FAMILY, Role.NOBODY, Role.SYSTEM})
"""Roles an account can hold."""


class May(enum.StrEnum):
    """One member for each thing that some may and others may not do, said as a sentence goes on: "may …"."""

    SIGN_IN = "sign in"
    KEEP_OWN_ACCOUNT = "change the own password, sessions and tokens"
    MANAGE_ACCOUNTS = "manage accounts and sites"
    SEE_SITES = "see the names of their sites"
    SEE_CASES = "see the cases that are theirs to see"
    KEEP_CASES = "register recipients and change their particulars"
    JUDGE_SUITABILITY = "record whether a device is suitable"
    RECORD_MEASUREMENTS = "record and correct measurements"
    REPORT_SOCKS = "report the socks worn"
    KEEP_DEVICES = "record devices, sockets and their settings"
    SEE_PARTS = "see part designs and their versions"
    KEEP_PARTS = "add part designs and versions"
    RELEASE_PARTS = "release and withdraw part versions"
    KEEP_SHAPES = "record shapes and the socket versions made from them"
    SEE_LOTS = "see lots"
    KEEP_LOTS = "record lots and their state"
    ASK_FORECASTS = "ask for a forecast from figures given, without a case"
    SEE_FORECAST_RECORD = "see how well forecasts have done"
    SEE_REQUESTS = "see what is asked for"
    ASK = "ask for things, and put or answer questions about them"
    ORDER_REQUESTS = "order, join, split, promise and settle requests"
    REVIEW_REQUESTS = "open and close requests as forecasts say"
    REFRESH_FORECASTS = "refresh stored forecasts"
    KEEP_TOWNS = "record towns and where they lie"
    SEE_VOLUNTEERS = "see who makes and fits at their sites"
    KEEP_VOLUNTEERS = "record volunteers and what they are trained for"
    KEEP_OWN_VOLUNTEERING = "keep what a volunteer has, and when they are away"
    KEEP_VETTING = "see and record the vetting of volunteers"
    STOP_MAIL = "stop their mail by the link in it"
    SEE_MESSAGES = "see the messages of their sites and make the calls among them"
    PLAN = "plan who makes what, and offer it"
    ANSWER_OFFERS = "see offers and answer them"
    OPEN_OFFERS = "open an offer by its link and answer it"
    KEEP_OFFERS = "let offers lapse and ask the next"
    SEE_BUILDS = "see what is being made, and what stands in its way"
    MAKE_BUILDS = "make things: begin builds, choose what is made, log prints and lots"
    KEEP_BUILDS = "open builds that were agreed to, and drop what is not needed"
    SUM_BUILDS = "see what builds took together"
    SIGN_CHECKS = "sign checks"
    ACCEPT_IN_WRITING = "accept in writing what only a clinician may"
    SEE_GATE = "see what blocks a build, and what lifts it"
    SEE_RULES = "see what the trustees of their sites recorded"
    KEEP_RULES = "record what the trustees of a site decided, and its limits"
    HAND_OVER = "record deliveries and fittings"
    SEE_FOLLOW_UPS = "see how people get on with their devices, and their goals"
    RECORD_FOLLOW_UPS = "record how people get on with their devices"
    SEE_TO_FOLLOW_UPS = "see to what was said at follow-ups"
    ASK_FOLLOW_UPS = "ask families how it goes when it is time"
    KEEP_GOALS = "agree on goals, score and end them"
    SEE_NOTICES = "see safety notices and what they are about"
    KEEP_NOTICES = "open safety notices, ask for replacements and close them"
    ANSWER_NOTICES = "write down what families answer to safety notices"
    SEE_INCIDENTS = "see incidents and what somebody should look at"
    REPORT_INCIDENTS = "report what hurts or could have hurt"
    JUDGE_INCIDENTS = "judge incidents and look at what was reported"
    RAISE_CONCERN = "raise a safeguarding concern"
    READ_CONCERNS = "read safeguarding concerns"
    SEE_FIGURES = "see the figures that trustees are told"
    SEE_EXACT_FIGURES = "see the exact figures of their own sites"
    PLAN_SPARES = "work out how many spare parts to send or to keep"
    KEEP_FIGURES = "make the sheets of figures that trustees are told"
    KEEP_FAMILY_LINKS = "make and end family links, and see to what families say"
    OPEN_FAMILY_LINKS = "open a family's link"
    OPEN_CALENDARS = "fetch a calendar by its link"
    SPEAK_AS_FAMILY = "say something as the family"
