"""What went wrong, whether authorities were told in time, and whether checks were done."""

from __future__ import annotations

from service.disclosure.amounts import tell_amount
from service.disclosure.figures import rate, share
from service.figures import lasting
from service.figures.counting_acts import LOOKED
from service.figures.reading import number
from service.figures.sheets import SectionView
from service.figures.telling import Telling
from service.figures.wording import per_cent


def section(telling: Telling) -> SectionView:
    """Incidents for each year a device was worn, clocks, notices, follow-up checks."""
    told, looks = telling.told["incidents"], telling.told["looks"]
    devices = telling.everybody.devices
    years = tell_amount(telling.rule, lasting.years_worn(devices), len(devices))
    rates = [telling.figure("safety.rate", rate(telling.rule, told.total, years))]
    rates += [
        telling.figure("safety.rate", rate(telling.rule, told.at("kind", row), years), row)
        for row in telling.rows("incidents", "kind")
    ]
    done = telling.figure("safety.looks", share(telling.rule, looks.at(column=LOOKED[0]), looks.total))
    checks = [
        telling.figure(
            "safety.looks", share(telling.rule, looks.at("site", site, LOOKED[0]), looks.at("site", site)), site
        )
        for site in telling.rows("looks", "site")
    ]
    rate_said = (
        f"About {number(100 * rates[0].value)} incidents were reported for each hundred years that devices were worn."
        if rates[0].value is not None
        else "How many incidents there were for each year worn cannot be told yet."
    )
    return SectionView(
        key="safety",
        title="Safety",
        lead=f"{rate_said} {per_cent(done, 'follow-up checks were done in time')}",
        figures=[*rates, done, *checks],
        tables=[*telling.tables("incidents"), *telling.tables("notices"), *telling.tables("looks")],
        notes=[
            (
                "An incident is anything that hurt or could have. More of them may mean that more is reported, not "
                "that more happens."
            ),
            "Incidents are those of everybody: the charity answers for each, whoever agreed to be counted.",
        ],
    )
