"""Commands and views of goals."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from pydantic import ConfigDict, Field

from service.kit.schema import Command, Day, Id, Line, Text, View
from service.outcomes.goal_rules import HEAVIEST, Voice

Level = Annotated[int, Field(ge=-2, le=2, description="from -2, much less than hoped, to 2, much more; 0 is as hoped")]
Words = Annotated[Text, Field(min_length=1, max_length=500)]


class AddGoal(Command):
    """A goal of the recipient's own, in their words first, agreed before anything is made.

    `levels` says in words what each level from "-2" to "2" would be; `baseline` is where they are now; `weight` how
    much it matters to them, from 1 to 3. `instead_of` names an ended goal that this one was written after.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "words": "Do up my own coat before school.",
                "voice": "recipient",
                "weight": 3,
                "levels": {
                    "-2": "Somebody does it up for me.",
                    "-1": "I hold it, somebody pulls the zip.",
                    "0": "I do it up myself on most days.",
                    "1": "I do it up myself every day.",
                    "2": "I do it up every day, and as fast as the others.",
                },
                "baseline": -2,
            }
        }
    )

    words: Words
    voice: Voice = Voice.RECIPIENT
    weight: Annotated[int, Field(ge=1, le=HEAVIEST)] = 1
    levels: dict[Annotated[int, Field(ge=-2, le=2)], Annotated[Text, Field(max_length=300)]]
    baseline: Level
    agreed_on: Day | None = None
    device: Id | None = None
    instead_of: Id | None = None


class ChangeGoal(Command):
    """A goal put right before it was ever scored; what is left out stays."""

    model_config = ConfigDict(json_schema_extra={"example": {"weight": 2}})

    words: Words | None = None
    weight: Annotated[int, Field(ge=1, le=HEAVIEST)] | None = None
    levels: dict[Annotated[int, Field(ge=-2, le=2)], Annotated[Text, Field(max_length=300)]] | None = None
    baseline: Level | None = None


class ScoreGoal(Command):
    """The level that was reached, as one voice judges it; ask the recipient first. The day is today unless given."""

    model_config = ConfigDict(
        json_schema_extra={"example": {"level": 1, "voice": "recipient", "words": "Even with gloves on!"}}
    )

    level: Level
    voice: Voice = Voice.RECIPIENT
    on: Day | None = None
    words: Annotated[Text, Field(max_length=500)] = ""


class EndGoal(Command):
    """That a goal is not pursued any more, and why."""

    model_config = ConfigDict(json_schema_extra={"example": {"why": "Has a coat without a zip now."}})

    why: Line
    on: Day | None = None


class GoalScoreView(View):
    """A score of a goal."""

    id: int
    on: date
    voice: Voice
    level: int
    level_words: str
    words: str
    recorded_by: str


class GoalView(View):
    """A goal with its scores, newest first; of a day the recipient's own comes first."""

    id: int
    device: int | None
    instead_of: int | None
    words: str
    voice: Voice
    weight: int
    levels: dict[int, str]
    baseline: int
    agreed_on: date
    recorded_at: datetime
    recorded_by: str
    ended_on: date | None
    ended_why: str | None
    ended_by: str | None
    scores: list[GoalScoreView]

    def last(self, voice: Voice) -> GoalScoreView | None:
        """The newest score in a voice."""
        return next((each for each in self.scores if each.voice is voice), None)


class Attained(View):
    """How far goals were attained together: T is 50 where all are as hoped; null where nothing was scored.

    `goals` are those that count: not ended, and scored by the voice. `baseline` is the T they started from.
    """

    voice: Voice
    goals: int
    baseline: float | None
    now: float | None


class GoalsView(View):
    """The goals of a recipient, those that are pursued first, and how far they were attained, voice by voice."""

    items: list[GoalView]
    attained: list[Attained]
