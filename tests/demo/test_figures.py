"""The demo tells trustees a true story: the second version of a coupling lasts twice as long, and its page finds it."""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import date
from typing import Any

import sqlalchemy as sa

from service.access.actor import SYSTEM
from service.access.permissions import Role
from service.access.work import Work
from service.assembly.tables import PartRow, PlaceRow
from service.devices.rules import EndReason
from service.disclosure import Rule, disclose
from service.figures.actions import facts_until
from service.figures.compiling import counts
from service.figures.facts import Facts
from service.parts.rules import PartKind
from service.parts.tables import DesignRow, VersionRow
from tests.conftest import Register
from tests.demo.conftest import program
from tests.disclosure.attacker import found_out

TWICE = 2.0


def section(shown: Register, name: str) -> dict[str, Any]:
    answer = program(shown, Role.TRUSTEE).get(f"/api/v1/outcomes/{name}").json()
    return {**answer["section"], "as_of": answer["as_of"]}


def facts(shown: Register) -> Facts:
    until = date.fromisoformat(section(shown, "durability")["as_of"])
    with shown.db.reading() as session:
        return facts_until(Work(session, SYSTEM, shown.clock()), until)


def breakages(shown: Register, until: date) -> dict[tuple[str, int], tuple[int, float]]:
    """By coupling and version: breakages, and years in place; counted stay by stay, of everybody."""
    rows = (
        sa.select(DesignRow.name, VersionRow.number, PlaceRow.since, PlaceRow.until, PlaceRow.came_off)
        .join(PartRow, PartRow.version_id == VersionRow.id)
        .join(PlaceRow, PlaceRow.part_id == PartRow.id)
        .join(DesignRow, DesignRow.id == VersionRow.design_id)
        .where(DesignRow.kind == PartKind.WRIST_COUPLING, PlaceRow.since <= until)
    )
    broke: Counter[tuple[str, int]] = Counter()
    days: defaultdict[tuple[str, int], int] = defaultdict(int)
    with shown.db.reading() as session:
        for name, number, since, ended, why in session.execute(rows):
            if why is EndReason.MISTAKE:
                continue
            off = ended if ended is not None and ended <= until else None
            broke[name, number] += off is not None and why is EndReason.BROKEN
            days[name, number] += ((off or until) - since).days
    return {each: (broke[each], days[each] / 365.25) for each in days}


def of_coupling(told: dict[str, Any]) -> dict[str, Any]:
    """The one comparison of two versions of a coupling that there is data enough for."""
    sure = [each for each in told["comparisons"] if each["low"] is not None and "coupling" in each["of"].casefold()]
    (found,) = sure
    return dict(found)


def test_the_page_finds_which_version_of_the_coupling_lasts_longer(shown: Register) -> None:
    told = section(shown, "durability")
    found = of_coupling(told)
    assert 1 < found["low"] <= TWICE <= found["high"]
    assert found["verdict"] in told["lead"]
    assert "the change helped" in found["verdict"]


def test_what_it_finds_is_what_a_naive_count_finds(shown: Register) -> None:
    told = section(shown, "durability")
    found = of_coupling(told)
    design = found["of"].rpartition(", ")[0]
    naive = breakages(shown, date.fromisoformat(told["as_of"]))
    rates = {number: broke / years for (name, number), (broke, years) in naive.items() if name == design}
    assert found["low"] < rates[1] / rates[2] < found["high"]


def test_an_attacker_finds_nothing_in_the_demo(shown: Register) -> None:
    populations = [disclose(each.population, Rule()).as_data() for each in counts(facts(shown)).values()]
    assert found_out(populations, fewer_than=3) == []


def test_most_sections_have_something_to_tell(shown: Register) -> None:
    sheet = program(shown, Role.TRUSTEE).get("/api/v1/outcomes/reports/2025").json()
    told = {each["key"] for each in sheet["sections"] for figure in each["figures"] if figure["value"] is not None}
    assert told >= {"people", "waits", "wear", "durability", "fit", "safety"}
