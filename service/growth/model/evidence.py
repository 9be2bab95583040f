"""What a case says about its limits: the readings that count, with their errors, and what was left out and why."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from service.anthropometry import CATALOGUE, SAME_LEVEL_MM, Dimension
from service.growth.model.case import Case, Channel, Limit, Reading, Side, SockReport
from service.growth.model.posterior import Observations
from service.growth.model.priors import Family, Priors
from service.growth.model.process import Integers
from service.kit.days import full_day

DAYS_IN_YEAR = 365.25
RESIDUAL = {Dimension.RESIDUAL_LIMB_GIRTH, Dimension.RESIDUAL_LIMB_LENGTH}
HANDS = {Dimension.HAND_LENGTH, Dimension.HAND_BREADTH}  # a printed one is a worse match some day, never tight
MOST_READINGS = 120  # the newest; the arithmetic grows with their cube, what the oldest add does not
OLD_AFTER_DAYS = 400


@dataclass(frozen=True, slots=True)
class Row:
    """One observation of a channel."""

    on: date
    channel: Channel
    log_size: float
    variance: float
    shared: float = 0.0
    reading: Reading | None = None  # None for a sock report


@dataclass(frozen=True, slots=True)
class Evidence:
    """One family's channels (the limits' first), the rows seen of them, and remarks for the reader."""

    channels: list[Channel]
    rows: list[Row]
    remarks: list[str]

    def observations(self) -> Observations:
        """The rows as arrays."""
        return Observations(
            np.array([row.log_size for row in self.rows]),
            np.array([row.variance for row in self.rows]),
            np.array([row.shared for row in self.rows]),
        )

    def row_channels(self) -> Integers:
        """The index of each row's channel."""
        return np.array([self.channels.index(row.channel) for row in self.rows], dtype=np.int64)


def gather(case: Case, targets: list[Channel], limits: list[Limit], family: Family, priors: Priors) -> Evidence:
    """The evidence about `targets`, channels of one family; `limits` are those on them."""
    remarks: list[str] = []
    readings = _usable(case, targets, family, remarks)
    rows = [_row(reading, targets, family, priors) for reading in readings]
    rows += _socks(case, limits, rows, priors, remarks)
    rows.sort(key=lambda row: row.on)
    if len(rows) > MOST_READINGS:
        remarks.append(f"Only the newest {MOST_READINGS} of {len(rows)} readings and sock reports were used.")
        rows = rows[-MOST_READINGS:]
    _remark_on_gaps(case, targets, rows, remarks)
    _remark_on_reached(limits, rows, remarks)
    channels = list(dict.fromkeys([*targets, *(row.channel for row in rows)]))
    return Evidence(channels, rows, remarks)


def _usable(case: Case, targets: list[Channel], family: Family, remarks: list[str]) -> list[Reading]:
    """Readings of this family, each once, up to the day of the forecast, given to the side and level they belong to."""
    readings = [r for r in dict.fromkeys(case.readings) if r.channel.dimension in family.members]
    _leave_out(readings, lambda r: r.on > case.as_of, remarks, "taken after the day of the forecast")
    placed = [replace(r, channel=_place(r.channel, targets)) for r in readings]
    sides = {t.side for t in targets} | {None}
    _leave_out(
        placed,
        lambda r: r.channel.dimension in RESIDUAL and r.channel.side not in sides,
        remarks,
        "of the other limb",
    )
    return placed


def _leave_out(readings: list[Reading], when: Callable[[Reading], bool], remarks: list[str], why: str) -> None:
    out = [reading for reading in readings if when(reading)]
    if out:
        verb = "reading was" if len(out) == 1 else "readings were"
        remarks.append(f"{len(out)} {verb} left out: {why}.")
        readings[:] = [reading for reading in readings if not when(reading)]


def _place(channel: Channel, targets: list[Channel]) -> Channel:
    """The channel with what it leaves open (its side, its level) taken from the limit it most likely belongs to."""
    same = [target for target in targets if target.dimension == channel.dimension]
    if not same:
        return channel
    if channel.level_mm is None:
        return Channel(channel.dimension, _side(channel, same[0]), same[0].level_mm)
    nearest = min(same, key=lambda target: abs((target.level_mm or 0.0) - (channel.level_mm or 0.0)))
    return Channel(channel.dimension, _side(channel, nearest), channel.level_mm)


def _side(channel: Channel, target: Channel) -> Side | None:
    """A limit without a side is of the limb that was measured."""
    return channel.side if channel.side and target.side else target.side


def _row(reading: Reading, targets: list[Channel], family: Family, priors: Priors) -> Row:
    error = family.members[reading.channel.dimension].tape * priors.method_error[reading.method or "tape"]
    sides = {target.side for target in targets if target.dimension == reading.channel.dimension}
    elsewhere = priors.other_side if sides and reading.channel.side not in sides else 0.0
    return Row(reading.on, reading.channel, float(np.log(reading.value)), error**2 + elsewhere**2, reading=reading)


