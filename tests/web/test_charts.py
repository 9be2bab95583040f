"""The drawings: that they say what the numbers say, at every edge a register meets."""

import re
from dataclasses import dataclass
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.web import charts
from service.web.charts import Reading
from service.web.render import environment

TODAY = date(2026, 11, 25)


@dataclass(frozen=True)
class Due:
    p10: date | None = None
    p50: date | None = None
    p90: date | None = None


@dataclass(frozen=True)
class CurvePoint:
    on: date
    p10: float
    p50: float
    p90: float


def position(on: date, ruler: charts.Ruler) -> float:
    return 100 * (on - ruler.start) / (ruler.end - ruler.start)


def curve(months: int = 30) -> list[CurvePoint]:
    return [CurvePoint(charts.add_months(TODAY, i), 170 + i / 3, 171 + i / 2, 172 + i) for i in range(1, months)]


DUE = Due(date(2027, 3, 20), date(2027, 6, 10), date(2027, 9, 25))


def test_the_ruler_has_a_tick_for_every_month_and_names_quarters_and_years() -> None:
    ruler = charts.ruler(TODAY)
    firsts = [charts.add_months(ruler.start, i) for i in range(1, 20)]
    expected = [position(on, ruler) for on in firsts if on < ruler.end]
    assert [mark.at for mark in ruler.marks] == pytest.approx(expected, abs=0.01)
    assert [mark.label for mark in ruler.marks if mark.label] == ["2027", "Apr", "Jul", "Oct", "2028", "Apr"]


def test_the_smear_reaches_from_p10_to_p90_and_is_darkest_at_the_median() -> None:
    ruler = charts.ruler(TODAY, DUE)
    smear = ruler.smear
    assert smear
    assert smear.start == pytest.approx(position(date(2027, 3, 20), ruler), abs=0.01)
    assert smear.start + smear.width == pytest.approx(position(date(2027, 9, 25), ruler), abs=0.02)
    darkest = max(smear.stops, key=lambda stop: stop[1])
    assert darkest[1] == 1
    assert smear.start + smear.width * darkest[0] / 100 == pytest.approx(position(date(2027, 6, 10), ruler), abs=0.05)
    assert smear.stops[0][1] == smear.stops[-1][1] == 0


@pytest.mark.parametrize("due", [Due(date(2027, 9, 1), date(2028, 9, 1)), Due(date(2027, 9, 1))])
def test_a_smear_whose_end_nobody_knows_runs_off_the_ruler(due: Due) -> None:
    smear = charts.ruler(TODAY, due).smear
    assert smear
    assert smear.start + smear.width == pytest.approx(100)
    assert smear.stops[-1][1] > 0


@pytest.mark.parametrize(
    "due", [Due(), Due(date(2029, 1, 1), date(2029, 6, 1), date(2029, 10, 1)), Due(date(2029, 1, 1))]
)
def test_what_lies_beyond_the_ruler_is_not_drawn(due: Due) -> None:
    assert charts.ruler(TODAY, due).smear is None


def test_a_certain_date_can_still_be_seen() -> None:
    smear = charts.ruler(TODAY, Due(TODAY, TODAY, TODAY)).smear
    assert smear
    assert smear.width > 1


def test_start_by_in_the_past_is_late_and_before_the_ruler_stands_at_its_beginning() -> None:
    lately = charts.ruler(TODAY, DUE, TODAY - timedelta(days=10))
    assert lately.late
    assert lately.start_by == pytest.approx(position(TODAY - timedelta(days=10), lately), abs=0.01)
    long_ago = charts.ruler(TODAY, DUE, TODAY - timedelta(days=100))
    assert (long_ago.start_by, long_ago.late) == (0, True)
    someday = charts.ruler(TODAY, DUE, TODAY + timedelta(days=900))
    assert (someday.start_by, someday.late) == (None, False)


dates = st.dates(date(2018, 1, 1), date(2032, 1, 1))


@given(st.lists(dates, max_size=3), st.none() | dates, st.none() | dates)
def test_nothing_is_drawn_outside_the_ruler(quantiles: list[date], start_by: date | None, begins: date | None) -> None:
    start = min(begins, TODAY) if begins else None
    ruler = charts.ruler(TODAY, Due(*sorted(quantiles)), start_by, start=start)
    drawn = [mark.at for mark in ruler.marks] + [at for at in (ruler.today, ruler.start_by) if at is not None]
    if ruler.smear:
        drawn += [ruler.smear.start, ruler.smear.start + ruler.smear.width]
        assert all(0 <= darkness <= 1 for _, darkness in ruler.smear.stops)
        assert [at for at, _ in ruler.smear.stops] == sorted(at for at, _ in ruler.smear.stops)
    assert all(-0.01 <= at <= 100.01 for at in drawn)


def test_the_chart_puts_sizes_where_its_levels_say() -> None:
    readings = [Reading(TODAY - timedelta(days=400), 160, 1.5), Reading(TODAY - timedelta(days=20), 171, 0.8)]
    chart = charts.growth_chart(readings, TODAY, curve=curve(), tight_at=178.5, due=DUE)
    (low_at, low), *_, (high_at, high) = chart.levels
    percent_per_mm = (low_at - high_at) / (float(high) - float(low))

    def expected(value: float) -> float:
        return low_at - (value - float(low)) * percent_per_mm

    for point in chart.points:
        reading = point.reading
        assert point.x == pytest.approx(position(reading.on, chart.ruler), abs=0.01)
        assert point.y == pytest.approx(expected(reading.value), abs=0.03)
        assert point.top == pytest.approx(expected(reading.value + reading.error), abs=0.03)
        assert point.bottom == pytest.approx(expected(reading.value - reading.error), abs=0.03)
    assert chart.tight == pytest.approx(expected(178.5), abs=0.03)


