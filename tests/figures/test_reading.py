"""How figures are read: one wording for each, nothing surer than it is, and what belongs together together."""

from __future__ import annotations

import pytest

from service.figures import reading
from service.figures.chapters import chapters, questions
from service.figures.definitions import DEFINITIONS
from service.figures.grouping import grouped, labelled
from tests.figures.sheets import SITES, curve, empty, figure, hidden, rich, table

SAID = [
    (0.7413, "share", "74 in 100"),
    (0.0, "share", "0 in 100"),
    (0.004, "share", "under 1 in 100"),
    (0.996, "share", "over 99 in 100"),
    (1.0, "share", "100 in 100"),
    (-0.1201, "difference of shares", "12 in 100 fewer"),
    (0.031, "difference of shares", "3 in 100 more"),
    (0.0, "difference of shares", "the same"),
    (-0.001, "difference of shares", "under 1 in 100 fewer"),
    (2.14, "ratio", "2.14 times"),
    (6.0, "weeks", "6 weeks"),
    (1250.0, "people", "1,250 people"),
    (0.3333, "per year in place", "0.333"),
    (0.0004, "per year in place", "under 0.001"),
    (19.12, "money", "19.1"),
    (52.0, "T points", "52"),
    (None, "share", "cannot be told"),
]


@pytest.mark.parametrize(("value", "unit", "said"), SAID)
def test_a_value_is_said_in_one_way(value: float | None, unit: str, said: str) -> None:
    assert reading.say(value, unit) == said


INTERVALS = [
    (0.66, 0.81, "share", "66 to 81"),
    (0.97, 1.0, "share", "97 to 100"),
    (0.0, 1.0, "share", ""),
    (-0.2, 0.031, "difference of shares", "20 fewer to 3 more"),
    (4.0, None, "weeks", "4 or more"),
    (None, 7.0, "people", "7 or less"),
    (4.0, 4.0, "weeks", "4"),
    (None, None, "share", ""),
]


@pytest.mark.parametrize(("low", "high", "unit", "said"), INTERVALS)
def test_an_interval_is_said_in_one_way(low: float | None, high: float | None, unit: str, said: str) -> None:
    assert reading.between(low, high, unit) == said


def test_no_figure_without_an_interval_is_said_as_sure() -> None:
    assert reading.interval(figure("wear.attainment", "T points", 52.0)) == "how surely is not known"
    assert reading.interval(figure("wear.now", "share", None)) == ""
    assert reading.interval(figure("wear.now", "share", None, 0.04, 0.55)) == "4 to 55"


def test_what_is_hidden_is_written_out() -> None:
    found = next(each for each in chapters(rich()) if each.tables)
    assert dict(found.tables[0].rows)['=HYPERLINK("https://example.org")'] == ("fewer than 8", "15", "withheld")
    assert dict(found.tables[0].rows)["Île, north"] == ("1,200", "0", "1,200")


def test_figures_are_under_the_cut_whose_rows_they_name() -> None:
    (found,) = questions(rich(), "wear.now")
    assert [(each.title, [row.label for row in each.rows]) for each in found.groups] == [
        ("", ["Everybody"]),
        ("By site", list(SITES)),
    ]
    (fair,) = questions(rich(), "fairness.worn")
    assert [(each.title, [row.label for row in each.rows]) for each in fair.groups] == [
        ("By age", ["Under 5", "5 to 11"]),
        ("By sex", ["Not said"]),
    ]
    assert [row.label for row in fair.apart.rows] == ["Age: under 5"]
    (years,) = questions(rich(), "waits.in_time")
    assert [(each.title, len(each.rows)) for each in years.groups] == [("By year", 2)]


def test_two_cuts_with_a_row_of_one_name_are_not_mixed_up() -> None:
    cuts = [
        table("devices", name, f"Devices: by {name}", ["worn"], {each: [10, 10] for each in rows})
        for name, rows in (("kind", ["hand", "not known"]), ("cause", ["from birth", "not known"]))
    ]
    of = ["everybody", "hand", "not known", "from birth", "not known", "elsewhere"]
    figures = [figure("wear.now", "share", 0.5, of=each) for each in of]
    assert [(title, [each.of for each in some]) for title, some in grouped(figures, cuts)] == [
        ("", ["everybody"]),
        ("by kind", ["hand", "not known"]),
        ("by cause", ["from birth", "not known"]),
        ("", ["elsewhere"]),
    ]


def test_versions_are_under_their_design() -> None:
    curves = [
        curve("durability.curve", of, "months", []) for of in ("Cup, version 1", "Cup, version 2", "Grip, version 1")
    ]
    assert [(title, [label for label, _ in some]) for title, some in labelled(curves, [])] == [
        ("Cup", ["Version 1", "Version 2"]),
        ("Grip", ["Version 1"]),
    ]


def test_no_drawing_has_more_than_three_curves_and_none_is_lost() -> None:
    names = [f"Site {place}" for place in range(7)]
    made = rich().sections[0]
    by_site = table("devices", "site", "Devices: by site", ["worn"], {each: [10, 10] for each in names})
    curves = [curve("wear.curve", each, "months", [(3, 0.9, 0.8, 0.95)]) for each in names]
    sheet = rich().model_copy(update={"sections": [made.model_copy(update={"tables": [by_site], "curves": curves})]})
    ((_, drawings),) = chapters(sheet)[0].curves[0].groups
    assert [len(each.plot.lines) for each in drawings] == [2, 2, 3]
    assert [line.label for each in drawings for line in each.plot.lines] == names


def test_a_table_told_before_is_referred_to() -> None:
    fair = chapters(rich())[3]
    assert fair.tables == ()
    assert [(title, there.key) for title, there in fair.elsewhere] == [("Devices: by site", "wear")]


def test_the_first_line_says_how_many_still_wear_it() -> None:
    assert reading.answer(rich()).startswith("About 74 in 100")
    untold = hidden().sections[0].model_copy(update={"curves": rich().sections[0].curves})
    by_curve = reading.answer(rich().model_copy(update={"sections": [untold]}))
    assert by_curve == (
        "About 74 in 100 devices are still worn 12 months after they were first worn (63 to 83); "
        "how many are worn now cannot be told."
    )
    assert reading.answer(hidden()) == hidden().sections[0].lead
    only_people = empty().model_copy(update={"sections": empty().sections[:1]})
    assert reading.answer(only_people) == "Nobody has been fitted with a device yet."
    assert "up to 31 December 2025" in reading.told_by(rich())
    assert "Counts under 8 are hidden, and others rounded to the nearest 5" in reading.told_by(rich())


def test_a_figure_that_is_told_no_more_is_still_read() -> None:
    assert "not worked out any more" in reading.definition("wear.of_old").population
    old = rich().sections[0].model_copy(update={"figures": [figure("wear.of_old", "share", 0.5, 0.4, 0.6)]})
    (found,) = chapters(rich().model_copy(update={"sections": [old]}))
    assert found.questions[0].means.title == "wear.of_old"


def test_of_what_is_hidden_no_number_is_left() -> None:
    for chapter in chapters(hidden()):
        assert all(
            row.said == "cannot be told" and row.smear is None
            for q in chapter.questions
            for g in q.groups
            for row in g.rows
        )
        assert all(not each.plot.lines for of in chapter.curves for _, some in of.groups for each in some)
        assert all(each.smear is None for each in chapter.ratios)
        assert all(not each.drawn.points for each in chapter.runs)


def test_every_definition_is_whole() -> None:
    for key, means in DEFINITIONS.items():
        assert all(means), key
        assert not any(mark in text for text in means for mark in "{}"), key
