"""Commands and views of follow-ups of devices, and of scores of questionnaires."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from pydantic import ConfigDict, Field

from service.devices.rules import StoppedWhy
from service.kit.schema import Command, Day, Id, Line, Text, View
from service.measurements.schemas import StruckView
from service.outcomes.goal_rules import Voice
from service.outcomes.rules import AnsweredBy, AskState, Outcome, Pain, Recommend, Said, UsedFor, Way
from service.recipients.rules import Side

Short = Annotated[Text, Field(max_length=200)]
Long = Annotated[Text, Field(max_length=1000)]


class RecordFollowUp(Command):
    """What came of asking how somebody gets on with a device; every question may be left out.

    The day, today unless given, says which ask it answers. `device` may be left out when one alone is asked about.
    `used` false says that the device is not used any more, `why_not` why. `comfort` is from 0 (it hurts to wear) to 10
    (they forget that they wear it). A family answers for itself on its own page, whatever `way` says.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "way": "telephone",
                "answered_by": "recipient",
                "used": True,
                "days_a_week": 5,
                "hours_a_day": 4,
                "comfort": 8,
                "pain": "a_little",
                "pain_where": "at the elbow, in the evening",
                "used_for": ["school", "play"],
                "recommend": "yes",
            }
        }
    )

    device: Id | None = None
    on: Day | None = None
    way: Way = Way.TELEPHONE
    outcome: Outcome = Outcome.ANSWERED
    answered_by: AnsweredBy | None = None
    used: bool | None = None
    why_not: StoppedWhy | None = None
    why_not_words: Long = ""
    days_a_week: Annotated[int, Field(ge=0, le=7, description="days")] | None = None
    hours_a_day: Annotated[float, Field(ge=0, le=24, description="hours")] | None = None
    comfort: Annotated[int, Field(ge=0, le=10)] | None = None
    pain: Pain | None = None
    pain_where: Short = ""
    used_for: Annotated[tuple[UsedFor, ...], Field(max_length=len(UsedFor))] = ()
    recommend: Recommend | None = None
    harm: Long = ""
    words: Long = ""

    @property
    def said(self) -> Said:
        """The answers alone, each use named once."""
        given = {name: getattr(self, name) for name in Said.__slots__}
        return Said(**{**given, "used_for": tuple(each for each in UsedFor if each in self.used_for)})


class StrikeFollowUp(Command):
    """Strike a follow-up through: it stays on record and counts no more, so the ask may be answered anew."""

    model_config = ConfigDict(json_schema_extra={"example": {"why": "This was his sister's device."}})

    why: Line


class SeeToFollowUp(Command):
    """A coordinator saw to it that a device is said not to be used any more: it is stopped, or it is used after all."""

    model_config = ConfigDict(json_schema_extra={"example": {"stopped": True}})

    stopped: bool


class AddQuestionnaireScore(Command):
    """The score of a licensed questionnaire that was filled in elsewhere, as its own manual counts it.

    Only the score is kept. What the questionnaire asks belongs to whoever licenses it: do not copy it here.
    """

    model_config = ConfigDict(
        json_schema_extra={"example": {"instrument": "the clinic's own", "version": "2", "score": 71.5}}
    )

    instrument: Line
    version: Line
    score: Annotated[float, Field(ge=-100_000, le=100_000)]
    on: Day | None = None
    voice: Voice = Voice.RECIPIENT
    device: Id | None = None
    note: Short = ""


class FollowUpView(View):
    """What came of asking.

    `waits` says that a coordinator should see to it that the device is not used any more, `seen_to_at` when one did.
    """

    id: int
    device: int
    ask: str
    outcome: Outcome
    on: date
    way: Way
    answered_by: AnsweredBy | None
    used: bool | None
    why_not: StoppedWhy | None
    why_not_words: str
    days_a_week: int | None
    hours_a_day: float | None
    comfort: int | None
    pain: Pain | None
    pain_where: str
    used_for: list[UsedFor]
    recommend: Recommend | None
    harm: str
    words: str
    incident: int | None
    recorded_at: datetime
    recorded_by: str
    seen_to_at: datetime | None
    seen_to_by: str | None
    struck: StruckView | None
    waits: bool


class RecordedFollowUp(FollowUpView):
    """What was recorded, and what whoever answered is told to do, if harm or a lot of pain was said."""

    advice: list[str]


class AskView(View):
    """An ask of a device: when it is due, where it stands, and what came of it.

    `answer` says what was said or that somebody declined; `tries` are those on which nobody was reached, and what was
    struck through.
    """

    device: int
    purpose: str
    side: Side
    ask: str
    words: str
    due_on: date
    closes_on: date
    state: AskState
    answer: FollowUpView | None
    tries: list[FollowUpView]


class DueView(View):
    """Somebody to be asked how it goes: about a device, about what was made for it (`build`), or both at once.

    `questions` says that the questions about the device are open; with a `build`, its follow-up check is due as well.
    `id` is that of the check. `tries` counts how often nobody was reached.
    """

    id: int | None
    build: int | None
    case_number: str
    given_name: str
    device: int
    purpose: str
    name: str
    words: str
    due_on: date
    closes_on: date | None
    late: bool
    questions: bool
    tries: int


class QuestionnaireScoreView(View):
    """The score of a questionnaire."""

    id: int
    device: int | None
    instrument: str
    version: str
    score: float
    on: date
    voice: Voice
    note: str
    recorded_by: str


class SaidStopped(View):
    """A device that is said not to be used any more, and that no coordinator has seen to."""

    case_number: str
    given_name: str
    device: int
    purpose: str
    side: Side
    why_not: StoppedWhy | None
    why_not_words: str
    on: date


class ToAsk(View):
    """An ask about which a family may be written to."""

    recipient: int
    case_number: str
    device: int
    ask: str
