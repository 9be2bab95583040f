"""From facts to a sheet: count, disclose, and answer each question with what may be told."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from service.disclosure import Rule, disclose
from service.figures.counting import Counted, of_people
from service.figures.counting_acts import of_acts
from service.figures.counting_answers import of_answers
from service.figures.counting_things import of_things
from service.figures.exact import Exactly
from service.figures.facts import Facts
from service.figures.rules import METHOD
from service.figures.sections import change, costs, durability, fairness, fit, people, safety, waits, wear
from service.figures.sheets import SheetView
from service.figures.telling import Telling

SECTIONS: Final = (people, waits, wear, durability, fit, safety, costs, fairness, change)


def counts(facts: Facts) -> dict[str, Counted]:
    """All that is counted, by name. Exact."""
    agreed = facts.of_those_who_agreed()
    every = (*of_people(agreed), *of_things(agreed), *of_acts(agreed), *of_answers(agreed))
    return {each.population.name: each for each in every}


def sheet(facts: Facts, rule: Rule, now: datetime, money: tuple[float | None, str] = (None, "")) -> SheetView:
    """Everything that is told up to a day. Takes seconds: no transaction should be open."""
    counted, guarded = counts(facts), not isinstance(rule, Exactly)
    told = {name: disclose(each.population, rule, secondary=guarded) for name, each in counted.items()}
    telling = Telling(facts.of_those_who_agreed(), facts, rule, counted, told, money)
    return SheetView(
        as_of=facts.until,
        computed_at=now,
        method=METHOD,
        threshold=rule.threshold,
        base=rule.base,
        sections=[each.section(telling) for each in SECTIONS],
    )
