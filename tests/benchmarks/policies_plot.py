"""The drawing of `policies.py`: sockets a child-year across, tight days a child-year up, a panel for each cohort."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import escape

Points = Mapping[str, tuple[float, float]]

WIDTH, HEIGHT, LEFT, TOP, GAP = 420, 300, 60, 50, 90
MOST_SOCKETS, SOCKET_STEP = 1.2, 0.2
LOOK = "font:13px sans-serif;fill:currentColor;color:#222"


def drawn(cohorts: Mapping[str, Points]) -> str:
    """An SVG with a panel for each cohort: sockets and tight days a child-year, by policy."""
    width = LEFT + len(cohorts) * (WIDTH + GAP)
    body = "".join(part for i, (name, points) in enumerate(cohorts.items()) for part in _panel(i, name, points))
    about = "Sockets printed and days in a tight socket, a child-year, under each policy; the lower left is best."
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {TOP + HEIGHT + 70}" style="{LOOK}" '
        f'role="img"><title>{about}</title>{body}</svg>\n'
    )


def _panel(place: int, name: str, points: Points) -> Iterator[str]:
    left, bottom = LEFT + place * (WIDTH + GAP), TOP + HEIGHT
    top_days = 10 * (1 + max(days for _, days in points.values()) // 10)
    yield f'<text x="{left}" y="{TOP - 25}" style="font-weight:bold">Limited by a {escape(name)}</text>'
    yield f'<path d="M{left} {TOP}V{bottom}H{left + WIDTH}" fill="none" stroke="#222"/>'
    for step in range(round(MOST_SOCKETS / SOCKET_STEP) + 1):
        x = left + WIDTH * step * SOCKET_STEP / MOST_SOCKETS
        yield f'<text x="{x:.0f}" y="{bottom + 20}" text-anchor="middle">{step * SOCKET_STEP:.1f}</text>'
    for days in range(0, int(top_days) + 1, 10):
        y = bottom - HEIGHT * days / top_days
        yield f'<text x="{left - 8}" y="{y + 4:.0f}" text-anchor="end">{days}</text>'
        yield f'<path d="M{left} {y:.0f}h{WIDTH}" stroke="#222" stroke-opacity=".12"/>'
    yield f'<text x="{left + WIDTH / 2}" y="{bottom + 45}" text-anchor="middle">sockets a child-year</text>'
    yield f'<text x="{left - LEFT + 10}" y="{TOP - 8}">tight days a child-year</text>'
    for mark, (policy, (sockets, tight)) in enumerate(points.items(), start=1):
        x, y = left + WIDTH * sockets / MOST_SOCKETS, bottom - HEIGHT * tight / top_days
        fill = "#b3401f" if policy.startswith("this") else "#fff"
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{fill}" stroke="#222"/>'
        beside = 16 if mark % 4 == 3 else -6  # neighbours on different sides, so that their numbers do not meet
        yield f'<text x="{x + 8:.1f}" y="{y + beside:.1f}">{mark}</text>'
        key = TOP + 16 * mark
        yield f'<text x="{left + WIDTH - 10}" y="{key}" text-anchor="end">{mark} {escape(policy)}</text>'
