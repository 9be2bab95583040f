"""Answer a forecast from its question alone: nothing is looked up and nothing is kept."""

from __future__ import annotations

from service.growth.model import MODEL, forecast
from service.growth.model.case import Case, Channel, Forecast, Limit, Reading, SockReport
from service.growth.model.explain import explain
from service.growth.schemas import (
    CurvePointOut,
    Due,
    ForecastAnswer,
    ForecastCase,
    LimitIn,
    Limiting,
    ReadingIn,
    SockSizeOut,
)


def answer(case: ForecastCase) -> ForecastAnswer:
    """The forecast of one case: the same answer to the same question, every time."""
    asked = to_case(case)
    found = forecast(asked)
    return _to_answer(case.case_id, found, explain(asked, found))


def to_case(case: ForecastCase) -> Case:
    """The question in the model's own values."""
    device = case.device
    return Case(
        birth_date=case.birth_date,
        sex=case.sex,
        as_of=case.as_of,
        readings=tuple(Reading(r.on, _channel(r), r.value, r.method) for r in case.readings),
        fitted_on=device.fitted_on if device else None,
        limits=tuple(Limit(_channel(limit), limit.tight_at_mm) for limit in device.limits) if device else (),
        sock_reports=tuple(SockReport(s.on, tuple(s.plies), s.fit) for s in case.sock_reports),
        limb=case.limb,
    )


def _channel(measured: ReadingIn | LimitIn) -> Channel:
    return Channel(measured.dimension, measured.side, measured.level_mm)


def _to_answer(case_id: str, found: Forecast, explanation: str) -> ForecastAnswer:
    limiting = found.limiting and Limiting(
        dimension=found.limiting.channel.dimension,
        level_mm=found.limiting.channel.level_mm,
        probability=round(found.limiting_probability, 3),
    )
    return ForecastAnswer(
        case_id=case_id,
        due=Due(p10=found.p10, p50=found.p50, p90=found.p90),
        already=round(found.already, 3),
        within={str(days): round(share, 3) for days, share in found.within.items()},
        limiting=limiting,
        curve=[
            CurvePointOut(on=point.on, p10=round(point.p10, 1), p50=round(point.p50, 1), p90=round(point.p90, 1))
            for point in found.curve
        ],
        from_socks=[
            SockSizeOut(
                on=each.on,
                dimension=each.channel.dimension,
                level_mm=each.channel.level_mm,
                size_mm=round(each.size, 1),
                sd_mm=round(each.sd, 1),
            )
            for each in found.from_socks
        ],
        warnings=list(found.warnings),
        explanation=explanation,
        model=MODEL,
    )
