"""From what people said to populations: whether they could be reached, their last answers, their goals. Exact."""

from __future__ import annotations

from collections import defaultdict
from typing import Final

from service.figures.counting import Counted, population
from service.figures.cuts import Cut
from service.figures.facts import Answered, AskedAfter, Attained, Facts
from service.outcomes.rules import AskState, ask_words
from service.statistics.goals import goal_attainment

REACHED: Final = tuple(state.label for state in (AskState.ANSWERED, AskState.DECLINED, AskState.LOST))
ANSWERS: Final = ("answers",)
GOALS: Final = ("as hoped or better", "less than hoped", "not scored yet")
LEFT_OUT: Final = "left out"

COMFORT_ROWS: Final = ("0 to 3", "4 to 6", "7 to 10", LEFT_OUT)
PAIN_ROWS: Final = ("none", "a little", "a lot", LEFT_OUT)
HOURS_ROWS: Final = ("under 2 hours", "2 to under 6 hours", "6 hours or more", LEFT_OUT)
DAYS_ROWS: Final = ("0 to 2 days", "3 to 5 days", "6 or 7 days", LEFT_OUT)
RECOMMEND_ROWS: Final = ("yes", "perhaps", "no", LEFT_OUT)


def of_answers(facts: Facts) -> list[Counted]:
    """Follow-ups, last answers and goals of those who agreed to be counted."""
    return [_asked(facts), _answers(facts), _goals(facts)]


def _band(value: float | None, ends: tuple[float, ...], rows: tuple[str, ...]) -> str:
    """The row of a value: the first whose end it is below."""
    if value is None:
        return LEFT_OUT
    return next((row for end, row in zip(ends, rows, strict=False) if value < end), rows[len(ends)])


def _asked(facts: Facts) -> Counted:
    names = tuple(dict.fromkeys(ask_words(each.name) for each in facts.asked)) or ("none",)
    by: list[Cut[AskedAfter]] = [
        Cut("ask", "By when it was asked", names, lambda each: ask_words(each.name)),
        Cut("site", "By site", facts.sites, lambda each: facts.people[each.recipient].site),
    ]
    return population("asked", "Follow-ups that were due", REACHED, facts.asked, lambda each: each.came_of, by=by)


def _answers(facts: Facts) -> Counted:
    voices = tuple(sorted({each.by or "not said" for each in facts.answers})) or ("not said",)
    by: list[Cut[Answered]] = [
        Cut("comfort", "Comfort, 0 to 10", COMFORT_ROWS, lambda each: _band(each.comfort, (4, 7), COMFORT_ROWS)),
        Cut("pain", "Pain", PAIN_ROWS, lambda each: each.pain or LEFT_OUT),
        Cut("hours", "Hours worn a day", HOURS_ROWS, lambda each: _band(each.hours, (2, 6), HOURS_ROWS)),
        Cut("days", "Days worn a week", DAYS_ROWS, lambda each: _band(each.days, (3, 6), DAYS_ROWS)),
        Cut("recommend", "Would recommend it", RECOMMEND_ROWS, lambda each: each.recommend or LEFT_OUT),
        Cut("voice", "Who answered", voices, lambda each: each.by or "not said"),
    ]
    return population("answers", "Last answers", ANSWERS, facts.answers, lambda _: ANSWERS[0], by=by)


def _goal_column(goal: Attained) -> str:
    return GOALS[2] if goal.level is None else GOALS[0] if goal.level >= 0 else GOALS[1]


def _goals(facts: Facts) -> Counted:
    by = [Cut[Attained]("site", "By site", facts.sites, lambda each: facts.people[each.recipient].site)]
    return population("goals", "Goals", GOALS, facts.goals, _goal_column, by=by)


def attainments(facts: Facts) -> list[float]:
    """T of each recipient who has a scored goal, over all that are scored."""
    scored: defaultdict[int, list[Attained]] = defaultdict(list)
    for goal in facts.goals:
        if goal.level is not None:
            scored[goal.recipient].append(goal)
    return [
        goal_attainment([goal.level or 0 for goal in each], [goal.weight for goal in each]) for each in scored.values()
    ]
