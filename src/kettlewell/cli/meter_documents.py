"""The answers of the meter commands for programs, described by meter.schema.json.

Every number's key names its unit; times in UTC; unknown is null.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal

from kettlewell import __version__
from kettlewell.book import MeterCheck
from kettlewell.cli.document import Json, plain, rows_not_used, sentence, teller
from kettlewell.core.metering.charts import Signal
from kettlewell.core.metering.checks import Remark
from kettlewell.core.metering.pairs import SideBySide
from kettlewell.core.metering.paths import PathKind
from kettlewell.core.outlook.lookback import Again, LookBack
from kettlewell.core.outlook.meters import ChartedCheck, MeterReport
from kettlewell.core.outlook.worth import OilWorth, SampleWorth
from kettlewell.folder import Folder
from kettlewell.telling import Reader
from kettlewell.telling.checks import remark_message, signal_message


def show_document(reports: Sequence[MeterReport], kitchen_folder: Folder, *, at: datetime) -> Json:
    """Return what `meter show` says."""
    kitchen = kitchen_folder.kitchen_at(at)
    tell = teller(kitchen, at)
    meters: list[Json] = [
        {
            "meter": report.meter.key,
            "name": report.meter.name,
            "in_use": report.in_use,
            "next_check": plain(report.next_check, tell),
            "walk_pct_per_day": report.walk_pct_per_day,
            "checks": [_charted(charted, tell) for charted in report.checks],
            "oils": [_worth(worth) for worth in report.relied_on],
        }
        for report in reports
    ]
    answer: dict[str, Json] = {"permissible_pct": kitchen.permissible_pct, "meters": meters}
    return _about(answer, kitchen_folder, at, tell)


def back_document(
    failed: ChartedCheck | None, found: LookBack | None, kitchen_folder: Folder, *, at: datetime
) -> Json:
    """Return what `meter back` says; ``failed`` and ``found`` None: no check has failed."""
    tell = teller(kitchen_folder.setup.kitchen, at)
    relied = (
        sorted(found.relied, key=lambda verdict: (-verdict.not_stand, verdict.reading.at)) if found else []
    )
    verdicts: list[Json] = [
        {
            "fryer": verdict.reading.fryer,
            "at": plain(verdict.reading.at, tell),
            "ref": verdict.reading.ref,
            "reading_pct": verdict.reading.tpc_pct,
            "told": str(verdict.told),
            "not_stand_probability": verdict.not_stand,
            "again": _again(verdict.again),
        }
        for verdict in relied
    ]
    answer: dict[str, Json] = {
        "failed_check": {"meter": failed.check.meter, **_charted(failed, tell)} if failed else None,
        "good_check": _check(found.good, tell) if found and found.good else None,
        "since": plain(found.since, tell) if found else None,
        "verdicts": verdicts,
    }
    return _about(answer, kitchen_folder, at, tell)


def compare_document(found: Sequence[SideBySide], kitchen_folder: Folder, *, at: datetime) -> Json:
    """Return what `meter compare` says."""
    tell = teller(kitchen_folder.setup.kitchen, at)
    sides: list[Json] = [
        {
            "oil": side.oil,
            "pairs": plain(side.pairs, tell),
            "line": _line(side),
            "differences": _differences(side),
            "may_be_adopted": side.may_be_adopted,
        }
        for side in found
    ]
    answer: dict[str, Json] = {"meter": found[0].meter, "against": found[0].against, "oils": sides}
    return _about(answer, kitchen_folder, at, tell)


def _about(answer: dict[str, Json], kitchen_folder: Folder, at: datetime, tell: Reader) -> dict[str, Json]:
    kitchen = kitchen_folder.kitchen_at(at)
    return {
        "program_version": __version__,
        "kitchen": kitchen.name,
        "timezone": kitchen.timezone,
        "at": plain(at, tell),
        **answer,
        "rows_not_used": rows_not_used(kitchen_folder.log.problems),
    }


def _check(check: MeterCheck, tell: Reader) -> dict[str, Json]:
    return {
        "at": plain(check.at, tell),
        "ref": check.ref,
        "lot": check.lot,
        "readings_pct": plain(check.readings_pct, tell),
        "oil_temp_c": check.oil_temp_c,
        "adjusted": check.adjusted,
    }


def _charted(charted: ChartedCheck, tell: Reader) -> dict[str, Json]:
    decision, found = charted.decision, charted.decision.deviation
    components: list[Json] = [{"name": each.name, "u_pct": each.u} for each in found.components]
    return {
        **_check(charted.check, tell),
        "decision": str(decision.key),
        "off_probability": decision.off_probability,
        "deviation_pct": found.pct,
        "deviation_u_pct": found.u_pct,
        "components": components,
        "remarks": [_remark(remark, tell) for remark in decision.remarks],
        "centre_pct": charted.centre_pct,
        "limit_pct": charted.limit_pct,
        "ewma_pct": charted.ewma_pct,
        "ewma_limit_pct": charted.ewma_limit_pct,
        "signals": [_signal(signal, charted.check, tell) for signal in charted.signals],
    }


def _remark(remark: Remark, tell: Reader) -> Json:
    return {"key": remark.key, "message": sentence(remark.key, remark_message(remark), tell)}


def _signal(signal: Signal, check: MeterCheck, tell: Reader) -> Json:
    return sentence(f"{signal.kind}_{signal.direction}", signal_message(signal, check), tell)


def _worth(worth: OilWorth) -> Json:
    accepted: list[Json] = [
        {
            "of_readings": mean.readings,
            "u_pct": mean.u_pct,
            "accept_pct": mean.accept_pct,
            "consumer_probability": mean.consumer,
            "producer_probability": mean.producer,
        }
        for mean in worth.accepted
    ]
    return {
        "oil": worth.oil.key,
        "limit_pct": worth.limit_pct,
        "risk_probability": worth.risk,
        "offset_pct": worth.offset_pct,
        "offset_sd_pct": worth.offset_sd_pct,
        "gain_dimensionless": worth.gain,
        "gain_sd_dimensionless": worth.gain_sd,
        "accepted": accepted,
        "sample": None if worth.sample is None else _sample(worth.sample),
    }


def _sample(sample: SampleWorth) -> Json:
    return {
        "tpc_pct": sample.tpc_pct,
        "gain_sd_dimensionless": sample.gain_sd,
        "gain_sd_after_dimensionless": sample.gain_sd_after,
        "fryer": sample.fryer,
        "more_services": sample.services_more,
        "saved_kg": sample.saved_kg,
        "saved_money": _money(sample.saved),
        "pays_after_days": sample.pays_after_days,
    }


def _money(amount: Decimal | None) -> float | None:
    return None if amount is None else round(float(amount), 2)


def _again(again: Mapping[PathKind, Again]) -> Json:
    return {
        str(path): {
            "reading_pct": told.reading_pct,
            "reading_sd_pct": told.reading_sd_pct,
            "not_stand_probability": told.not_stand,
            "instead": str(told.instead),
        }
        for path, told in again.items()
    }


def _line(side: SideBySide) -> Json:
    if side.comparison is None:
        return None
    line, variance = side.comparison.line, side.comparison.line.covariance
    return {
        "offset_pct": line.intercept,
        "offset_u_pct": float(variance[0, 0]) ** 0.5,
        "gain_dimensionless": line.slope,
        "gain_u_dimensionless": line.slope_u,
        "misfit_dimensionless": side.comparison.misfit,
    }


def _differences(side: SideBySide) -> Json:
    found = side.differences
    if found is None:
        return None
    return {
        "mean_pct": found.mean,
        "mean_u_pct": found.mean_u,
        "sd_pct": found.sd,
        "lower_pct": found.lower,
        "upper_pct": found.upper,
        "limit_u_pct": found.limit_u,
    }
