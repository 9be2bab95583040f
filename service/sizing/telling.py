"""The answer's sentences, in plain English."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Literal

from service.anthropometry import CATALOGUE, Dimension
from service.growth.schemas import Due
from service.sizing.answers import MonthsOut, Option, Scales, SoundHand
from service.sizing.model.shape import MOST_RESCALES, Likeness

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six")


def listed(items: Iterable[str]) -> str:
    """Items as a sentence takes them: "30, 50 and 80 mm"."""
    *most, last = list(items) or [""]
    return f"{', '.join(most)} and {last}" if most else last


def socks(plies: Sequence[int]) -> str:
    """Socks worn together: "one 3-ply sock"."""
    worn = sorted(Counter(plies).items())
    if not worn:
        return "no sock"
    noun = "sock" if len(plies) == 1 else "socks"
    return f"{listed(f'{_NUMBERS[count]} {ply}-ply' for ply, count in worn)} {noun}"


def beside_last(scales: Scales) -> str:
    """A size beside the last print's: "6.3 % wider than the last print and as long"."""
    wide = _changed(scales.across, "wider", "narrower")
    long = _changed(scales.along, "longer", "shorter")
    if wide and long:
        return f"{wide} and {long} than the last print"
    if wide:
        return f"{wide} than the last print and as long"
    return f"{long} than the last print and as wide" if long else "the same size as the last print"


def lasting(months: MonthsOut) -> str:
    """How long it will be worn: "most likely about 14 months, 8 times in 10 between 9 and 22"."""
    if months.p10 is None:
        return "longer than can be foreseen"
    if months.p50 is None:
        return f"most likely longer than can be foreseen, though 1 time in 10 less than {_months(months.p10)}"
    if months.p90 is None:
        return f"most likely about {_months(months.p50)}, 1 time in 10 less than {_months(months.p10)}"
    low, high = round(months.p10), round(months.p90)
    if high < 1:
        return "less than a month"
    return f"most likely about {_months(months.p50)}, 8 times in 10 between {low} and {high}"


def option_sentence(option: Option, subject: str) -> str:
    """What a size would be like: `subject` is what it is called, as a sentence begins."""
    of_base = option.of_base
    base = f", {of_base.across:.3f} across and {of_base.along:.3f} along of the base file," if of_base else ""
    worn = f"and would last {lasting(option.months)}"
    start = {
        "fits": f"starts with {socks(option.socks)} {worn}",
        "tight": "would be too tight on day one, even without a sock",
        "loose": f"would be too loose on day one, even with {socks(option.socks)}, {worn}",
        "uneven": f"would fit unevenly on day one, with {socks(option.socks)} right at one place only, {worn}",
    }[option.verdict]
    return f"{subject}{base} {start}."


def summary(option: Option | None, recast_because: str | None, wanted: int | None, asks: Sequence[str]) -> str:
    """The recommendation in one sentence."""
    if recast_because is not None:
        return f"Take a new shape rather than print the old one larger, since {_lower(recast_because)}"
    if option is None:
        return f"What size the next socket should be cannot be said yet. {next(iter(asks), '')}"
    size = f"Print the next socket {beside_last(option.of_last)}"
    if option.of_base is not None:
        size += f" ({option.of_base.across:.3f} across, {option.of_base.along:.3f} along of the base file)"
    lasts = f"with {socks(option.socks)} it fits on day one and lasts {_filled(option.months)}"
    if wanted is not None and option.lasts is not None:
        lasts += f"; {_chance(option.lasts)} it lasts the {_months(wanted)} wanted"
    return f"{size}: {lasts}."


def tried_summary(option: Option | None, asks: Sequence[str]) -> str:
    """What a file would be like on the limb, in one sentence."""
    if option is None:
        return f"How it would fit cannot be said yet. {next(iter(asks), '')}"
    scales = option.of_last
    at = f"{scales.across:.3f} across and {scales.along:.3f} along" if scales != _AS_IT_IS else "the size of the file"
    said = {
        "fits": f"it fits today with {socks(option.socks)}, and lasts {_filled(option.months)}",
        "tight": "it is too tight today, even without a sock",
        "loose": f"it is too loose today, even with {socks(option.socks)}",
        "uneven": f"it fits unevenly today: with {socks(option.socks)} it is right at one place only",
    }[option.verdict]
    return f"At {at} {said}."


_AS_IT_IS = Scales(across=1.0, along=1.0)


def ask_for_levels(dimension: Dimension, levels: Sequence[float], landmark: str) -> str:
    """Girths nobody has taken where the socket's inside is known; levels are counted from the landmark."""
    label, at = CATALOGUE[dimension].label, listed(f"{level:g} mm" for level in levels)
    return f"Measure the {label} at {at} from {landmark}: the socket is known there, and the limb is not."


def ask_for(dimension: Dimension) -> str:
    """A size nobody has taken."""
    return f"Measure the {CATALOGUE[dimension].label}: the socket is known there, and the limb is not."


def ask_again(dimension: Dimension, levels: Sequence[float]) -> str:
    """Girths taken too long ago."""
    at = listed(f"{level:g} mm" for level in levels)
    return f"Measure the {CATALOGUE[dimension].label} at {at} again: the newest reading is more than a year old."


