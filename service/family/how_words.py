"""The questions about how it goes as a family reads them: short and plain, each answer in few words. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from service.devices.rules import StoppedWhy
from service.outcomes.rules import AnsweredBy, Pain, Recommend, UsedFor

WHO: Final[Mapping[AnsweredBy, str]] = MappingProxyType(
    {
        AnsweredBy.RECIPIENT: "I wear it",
        AnsweredBy.GUARDIAN: "I look after the one who wears it",
        AnsweredBy.BOTH: "Both of us together",
    }
)
WHY_NOT: Final[Mapping[StoppedWhy, str]] = MappingProxyType(
    {
        StoppedWhy.HURTS: "It hurts, or the skin is sore",
        StoppedWhy.TOO_HEAVY: "It is too heavy",
        StoppedWhy.LITTLE_USE: "It does not help much",
        StoppedWhy.LOOKS: "I do not like how it looks",
        StoppedWhy.BROKEN: "It is broken, and we wait",
        StoppedWhy.TOO_SMALL: "It is too small, and we wait",
        StoppedWhy.BETTER_WITHOUT: "I do better without it",
        StoppedWhy.OTHER: "Another reason. Please write it below.",
    }
)
PAINS: Final[Mapping[Pain, str]] = MappingProxyType(
    {Pain.NONE: "It does not hurt", Pain.A_LITTLE: "It hurts a little", Pain.A_LOT: "It hurts a lot"}
)
USED_FOR: Final[Mapping[UsedFor, str]] = MappingProxyType(
    {
        UsedFor.DRESSING: "Getting dressed",
        UsedFor.EATING: "Eating",
        UsedFor.SCHOOL: "School or work",
        UsedFor.PLAY: "Play or sport",
        UsedFor.CYCLING: "Riding a bicycle",
        UsedFor.CARRYING: "Holding and carrying",
        UsedFor.HOBBY: "Music or a hobby",
        UsedFor.LOOKS: "To look as I like",
        UsedFor.OTHER: "Something else",
    }
)
RECOMMEND: Final[Mapping[Recommend, str]] = MappingProxyType(
    {Recommend.YES: "Yes", Recommend.PERHAPS: "Perhaps", Recommend.NO: "No"}
)

EVERY: Final = (*WHO.values(), *WHY_NOT.values(), *PAINS.values(), *USED_FOR.values(), *RECOMMEND.values())
"""All of it, for whoever looks whether a language says it."""

HOURS: Final = (*range(13), 14, 16, 18)
"""Hours a day that are offered; few wear it longer, and they can say so in words."""
