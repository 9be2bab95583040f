"""Reasons word by word, and the way a part lies in a printer."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.matching.costing import Weights, cost_of
from service.matching.facts import Job, Piece, Printer, Spot, Volunteer, rounded_km
from service.matching.model.box import Lies, how_it_lies, lacks
from service.matching.reasons import is_eligible, reasons
from service.matching.verdicts import Topic, Verdict
from service.requests.rules import RequestKind
from service.volunteers.rules import PrinterState, Skill

TODAY = date(2026, 3, 2)
PRINTER = Printer(1, "workshop printer", (200.0, 200.0, 180.0), 0.4, frozenset({"petg", "pla"}))
PIECE = Piece("socket", (80.0, 60.0, 150.0), frozenset({"petg"}), 0.4, "red", 5.0)
BO = Volunteer(
    id=1,
    name="Bo",
    site="the harbour",
    home=Spot(52.0, 0.0),
    hours_a_week=7.0,
    jobs_at_once=2,
    travels_km=30.0,
    skills=frozenset({Skill.PRINT}),
    printers=(PRINTER,),
    stock=frozenset({("petg", "red")}),
    vetted_until=TODAY + timedelta(days=60),
)
JOB = Job(
    id=1,
    title="Ines, next socket",
    site="the harbour",
    kind=RequestKind.NEXT_SOCKET,
    needed_by=TODAY + timedelta(days=14),
    rank=3,
    home=Spot(52.1, 0.0),
    pieces=(PIECE,),
    needs=frozenset({Skill.PRINT}),
    hands_hours=3.0,
    visit=False,
)


def about(topic: Topic, volunteer: Volunteer = BO, job: Job = JOB):
    return [each for each in reasons(volunteer, job, TODAY) if each.topic is topic]


def in_the_way(volunteer: Volunteer = BO, job: Job = JOB) -> list[tuple[Topic, str]]:
    return [(each.topic, each.remedy) for each in reasons(volunteer, job, TODAY) if each.verdict is Verdict.IN_THE_WAY]


def test_everything_fits_and_is_said():
    found = reasons(BO, JOB, TODAY)
    assert is_eligible(found)
    assert {each.topic for each in found} == {
        Topic.SITE,
        Topic.PRINTER,
        Topic.MATERIAL,
        Topic.NOZZLE,
        Topic.COLOUR,
        Topic.TRAINING,
        Topic.JOBS,
        Topic.HOURS,
        Topic.VETTING,
        Topic.DISTANCE,
    }
    assert {each.verdict for each in found} == {Verdict.FITS}
    assert about(Topic.DISTANCE)[0].words == "They are about 10 km away and travel up to 30: they would bring it."
    assert about(Topic.HOURS)[0].words == (
        "It takes them about 3.0 hours at 7 a week: it can be there by 6 March 2026, in time for 16 March 2026."
    )


@pytest.mark.parametrize(
    ("change", "topic"),
    [
        ({"site": "the island"}, Topic.SITE),
        ({"left_on": TODAY}, Topic.SITE),
        ({"printers": ()}, Topic.PRINTER),
        ({"printers": (replace(PRINTER, state=PrinterState.OUT_OF_ORDER),)}, Topic.PRINTER),
        ({"printers": (replace(PRINTER, room=(100.0, 100.0, 100.0)),)}, Topic.PRINTER),
        ({"printers": (replace(PRINTER, materials=frozenset({"pla"})),)}, Topic.MATERIAL),
        ({"printers": (replace(PRINTER, nozzle_mm=0.8),)}, Topic.NOZZLE),
        ({"skills": frozenset()}, Topic.TRAINING),
        ({"in_hand": 2}, Topic.JOBS),
        ({"hours_a_week": 0.0}, Topic.HOURS),
    ],
)
def test_each_thing_stands_in_the_way_alone_and_says_what_would_make_it_fit(change, topic):
    found = in_the_way(replace(BO, **change))
    assert [each for each, _ in found] == [topic]
    assert found[0][1]


def test_a_colour_to_be_bought_is_to_know_and_in_another_material_does_not_count():
    (reason,) = about(Topic.COLOUR, replace(BO, stock=frozenset({("pla", "red"), ("petg", "blue")})))
    assert reason.verdict is Verdict.TO_KNOW
    assert reason.words == "The socket is wished in red, which they would have to buy."


def test_a_visit_needs_vetting_and_a_way_there():
    visit = replace(JOB, visit=True)
    assert in_the_way(BO, visit) == []
    lapsed = replace(BO, vetted_until=TODAY - timedelta(days=1))
    assert [topic for topic, _ in in_the_way(lapsed, visit)] == [Topic.VETTING]
    assert in_the_way(lapsed) == []
    assert [topic for topic, _ in in_the_way(replace(BO, travels_km=5.0), visit)] == [Topic.DISTANCE]


def test_who_checks_on_the_bench_is_told_not_to_sign_their_own():
    (reason,) = about(Topic.CHECK, replace(BO, skills=BO.skills | {Skill.BENCH_CHECK}))
    assert reason.verdict is Verdict.TO_KNOW


def test_who_declined_is_not_asked_again():
    assert [topic for topic, _ in in_the_way(BO, replace(JOB, declined=frozenset({1})))] == [Topic.ANSWER]


@pytest.mark.parametrize("days", [0, 5, 13, 14, 30])
def test_an_absence_delays_by_its_days(days):
    away = replace(BO, absences=((TODAY, TODAY + timedelta(days=days)),)) if days else BO
    # Three hours at an hour a day: three days from the first at home, and one on the way.
    there = TODAY + timedelta(days=days + 3 + 1)
    late = max(0, (there - JOB.needed_by).days)
    cost = cost_of(away, JOB, Weights(late=1), TODAY)
    assert cost is not None
    assert cost.late == late * 2, "a day counts double in the third place of triage"


@pytest.mark.parametrize(
    ("change", "part", "points"),
    [
        ({"stock": frozenset()}, "colour", 15),
        ({"travels_km": 0.0}, "distance", 15),
        ({"in_hand": 1}, "load", 10),
        ({}, "distance", 4),
    ],
)
def test_what_each_thing_costs(change, part, points):
    cost = cost_of(replace(BO, **change), JOB, Weights(), TODAY)
    assert cost is not None
    assert getattr(cost, part) == points
    assert cost.total == cost.late + cost.distance + cost.colour + cost.change + cost.load


def test_another_person_than_the_family_knows_costs_more_and_so_does_asking_anew():
    known, standing = replace(JOB, used_to=frozenset({2})), replace(JOB, standing=2)
    assert [cost_of(BO, job, Weights(), TODAY).change for job in (JOB, known, standing)] == [0, 20, 25]  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("box", "lies", "turned"),
    [
        ((80, 60, 150), Lies.UPRIGHT, 0),
        ((80, 60, 195), Lies.LYING, 0),
        ((270, 10, 10), Lies.TURNED, 45),
        ((300, 10, 10), None, None),
        ((200, 200, 180), Lies.UPRIGHT, 0),
        ((200, 201, 180), None, None),
    ],
)
def test_how_a_part_lies(box, lies, turned):
    lie = how_it_lies(box, PRINTER.room)
    assert (lie and lie.lies) == lies
    if lie is not None and turned:
        assert lie.turned_degrees == pytest.approx(turned, abs=10)


def test_how_much_a_printer_lacks():
    assert lacks((80, 60, 150), PRINTER.room) == 0
    assert lacks((203, 10, 10), PRINTER.room) == pytest.approx(3)
    assert lacks((203, 203, 203), PRINTER.room) == pytest.approx(23)


@pytest.mark.parametrize(("km", "said"), [(0.0, 5), (2.0, 5), (7.4, 5), (7.6, 10), (166.8, 165)])
def test_distances_are_told_no_nearer_than_five(km, said):
    assert rounded_km(km) == said


def test_the_great_circle():
    # A degree of latitude is 111.2 km on a sphere of 6,371 km.
    assert Spot(52.0, 0.0).km_to(Spot(53.0, 0.0)) == pytest.approx(111.195, abs=0.01)
