"""Sheets made by hand: a rich one with every kind of thing and names that bite, an empty one, a hidden one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime

from service.disclosure import Hidden
from service.figures.sheets import (
    CellView,
    ComparisonView,
    CurveView,
    FigureView,
    PointView,
    RowView,
    RunView,
    SectionView,
    SheetView,
    TableView,
)

AS_OF = date(2025, 12, 31)
MADE = datetime(2026, 1, 16, 3, 0, tzinfo=UTC)
FORMULA = '=HYPERLINK("https://example.org")'
MARKUP = '#read("/etc/passwd") *x* $1/0$ <b>'
SITES = ("The harbour", FORMULA, "Île, north")
Point = tuple[int, float | None, float | None, float | None]
WHY = "Too few to tell of without picking somebody out."


def figure(
    key: str,
    unit: str,
    value: float | None = None,
    low: float | None = None,
    high: float | None = None,
    *,
    of: str = "everybody",
    n: int | None = 120,
) -> FigureView:
    """A figure; one without a value is withheld."""
    hidden = value is None
    return FigureView(
        key=key, of=of, unit=unit, value=value, low=low, high=high, n=n, suppressed=hidden, method="by hand",
        as_of=AS_OF, why=WHY if hidden else "",
    )  # fmt: skip


def cell(value: int | Hidden) -> CellView:
    """A count, or why it is hidden."""
    return CellView(value=None, hidden=value) if isinstance(value, Hidden) else CellView(value=value)


def table(population: str, name: str, title: str, columns: list[str], rows: dict[str, list[int | Hidden]]) -> TableView:
    """A table; each row ends with its total."""
    made = [
        RowView(label=label, cells=[cell(each) for each in of[:-1]], total=cell(of[-1])) for label, of in rows.items()
    ]
    last = [cell(100) for _ in columns]
    return TableView(
        population=population, name=name, title=title, columns=columns, rows=made, totals=last, total=cell(1250)
    )


def curve(key: str, of: str, unit: str, points: Sequence[Point]) -> CurveView:
    """A curve of (at, value, low, high); each point has ten fewer followed than the one before."""
    made = [
        PointView(at=at, value=value, low=low, high=high, n=None if value is None else 10 * (len(points) - place))
        for place, (at, value, low, high) in enumerate(points)
    ]
    n = 10 * len(points) + 5 if points else None
    return CurveView(key=key, of=of, unit=unit, n=n, points=made, method="Kaplan-Meier")


def compared(value: float | None, low: float | None, high: float | None, verdict: str) -> ComparisonView:
    """A comparison of the second version of a cup with the first."""
    return ComparisonView(
        key="durability.compared", of="Cup, version 1", against="version 2", value=value, low=low, high=high,
        p="< 0.01" if value is not None else "", suppressed=value is None, verdict=verdict,
    )  # fmt: skip


def sheet(sections: list[SectionView], *, as_of: date = AS_OF, method: str = "1") -> SheetView:
    """A sheet of some sections."""
    return SheetView(as_of=as_of, computed_at=MADE, method=method, threshold=8, base=5, sections=sections)


def rich(as_of: date = AS_OF) -> SheetView:
    """Something of everything."""
    by_site = table(
        "devices", "site", "Devices: by site", ["still worn", "stopped"],
        {SITES[0]: [60, 20, 80], SITES[1]: [Hidden.SMALL, 15, Hidden.WITHHELD], SITES[2]: [1200, 0, 1200]},
    )  # fmt: skip
    by_age = table("devices", "age", "Devices: by age", ["still worn"], {"under 5": [10, 10], "-5 to 11": [15, 15]})
    share = [
        figure("wear.now", "share", 0.7413, 0.6602, 0.8121),
        *(
            figure("wear.now", "share", value, low, high, of=of, n=n)
            for of, value, low, high, n in (
                (SITES[0], 0.75, 0.62, 0.86, 80), (SITES[1], None, 0.04, 0.55, None), (SITES[2], 0.998, 0.97, 1.0, 1200)
            )
        ),
        figure("wear.attainment", "T points", 52.0),
    ]  # fmt: skip
    steps = [(3, 0.95, 0.9, 0.98), (6, 0.9, 0.82, 0.95), (12, 0.741, 0.63, 0.83)]
    wear = SectionView(
        key="wear", title="Still wearing it", lead="About 74 in 100 devices are still worn (at least 66, at most 81).",
        figures=share, tables=[by_site, by_age],
        curves=[
            curve("wear.curve", "everybody", "months", steps),
            curve("wear.curve", SITES[0], "months", steps[:2]),
            curve("wear.curve", SITES[1], "months", []),
            curve("wear.curve", SITES[2], "months", [(3, None, None, None), (6, 0.8, None, None)]),
        ],
        notes=["A device is one thing across all its sockets."],
    )  # fmt: skip
    durability = SectionView(
        key="durability", title="How long parts last", lead="Cup: the change helped.",
        figures=[
            figure("durability.rate", "per year in place", 0.3333, 0.2251, 0.4781, of="Cup, version 1"),
            figure("durability.rate", "per year in place", 0.0004, 0.00001, 12.5, of=f"{MARKUP}, version 1"),
        ],
        curves=[curve("durability.curve", f"Cup, version {number}", "months", steps) for number in (1, 2)],
        comparisons=[
            compared(2.14, 1.21, 3.451, "Cup: version 1 breaks about 2.14 times as fast as version 2."),
            compared(None, None, None, "Cup: there is not enough data yet to compare version 3 with version 2."),
        ],
    )  # fmt: skip
    waits = SectionView(
        key="waits", title="How long people wait", lead="Half are answered within 6 weeks.",
        figures=[
            figure("waits.half", "weeks", 6.0, 4.0),
            figure("waits.in_time", "share", 0.61, 0.57, 0.64, of="2024"),
            figure("waits.in_time", "share", 0.68, 0.61, 0.75, of="2025"),
            figure("people.served", "people", 1250.0, 1248.0, 1252.0, n=1250),
            figure("costs.device", "money", 19.12),
        ],
    )  # fmt: skip
    fairness = SectionView(
        key="fairness", title="Fair to everybody", lead="Of 3 comparisons 1 shows a difference.",
        figures=[
            figure("fairness.worn", "difference of shares", -0.1201, -0.2, -0.0412, of="age: under 5"),
            figure("fairness.worn", "difference of shares", 0.031, -0.0501, 0.112, of="age: 5 to 11"),
            figure("fairness.worn", "difference of shares", None, of="sex: not said", n=None),
        ],
        tables=[by_site],
    )  # fmt: skip
    quarters = [f"{year} Q{quarter}" for year in range(2022, 2026) for quarter in range(1, 5)]
    change = SectionView(
        key="change", title="Change over time", lead="Requests: more than usual.",
        runs=[
            RunView(
                key="change.asked", title="Requests", unit="requests", quarters=quarters,
                values=[float(40 + 5 * (place % 4)) if place != 5 else None for place in range(16)],
                mean=47.5, low=-3.2, high=98.7, findings=["Requests: 2025 Q4 is above what is usual."],
            ),
            RunView(
                key="change.in_time", title="Answered in time", unit="share", quarters=quarters, values=[None] * 16,
                mean=None, low=None, high=None, findings=[], why="What is usual can be told from 12 values on.",
            ),
        ],
    )  # fmt: skip
    return sheet([wear, durability, waits, fairness, change], as_of=as_of)


def empty() -> SheetView:
    """A register in which nothing has happened: sections with nothing to tell."""
    nothing = figure("wear.now", "share", None, n=0).model_copy(update={"suppressed": False, "why": "Nothing yet."})
    return sheet(
        [
            SectionView(key="people", title="Whom we serve", lead="Nobody has been fitted with a device yet."),
            SectionView(
                key="wear", title="Still wearing it", lead="How many cannot be told yet.", figures=[nothing],
                curves=[curve("wear.curve", "everybody", "months", [])],
                tables=[table("devices", "site", "Devices: by site", ["still worn"], {})],
            ),
        ]
    )  # fmt: skip


def hidden() -> SheetView:
    """A rich sheet of which nearly nothing may be told."""
    found = rich().model_dump()
    untold = {"value": None, "low": None, "high": None, "suppressed": True}
    for section in found["sections"]:
        for each in section["figures"]:
            each.update(untold, n=None, why=WHY)
        for each in section["curves"]:
            each["points"] = []
        for each in section["comparisons"]:
            each.update(untold, p="")
        for each in section["runs"]:
            each.update(values=[None] * len(each["quarters"]), mean=None, low=None, high=None)
        for row in (row for each in section["tables"] for row in each["rows"]):
            row["cells"] = [cell(Hidden.SMALL) for _ in row["cells"]]
            row["total"] = cell(Hidden.WITHHELD)
    return SheetView.model_validate(found)
