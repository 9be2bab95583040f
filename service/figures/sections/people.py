"""Whom the charity serves."""

from __future__ import annotations

from service.figures.counting import COUNTED
from service.figures.sheets import SectionView
from service.figures.telling import Telling


def section(telling: Telling) -> SectionView:
    """How many people have been fitted with a device, and who they are."""
    told = telling.told["people"]
    left_out = telling.rule.tell(sum(not person.counted for person in telling.facts.people.values()))
    served = telling.count("people.served", told.at(column=COUNTED[0]))
    years = [telling.count("people.served", told.at("year", year), year) for year in telling.rows("people", "year")]
    said = f"About {served.value:.0f} people" if served.value is not None else "People too few to tell of"
    return SectionView(
        key="people",
        title="Whom we serve",
        lead=f"{said} who agreed to be counted have been fitted with a device.",
        figures=[served, *years],
        tables=telling.tables("people"),
        notes=[
            (
                f"On record but not counted, because they did not agree to it: {telling.rule.words(left_out)}. They "
                "are in no figure but those of safety."
            )
        ],
    )
