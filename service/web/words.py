"""How the pages say dates, spans, chances, ages and socks. Pure: today is always passed in.

``FILTERS`` at the end names what templates may use. Sentences are plain English and end without a full stop,
so that a page can put them inside its own.
"""

from calendar import month_name
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from datetime import date, timedelta
from types import MappingProxyType
from typing import Final, Protocol

from service.kit.chances import PROBABLY, likely
from service.kit.days import full_day

DAYS_A_MONTH: Final = 365.25 / 12
SMALL_NUMBERS: Final = (
    *("no", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)


class Due(Protocol):
    """When a socket becomes tight: three quantiles, None meaning not within three years of the forecast."""

    @property
    def p10(self) -> date | None:
        """The day by which it is tight 1 time in 10."""

    @property
    def p50(self) -> date | None:
        """The day by which it is tight half the time."""

    @property
    def p90(self) -> date | None:
        """The day by which it is tight 9 times in 10."""


def number(n: int) -> str:
    """Return a count as a word up to twelve, in digits above: ``4`` → ``"four"``."""
    return SMALL_NUMBERS[n] if 0 <= n < len(SMALL_NUMBERS) else str(n)


def counted(n: int, one: str, many: str | None = None) -> str:
    """Return a count with its noun: ``counted(1, "child", "children")`` → ``"one child"``."""
    return f"{number(n)} {one if n == 1 else many or one + 's'}"


def day(on: date, today: date) -> str:
    """Return ``"12 March"``, with the year wherever the day alone could mean another year's.

    Within half a year of today a day and month occur once, so only then is the year left out.
    """
    said = f"{on.day} {month_name[on.month]}"
    return said if abs((on - today).days) < 182 else f"{said} {on.year}"


def month(on: date, today: date) -> str:
    """Return ``"June"``, with the year unless the month is the current one or one of the ten that follow."""
    return month_name[on.month] if _soon(on, today) else f"{month_name[on.month]} {on.year}"


def span(days: int) -> str:
    """Return a length of time as people say it: ``122`` days → ``"about four months"``. Sign is ignored."""
    days = abs(days)
    if days < 14:
        return counted(days, "day")
    if days < 50:
        return f"about {counted(round(days / 7), 'week')}"
    months = round(days / DAYS_A_MONTH)
    if months < 12:
        return f"about {counted(months, 'month')}"
    half_years = round(months / 6)
    years, half = divmod(half_years, 2)
    if not half:
        return "about a year" if years == 1 else f"about {number(years)} years"
    return "about a year and a half" if years == 1 else f"about {number(years)} and a half years"


def distance(on: date, today: date) -> str:
    """Return how far away a day is: ``"in about four months"``, ``"about three weeks ago"``."""
    days = (on - today).days
    near = {-1: "yesterday", 0: "today", 1: "tomorrow"}.get(days)
    return near or (f"in {span(days)}" if days > 0 else f"{span(days)} ago")


def age(birth_date: date, today: date) -> str:
    """Return completed years, or completed months below two years: ``"7 years"``, ``"14 months"``."""
    months = (today.year - birth_date.year) * 12 + today.month - birth_date.month
    months -= today.day < birth_date.day
    if months < 24:
        return f"{months} month" if months == 1 else f"{months} months"
    return f"{months // 12} years"


def chance(p: float) -> str:
    """Return a probability (0-1) as a frequency people can picture: ``0.31`` → ``"about 3 in 10"``."""
    if p < 0.01:
        return "less than 1 in 100"
    if p < 0.075:
        return f"about 1 in {round(1 / p / 5) * 5}"
    if p > 0.99:
        return "more than 99 in 100"
    if p > 0.925:
        return f"about {round(p * 20)} in 20" if round(p * 20) < 20 else "more than 19 in 20"
    return f"about {max(1, min(9, round(p * 10)))} in 10"


def due(when: Due, today: date, already: float = 0.0) -> str:
    """Return when a socket will be tight, for use after its name: ``"will be tight around June"``.

    ``already`` is the probability (0-1) that it is tight today.
    """
    if already >= PROBABLY or (when.p50 and when.p50 <= today):
        return f"is {likely(max(already, PROBABLY))} tight already"
    said = _months(when, today)
    if when.p50:
        return f"will be tight around {said[when.p50]}"
    if when.p10:
        return f"will probably not be tight within three years, but may be from {said[when.p10]}"
    return "will not be tight within three years"


def due_range(when: Due, today: date) -> str:
    """Return how sure ``due`` is: ``"8 times in 10 between March and June"``; empty if that says it all."""
    if when.p10 is None or when.p50 is None:
        return ""
    said = _months(when, today)
    first = said[when.p10]
    if when.p90 is None:
        return f"1 time in 10 before {first}, 1 time in 10 not within three years"
    last = said[when.p90]
    if first == "now" and last != "now" and (when.p90.year, when.p90.month) == (today.year, today.month):
        return "8 times in 10 by the end of this month"
    if first == last:
        return f"8 times in 10 {'by now' if last == 'now' else f'in {last}'}"
    return f"8 times in 10 between {first} and {last}"


def year_before(today: date) -> date:
    """Return the day a year ago, give or take a leap day."""
    return today - timedelta(days=365)


def _soon(on: date, today: date) -> bool:
    return 0 <= (on.year - today.year) * 12 + on.month - today.month <= 10


def _months(when: Due, today: date) -> dict[date, str]:
    """Return the words for each quantile: where one needs its year all have it, or they could be confused."""
    known = [q for q in (when.p10, when.p50, when.p90) if q]
    ahead = [q for q in known if q > today]
    with_year = not all(_soon(q, today) for q in ahead)
    said = {q: f"{month_name[q.month]} {q.year}" if with_year else month_name[q.month] for q in ahead}
    return said | {q: "now" for q in known if q <= today}


def millimetres(value: float) -> str:
    """Return a length in mm with one decimal and its unit: ``"178.0 mm"``."""
    return f"{value:.1f} mm"


def socks(plies: Iterable[int]) -> str:
    """Return the socks worn together by label: ``[3, 3, 1]`` → ``"one 1-ply and two 3-ply socks"``."""
    worn = sorted(Counter(plies).items())
    if not worn:
        return "no sock"
    noun = "sock" if len(worn) == 1 and worn[0][1] == 1 else "socks"
    return f"{listed([f'{number(n)} {ply}-ply' for ply, n in worn])} {noun}"


def listed(items: Iterable[str]) -> str:
    """Return items as a list within a sentence: ``"tape, cast and scan"``."""
    *most, last = list(items) or [""]
    return f"{', '.join(most)} and {last}" if most else last


def spoken(token: str) -> str:
    """Return a stored token in words: ``"residual_limb_girth"`` → ``"residual limb girth"``."""
    return token.replace("_", " ")


_SAID: Final[tuple[Callable[..., object], ...]] = (
    *(number, counted, day, full_day, year_before, month, span, distance, age),
    *(chance, likely, due, due_range, millimetres, socks, listed, spoken),
)
FILTERS: Final[Mapping[str, Callable[..., object]]] = MappingProxyType({said.__name__: said for said in _SAID})
"""What templates may use, by the function's own name."""
