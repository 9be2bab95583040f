"""A forecast in a sentence a family could read."""

from datetime import date

from service.anthropometry import CATALOGUE
from service.growth.model.case import Case, Forecast, Limit
from service.growth.model.evidence import HANDS, is_girth

_NUMBERS = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")
ALREADY_LIKELY = 0.5
STILL = 1.0  # mm a year below which a tape cannot see growth


def explain(case: Case, forecast: Forecast) -> str:
    """What was measured, how fast it grows, and when it reaches the limit, in plain English."""
    limit = forecast.limiting
    if limit is None:
        return "No date can be given: the size at which the socket is tight has not been entered."
    label = CATALOGUE[limit.channel.dimension].label
    evidence, say = _evidence(case, limit, socks=bool(forecast.from_socks) and is_girth(limit))
    growth = _growth(case, forecast)
    # A printed hand that is small beside the sound one is a worse match; it is never called tight.
    match = limit.channel.dimension in HANDS
    aim = f"the {'printed hand' if match else 'socket'}'s {limit.tight_at_mm:.0f} mm"
    if forecast.already >= ALREADY_LIKELY:
        advice = "a larger printed hand would match better now" if match else "please have the fit looked at now"
        return f"{evidence} {say} that the {label} has probably reached {aim} already: {advice}."
    grows = f"the {label} grows about {growth:.0f} mm a year" if growth >= STILL else f"the {label} hardly grows now"
    return f"{evidence} {say} {grows}; {_when(forecast, aim)}"


def _when(forecast: Forecast, aim: str) -> str:
    if forecast.p50 is None:
        if forecast.p10 is None:
            return f"it is not likely to reach {aim} within three years."
        return f"it may reach {aim} from {_month(forecast.p10)} on, but more likely not within three years."
    start = "now" if forecast.already >= 0.1 or forecast.p10 is None else _month(forecast.p10)
    middle = _month(forecast.p50)
    if forecast.p90 is None:
        return f"it reaches {aim} most likely around {middle}, perhaps as early as {start}, perhaps much later."
    end = _month(forecast.p90)
    if start == end:
        return f"it reaches {aim} most likely in {middle}."
    return f"it reaches {aim} most likely around {middle}, between {start} and {end}."


def _evidence(case: Case, limit: Limit, *, socks: bool) -> tuple[str, str]:
    count = len({r.on for r in case.readings if r.on <= case.as_of and r.channel.dimension == limit.channel.dimension})
    if not count and not socks:
        return "Nothing has been measured yet; children of this age and sex", "suggest"
    many = _NUMBERS[count] if count < len(_NUMBERS) else str(count)
    readings = f"{many} reading{'' if count == 1 else 's'}"
    if socks and count:
        return f"{readings} and the socks worn", "say"
    if socks:
        return "The socks worn", "say"
    return readings, "says" if count == 1 else "say"


def _growth(case: Case, forecast: Forecast) -> float:
    """Median growth over the coming year, mm."""
    now, year = (
        min(forecast.curve, key=lambda point: abs((point.on - case.as_of).days - days)).p50 for days in (0, 365)
    )
    return year - now


def _month(day: date) -> str:
    return f"{day:%B %Y}"