@given(
    st.lists(st.tuples(dates, st.floats(40, 400), st.floats(0, 5)), max_size=40),
    st.none() | st.floats(40, 400),
    st.sampled_from([0, 2, 30]),
)
def test_the_chart_holds_whatever_it_is_given(
    given_readings: list[tuple[date, float, float]], tight_at: float | None, months: int
) -> None:
    readings = [Reading(min(on, TODAY), value, error) for on, value, error in given_readings]
    chart = charts.growth_chart(readings, TODAY, curve=curve(months), tight_at=tight_at)
    heights = [y for point in chart.points for y in (point.top, point.y, point.bottom)]
    heights += [y for y, _ in chart.levels] + ([chart.tight] if chart.tight is not None else [])
    assert all(0 <= y <= 100 for y in heights)
    assert all(0 <= point.x <= 100 for point in chart.points)
    assert 3 <= len(chart.levels) <= 9
    numbers = [float(n) for n in re.findall(r"[\d.]+", chart.fan + chart.median)]
    assert bool(numbers) == bool(curve(months))
    assert all(0 <= n <= 100 for n in numbers)


def test_one_reading_is_not_blown_up_to_look_like_a_change() -> None:
    (point,) = charts.growth_chart([Reading(TODAY, 171, 1.0)], TODAY).points
    assert point.bottom - point.top < 20


def shown(chart: charts.GrowthChart) -> str:
    page = '{% from "_macros/chart.html" import growth_chart with context %}'
    page += '{{ growth_chart(chart, "g", "Girth", "It grows.", "left forearm girth") }}'
    return environment().from_string(page).render(chart=chart, today=TODAY)


def test_the_chart_is_named_described_and_repeated_as_a_table() -> None:
    readings = [
        Reading(TODAY - timedelta(days=90), 168.4, 1.1),
        Reading(TODAY - timedelta(days=60), 163.2, 1.1, state="corrected"),
        Reading(TODAY - timedelta(days=60), 169.9, 1.1, state="doubted"),
        Reading(TODAY - timedelta(days=30), 170.6, 1.9, source="socks"),
    ]
    page = shown(charts.growth_chart(readings, TODAY, curve=curve(), tight_at=178.5, due=DUE))
    assert '<title id="g-title">Girth</title>' in page
    assert '<desc id="g-description">It grows.</desc>' in page
    for reading in readings:
        assert f"{reading.value:.1f} ± {reading.error:.1f} mm" in page
    for point in curve()[:12]:
        assert f'<td class="n">{point.p90:.1f}</td>' in page
    assert "<s>" in page
    assert "surprising but confirmed" in page
    assert "from the socks worn" in page
    assert "tight at 178.5 mm" in page


def test_the_key_names_only_what_is_drawn() -> None:
    page = shown(charts.growth_chart([Reading(TODAY, 171, 1.0)], TODAY))
    assert "its likely error" in page
    assert "socks worn" not in page
    assert "within the band" not in page


def test_drawings_obey_the_content_policy_and_share_no_id() -> None:
    page = '{% from "_macros/limb.html" import limb %}{% from "_macros/ruler.html" import ruler, ruler_key %}'
    page += '{{ ruler_key() }}{{ ruler(r, "a", "x") }}{{ ruler(r, "b", "y") }}'
    page += '{{ limb("left", "left", [("forearm_girth", 80, "80 mm"), ("hand_length", None, "length")]) }}'
    page += '{{ limb("right", "right", [("upper_arm_girth", 60, "60 mm")], "upper_arm_lower") }}'
    html = environment().from_string(page).render(r=charts.ruler(TODAY, DUE, TODAY))
    html += shown(charts.growth_chart([Reading(TODAY, 171, 1.0)], TODAY, curve=curve(), due=DUE))
    ids = re.findall(r'\bid="([^"]+)"', html)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]+)\)", html)) <= set(ids)
    assert not re.search(r"\bstyle=|<script|\bon\w+=", html)


BELOW_ELBOW = [
    "phalangeal",
    "metacarpal",
    "carpal",
    "wrist",
    "forearm_lower",
    "forearm_middle",
    "forearm_upper",
]
FROM_ELBOW_UP = ["elbow", "upper_arm_lower", "upper_arm_middle", "upper_arm_upper", "shoulder"]


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(
    ("level", "landmark"),
    [(level, "lateral epicondyle") for level in BELOW_ELBOW] + [(level, "acromion") for level in FROM_ELBOW_UP],
)
def test_every_limb_is_measured_from_a_landmark_it_has(level: str, landmark: str, side: str) -> None:
    shows = [("residual_limb_girth", 40, "40 mm"), ("residual_limb_length", None, "length")]
    page = '{% from "_macros/limb.html" import limb %}{{ limb("k", side, shows, level) }}'
    html = environment().from_string(page).render(level=level, side=side, shows=shows)
    assert f"{side.capitalize()} arm" in html
    assert {name for name in ("lateral epicondyle", "acromion") if f">{name}</text>" in html} == {landmark}
    assert ">40 mm</text>" in html
