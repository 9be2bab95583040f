"""Answer the size from its question alone: nothing is looked up and nothing is kept."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from service.growth.model import MODEL
from service.growth.model.case import Channel
from service.growth.model.evidence import OLD_AFTER_DAYS
from service.sizing import details, telling
from service.sizing.answers import Option, Scales, SizeAnswer
from service.sizing.comparing import Limb, Trial, beyond_the_limb, hand_channels, look, marked, next_size, tried
from service.sizing.model.fit import NEAR_MM
from service.sizing.model.wear import share_beyond
from service.sizing.rules import FLAT_STEP, LENGTHS
from service.sizing.schemas import AskSize

WORTH_SHOWING = 0.002
"""A largest size nearer than this to the next one (scale across) is the same to a printer."""


def size(asked: AskSize) -> SizeAnswer:
    """How big the next socket should be: the same answer to the same question, every time."""
    limb = look(asked)
    chosen = next_size(asked, limb, asked.wanted_months)
    shape = details.shape(asked, chosen)
    subject = "Rescaled nevertheless, it" if shape.verdict == "recast" else "This size"
    option = _option(asked, chosen, subject) if chosen else None
    asks = _asks(asked, limb)
    because = shape.why[0] if shape.verdict == "recast" else None
    return SizeAnswer(
        **_of_trial(asked, limb, chosen),
        sentence=telling.summary(option, because, asked.wanted_months, asks),
        next=option,
        flat=_flat(asked, limb),
        tried=_tried(asked, limb),
        largest=_largest(asked, limb, chosen),
        shape=shape,
        asks=asks,
    )


def try_on(asked: AskSize) -> SizeAnswer:
    """What a base would be like at the scales tried, or as it is: `tried`, and all that is said of levels and printing.

    `next` is the size that would be chosen of the same base.
    """
    limb = look(asked)
    trial = tried(asked, limb, asked.try_across or 1.0, asked.try_along or 1.0)
    chosen = next_size(asked, limb, asked.wanted_months)
    option = _option(asked, trial, "This size") if trial else None
    asks = _asks(asked, limb)
    return SizeAnswer(
        **_of_trial(asked, limb, trial),
        sentence=telling.tried_summary(option, asks),
        next=_option(asked, chosen, "The size that suits the limb best") if chosen else None,
        flat=None,
        tried=option,
        largest=None,
        shape=details.shape(asked, chosen),
        asks=asks,
    )


def _of_trial(asked: AskSize, limb: Limb, trial: Trial | None) -> dict[str, Any]:
    """What is answered of the size that is shown, and of the case whatever the size."""
    day_one = asked.case.as_of + timedelta(days=asked.fitted_in_days)
    return {
        "case_id": asked.case.case_id,
        "day_one": day_one,
        "landmark": asked.landmark,
        "levels": details.levels(asked, limb, trial) if trial else [],
        "features": details.features(asked, trial) if trial else [],
        "plastic": details.plastic(asked, trial) if trial else None,
        "box_mm": details.box(asked, trial) if trial else None,
        "cautions": details.cautions(asked, trial) if trial else [],
        "hand": details.hand(asked, limb, day_one),
        "warnings": [*limb.remarks, *_warnings(asked)],
        "model": MODEL,
    }


def _option(asked: AskSize, trial: Trial, subject: str) -> Option:
    wanted = asked.wanted_months
    last = asked.last
    made = Option(
        of_base=None if asked.base.is_last_print else _scales(trial.across, trial.along),
        of_last=_scales(trial.across / last.scale_across, trial.along / last.scale_along),
        socks=list(trial.judged.plies),
        verdict=trial.judged.verdict,
        months=details.months_out(trial.lasts),
        lasts=None if wanted is None else round(share_beyond(trial.lasts, wanted), 3),
        sentence="",
    )
    return made.model_copy(update={"sentence": telling.option_sentence(made, subject)})


def _scales(across: float, along: float) -> Scales:
    return Scales(across=round(across, 4), along=round(along, 4))


def _flat(asked: AskSize, limb: Limb) -> Option | None:
    trial = tried(asked, limb, FLAT_STEP, FLAT_STEP)
    return _option(asked, trial, "The last print again, 5 % larger each way") if trial else None


def _tried(asked: AskSize, limb: Limb) -> Option | None:
    """The size somebody has in mind, relative to the last print."""
    if asked.try_across is None and asked.try_along is None:
        return None
    trial = tried(asked, limb, asked.try_across or 1.0, asked.try_along or 1.0)
    return _option(asked, trial, "The size you try") if trial else None


def _largest(asked: AskSize, limb: Limb, chosen: Trial | None) -> Option | None:
    """The largest size that fits, when the months wanted were content with less."""
    if chosen is None or asked.wanted_months is None:
        return None
    trial = next_size(asked, limb, None)
    if trial is None or trial.across - chosen.across < WORTH_SHOWING:
        return None
    return _option(asked, trial, "The largest that fits on day one")


def _asks(asked: AskSize, limb: Limb) -> list[str]:
    """What is lacking, and what to do about it."""
    found = []
    dimension = asked.base.dimension
    if not asked.base.inside_profile:
        found.append("The inside girths of the base at levels along its axis are not known: measure them.")
    else:
        known = [float(round(level * asked.last.scale_along)) for level, _ in marked(asked)]
        lacking = [each for each in known if not _reached(each, limb) and not beyond_the_limb(asked, each)]
        if lacking:
            found.append(telling.ask_for_levels(dimension, lacking, asked.landmark))
    inside = [Channel(each.dimension, asked.side) for each in asked.base.inside_sizes]
    found += [telling.ask_for(each.dimension) for each in inside if each not in limb.sizes]
    old = [level for level, on in limb.levels.items() if (asked.case.as_of - on).days > OLD_AFTER_DAYS]
    if old:
        found.append(telling.ask_again(dimension, old))
    if asked.hand is not None:
        found += [telling.ask_for_hand(each.dimension) for each in hand_channels(asked) if each not in limb.sizes]
    return found


def _warnings(asked: AskSize) -> list[str]:
    if any(inside.dimension in LENGTHS for inside in asked.base.inside_sizes):
        return []
    return ["The socket's inside length is not known, so the scale along was left as it is."]


def _reached(level: float, limb: Limb) -> bool:
    return bool(limb.levels) and min(limb.levels) - NEAR_MM <= level <= max(limb.levels) + NEAR_MM
