"""What is true of accounts without asking a database: good passwords, safe paths, how long guessing is held back."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address, ip_network
from math import asin, cos, radians, sin, sqrt

SHORTEST_PASSWORD = 12
LONGEST_PASSWORD = 200
FEWEST_DIFFERENT_CHARACTERS = 5

TRY_WINDOW = timedelta(minutes=15)
"""Failed sign-ins older than this count no more."""
MOST_TRIES_AN_ADDRESS = 5
MOST_TRIES_A_NETWORK = 20
"""Higher than for one address: a whole workshop may sit behind one network address."""

_BROWSERS = (("Edg", "Edge"), ("OPR/", "Opera"), ("Firefox", "Firefox"), ("Chrome", "Chrome"), ("Safari", "Safari"))
_MACHINES = (
    ("Android", "Android"),
    ("iPhone", "an iPhone"),
    ("iPad", "an iPad"),
    ("Windows", "Windows"),
    ("Mac OS", "a Mac"),
    ("Linux", "Linux"),
)


def password_problem(password: str, *, email: str, name: str) -> str | None:
    """What is wrong with a new password, as a sentence, or None when it will do."""
    if len(password.strip()) < SHORTEST_PASSWORD:
        return f"Use {SHORTEST_PASSWORD} characters or more; three or four words together are easy to keep in mind."
    if len(set(password)) < FEWEST_DIFFERENT_CHARACTERS:
        return "Use more different characters."
    if _letters(password) in {_letters(each) for each in ("", email, email.partition("@")[0], name)}:
        return "Only digits, the name or the address of the account: these are guessed first. Use other words."
    return None


def _letters(text: str) -> str:
    return re.sub(r"[\W\d_]+", "", text.casefold())


def local_path(asked: str | None) -> str | None:
    r"""A path on this site to go on to after signing in, or None when it could lead anywhere else.

    Browsers read a backslash as a slash and drop control characters, so `/\evil.example` and a tab between two
    slashes lead away just as `//evil.example` does.
    """
    if asked is None or not asked.startswith("/") or asked.startswith("//"):
        return None
    return None if re.search(r"[\\\x00-\x20\x7f]", asked) else asked


def network_of(host: str) -> str:
    """The network a request comes from: the IPv4 address, or the /64 that an IPv6 subscriber can roam in."""
    try:
        address = ip_address(host)
    except ValueError:
        return host
    if isinstance(address, IPv6Address):
        return str(address.ipv4_mapped or ip_network((address, 64), strict=False))
    return str(address)


def browser_name(user_agent: str) -> str:
    """A browser as its owner would know it, such as "Firefox on Android", for the list of signed-in browsers."""
    browser = next((said for token, said in _BROWSERS if token in user_agent), "A browser")
    machine = next((said for token, said in _MACHINES if token in user_agent), "a device we do not recognise")
    return f"{browser} on {machine}"


def seconds_to_wait(tries: list[datetime], most: int, now: datetime) -> int:
    """Seconds until another try is allowed, 0 for now; `tries` are the latest failed ones, newest first."""
    recent = [at for at in tries[:most] if at > now - TRY_WINDOW]
    if len(recent) < most:
        return 0
    left = recent[-1] + TRY_WINDOW - now
    return max(1, -(-left // timedelta(seconds=1)))


EARTH_RADIUS_KM = 6371.0
"""The mean radius; a sphere is right to half a per cent, and places are rounded to 5 km anyhow."""


def great_circle_km(here: tuple[float, float], there: tuple[float, float]) -> float:
    """Kilometres between two places (degrees north, degrees east) over the ground, by the haversine formula."""
    (lat1, lon1), (lat2, lon2) = ((radians(north), radians(east)) for north, east in (here, there))
    chord = sin((lat2 - lat1) / 2) ** 2 + cos(lat1) * cos(lat2) * sin((lon2 - lon1) / 2) ** 2
    return 2 * EARTH_RADIUS_KM * asin(min(1.0, sqrt(chord)))
