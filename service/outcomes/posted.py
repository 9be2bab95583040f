"""What the forms of follow-ups and goals post, read into what the commands take."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.outcomes.goal_rules import LEVELS
from service.outcomes.rules import UsedFor


def follow_up_values(given: Mapping[str, str]) -> dict[str, Any]:
    """The values of `RecordFollowUp`: uses are ticked one by one, numbers written with a comma as many people do."""
    values: dict[str, Any] = {name: text for name, text in given.items() if not name.startswith("used_for-")}
    if "hours_a_day" in values:
        values["hours_a_day"] = values["hours_a_day"].replace(",", ".")
    values["used_for"] = [each.value for each in UsedFor if f"used_for-{each}" in given]
    return values


def goal_values(given: Mapping[str, str]) -> dict[str, Any]:
    """The values of `AddGoal` and `ChangeGoal`: each level has a field of its own."""
    values: dict[str, Any] = {name: text for name, text in given.items() if not name.startswith("levels.")}
    return {**values, "levels": {level: given.get(f"levels.{level}", "") for level in LEVELS}}