def _socks(case: Case, limits: list[Limit], rows: list[Row], priors: Priors, remarks: list[str]) -> list[Row]:
    """Sock reports as readings of the girth with the least room: there the socks are what fills the socket."""
    girths = [limit for limit in limits if is_girth(limit)]
    if not case.sock_reports or not girths:
        return []
    tightest = min(girths, key=lambda limit: _room(limit, rows, case, priors))
    found = []
    for report in case.sock_reports:
        if report.on > case.as_of or (case.fitted_on and report.on < case.fitted_on):
            continue
        row = _sock_row(report, tightest, priors)
        if row:
            found.append(row)
    left_out = len(case.sock_reports) - len(found)
    if left_out:
        remarks.append(
            f"{left_out} sock {'report was' if left_out == 1 else 'reports were'} left out: "
            "outside the time this socket has been worn, or more sock than it can hold."
        )
    return found


def _room(limit: Limit, rows: Iterable[Row], case: Case, priors: Priors) -> float:
    there = [row.log_size for row in rows if row.channel == limit.channel]
    age = (case.as_of - case.birth_date).days / DAYS_IN_YEAR
    typical = priors.typical(limit.channel.dimension, "male" if case.sex == "male" else "female")
    size = there[-1] if there else float(typical.log_size(age))
    return float(np.log(limit.tight_at_mm)) - size


def is_girth(limit: Limit) -> bool:
    """Whether socks fill the socket where this limit is."""
    return CATALOGUE[limit.channel.dimension].needs_level


def _sock_row(report: SockReport, limit: Limit, priors: Priors) -> Row | None:
    """A sock report as a reading of the girth at a limit; None when it is more sock than the socket can hold."""
    plies, thickness = zip(*sorted(priors.ply_mm.items()), strict=True)
    sock = 2 * np.pi * sum(np.interp(ply, [0, *plies], [0.0, *thickness]) for ply in report.plies)
    beside, error = priors.sock_mm[report.fit]
    girth = limit.tight_at_mm - sock + beside
    if girth < 0.5 * limit.tight_at_mm:
        return None
    return Row(
        report.on, limit.channel, float(np.log(girth)), (error / girth) ** 2, shared=priors.ply_error * sock / girth
    )


def _remark_on_gaps(case: Case, targets: list[Channel], rows: list[Row], remarks: list[str]) -> None:
    for dimension in dict.fromkeys(target.dimension for target in targets):
        label = CATALOGUE[dimension].label
        of_it = [row for row in rows if row.channel.dimension == dimension]
        if not of_it:
            remarks.append(
                f"There is no reading of the {label}: the dates rest on age and sex alone. Please measure it."
            )
        elif (case.as_of - of_it[-1].on).days > OLD_AFTER_DAYS:
            remarks.append(f"The newest reading of the {label} is more than a year old. Please measure again.")
        recent = {row.channel.level_mm for row in of_it if row.reading and (case.as_of - row.on).days <= OLD_AFTER_DAYS}
        measured = sorted(level for level in recent if level is not None)
        levels = [t.level_mm for t in targets if t.dimension == dimension and t.level_mm is not None]
        missed = [level for level in levels if not any(abs(level - there) <= SAME_LEVEL_MM for there in measured)]
        if measured and missed:
            at, limits = (" and ".join(f"{level:g} mm" for level in each) for each in (measured, missed))
            remarks.append(
                f"The {label} was measured at {at}, but the socket's limit is at {limits}: "
                "the dates are less sure for it. Please measure it there too."
            )


def _remark_on_reached(limits: list[Limit], rows: list[Row], remarks: list[str]) -> None:
    """One reading at the limit is no forecast, but it is a reason to ask today."""
    for limit in limits:
        readings = [row.reading for row in rows if row.reading and row.channel == limit.channel]
        newest = max(readings, key=lambda reading: (reading.on, reading.value), default=None)
        if newest is None or newest.value < limit.tight_at_mm:
            continue
        at, asked = "the socket is tight", "how it fits now"
        if limit.channel.dimension in HANDS:
            at, asked = "the printed hand is outmatched", "whether a larger one is wanted"
        remarks.append(
            f"The {size_and_day(newest)} is at or over the {limit.tight_at_mm:g} mm at which {at}: "
            f"ask {asked}, and measure again."
        )


def size_and_day(reading: Reading) -> str:
    """A reading as a coordinator would find it again: its size, unit and day."""
    unit = CATALOGUE[reading.channel.dimension].unit
    return f"reading of {reading.value:g} {unit} on {full_day(reading.on)}"