def ask_for_hand(dimension: Dimension) -> str:
    """What a printed hand's size lacks."""
    return f"Measure the {CATALOGUE[dimension].label} of the sound side: the printed hand is sized by it."


def plastic_sentence(mass_g: float, hours: float, cost: float | None, of_base: float) -> str:
    """What it takes to print."""
    price = "" if cost is None else f", material for {cost:.2f}"
    return f"About {mass_g:.0f} g of plastic and {hours:.1f} hours{price}: {of_base:.2f} times the base's."


def hand_sentence(size: SoundHand, day_one: date) -> str:
    """The printed hand's size, and when it will look small: never said to be tight."""
    if size.length_mm is None:
        return "The sound hand's length has not been measured, so no size can be given for the printed hand."
    broad = "" if size.breadth_mm is None else f" and {size.breadth_mm:.0f} mm broad"
    said = f"Make the printed hand {size.length_mm:.0f} mm long{broad}"
    if size.scales is not None:
        said += f" ({size.scales.along:.3f} along, {size.scales.across:.3f} across of the base hand)"
    said += f"; beside the sound hand it will {_looks(size.looks_small, day_one)}."
    if size.present_looks_small is not None:
        said += f" The hand worn now will {_looks(size.present_looks_small, day_one)}."
    return said


def _looks(due: Due | None, day_one: date) -> str:
    if due is None or due.p10 is None:
        return "not look small within three years"
    if due.p50 is None:
        return f"look small from {due.p10:%B %Y} at the earliest, more likely not within three years"
    if due.p50 <= day_one:
        return "look small from the first day"
    return f"look small around {due.p50:%B %Y}"


def place(dimension: Dimension, level_mm: float | None) -> str:
    """A place in words: "residual limb girth at 60 mm"."""
    return CATALOGUE[dimension].label + ("" if level_mm is None else f" at {level_mm:g} mm")


def level_measured(room_mm: float, months: MonthsOut, beyond_mm: float) -> str:
    """A place where limb and socket can be compared; `beyond_mm` is how far off the socket's inside was taken."""
    off = f" The socket's inside was taken {beyond_mm:.0f} mm from here." if beyond_mm else ""
    if room_mm < 0:
        return f"It presses: the bare limb is {-room_mm:.1f} mm too large.{off}"
    return f"{room_mm:.1f} mm of room beside the bare limb, which lasts {_filled(months)}.{off}"


Lacking = Literal["between readings", "not measured", "inside not known"]


def level_without(basis: Lacking, dimension: Dimension, level_mm: float | None) -> str:
    """A place where they cannot, and what would help."""
    where = place(dimension, level_mm)
    return {
        "between readings": "Read off the readings on both sides of it; not used to choose the size.",
        "not measured": f"Nobody has measured the {where}, and nothing is guessed there: please measure it.",
        "inside not known": f"The socket's inside is not known here, so the {where} was not used.",
    }[basis]


def recast_reasons(
    found: Likeness | None, levels: Sequence[float], rescales: int | None, *, fits: bool, clinician_asks: bool
) -> list[str]:
    """Why a new shape is due; empty when the old one will do."""
    reasons = []
    if clinician_asks:
        reasons.append("A clinician asks for a new shape.")
    if rescales is not None and rescales >= MOST_RESCALES:
        reasons.append(f"This shape has been rescaled {rescales} times already.")
    if found is not None and not found.is_a_copy:
        large, small = levels[found.largest], levels[found.smallest]
        reasons.append(
            f"The limb has changed shape: beside the socket it is {_per_cent(found.spread)} larger at {large:g} mm "
            f"than at {small:g} mm; a tape explains {_per_cent(found.within)}."
        )
    if not fits:
        reasons.append("No one scale fits at every place that was measured.")
    return reasons


def rescale_reasons(found: Likeness | None, rescales: int | None) -> list[str]:
    """What speaks for keeping the shape, and what is not known about it."""
    if found is None:
        said = "One level or none can be compared, which cannot tell whether the limb has changed shape."
    else:
        said = (
            "The limb is still a scaled copy of the socket: its scales differ by "
            f"{_per_cent(found.spread)} between levels, and a tape explains {_per_cent(found.within)}."
        )
    unknown = [] if rescales is not None else ["How often this shape was rescaled is not known."]
    return [said, *unknown]


def _changed(scale: float, more: str, less: str) -> str:
    change = round(abs(scale - 1) * 100, 1)
    return f"{change} % {more if scale > 1 else less}" if change else ""


def _filled(months: MonthsOut) -> str:
    if months.p50 is None:
        return "most likely longer than can be foreseen"
    return f"about {_months(months.p50)}"


def _months(value: float) -> str:
    whole = round(value)
    return "a month" if whole <= 1 else f"{whole} months"


def _chance(share: float) -> str:
    tenths = round(share * 10)
    return {0: "hardly ever", 10: "almost surely"}.get(tenths, f"{tenths} times in 10")


def _per_cent(share: float) -> str:
    return f"{share * 100:.1f} %"


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]
