"""Goals with their scores, read from their rows. Part of another act."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import sqlalchemy as sa

from service.access.work import Work
from service.outcomes.goal_rules import LEVEL_WORDS, LEVELS, VOICES, Voice, attainment
from service.outcomes.goal_schemas import Attained, GoalScoreView, GoalView
from service.outcomes.tables import GoalRow, GoalScoreRow


def goals_of(work: Work, recipient_id: int, *which: sa.ColumnElement[bool]) -> list[GoalView]:
    """The goals of a recipient, pursued ones first, then the heaviest; each with its scores, newest first."""
    rows = work.session.scalars(
        sa.select(GoalRow)
        .where(GoalRow.recipient_id == recipient_id, *which)
        .order_by(GoalRow.ended_on.is_not(None), GoalRow.weight.desc(), GoalRow.agreed_on.desc(), GoalRow.id)
    ).all()
    scores = _scores(work, [row.id for row in rows])
    return [
        GoalView(
            id=row.id,
            device=row.device_id,
            instead_of=row.instead_of_id,
            words=row.words,
            voice=row.voice,
            weight=row.weight,
            levels=dict(zip(LEVELS, row.levels, strict=True)),
            baseline=row.baseline,
            agreed_on=row.agreed_on,
            recorded_at=row.recorded_at,
            recorded_by=row.recorded_by,
            ended_on=row.ended_on,
            ended_why=row.ended_why,
            ended_by=row.ended_by,
            scores=scores[row.id],
        )
        for row in rows
    ]


def _scores(work: Work, goals: list[int]) -> defaultdict[int, list[GoalScoreView]]:
    found: defaultdict[int, list[GoalScoreView]] = defaultdict(list)
    rows = work.session.scalars(sa.select(GoalScoreRow).where(GoalScoreRow.goal_id.in_(goals))).all() if goals else ()
    for row in sorted(rows, key=lambda each: (-each.scored_on.toordinal(), VOICES.index(each.voice))):
        found[row.goal_id].append(
            GoalScoreView(
                id=row.id,
                on=row.scored_on,
                voice=row.voice,
                level=row.level,
                level_words=LEVEL_WORDS[row.level],
                words=row.words,
                recorded_by=row.recorded_by,
            )
        )
    return found


def attained(goals: Sequence[GoalView]) -> list[Attained]:
    """How far goals that are pursued were attained, in each voice that scored any, the recipient's own first."""
    found = [_attained(goals, voice) for voice in VOICES]
    return [each for each in found if each.goals]


def _attained(goals: Sequence[GoalView], voice: Voice) -> Attained:
    scored = [(goal, goal.last(voice)) for goal in goals if goal.ended_on is None]
    counted = [(goal, score.level) for goal, score in scored if score is not None]
    return Attained(
        voice=voice,
        goals=len(counted),
        baseline=attainment([(goal.weight, goal.baseline) for goal, _level in counted]),
        now=attainment([(goal.weight, level) for goal, level in counted]),
    )
