"""Where a kitchen stands: its belief, the services ahead, and the outlook of each fryer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime

import numpy as np

from kettlewell.book import Fryer, Kitchen, find
from kettlewell.book.naming import with_oils
from kettlewell.core.arrays import Array, Mask
from kettlewell.core.belief.fills import fill_of
from kettlewell.core.belief.joint import Belief
from kettlewell.core.belief.level import Level, highest_in, level_of
from kettlewell.core.belief.occasion import Occasion
from kettlewell.core.belief.seen import Of
from kettlewell.core.belief.settings import carried
from kettlewell.core.belief.state import Bookmark, State
from kettlewell.core.belief.walk import Walked
from kettlewell.core.decision import Evidence
from kettlewell.core.decision.seen import evidence_of, resting
from kettlewell.core.limits import FryerLimits, OilLimit, judge_limits
from kettlewell.core.metering.checks import FoundOff, times_off
from kettlewell.core.outlook.ahead import Ahead, services_ahead
from kettlewell.core.outlook.common_cause import Moved, meters_moved
from kettlewell.core.outlook.life import Coming
from kettlewell.core.outlook.outlook import Outlook, passed_by, past_limits
from kettlewell.core.outlook.values import Lack, Unanswered


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """Where a kitchen stands ``now``: its belief, the services ``ahead`` and the ``levels`` after them.

    ``lasting`` are the readings that one taken now may join, and what was before them.
    ``begins`` is when each service begins, or its rest. ``tpc_pct`` (2, 1, V) and ``tpc_ahead_pct``
    (2, H, 1, V) are mean and standard deviation of the true TPC, now and after each service. ``times_off``
    tell when checks found meters, by their places, off: those that stand so, or that readings still rest on;
    ``moved`` of those that surprised alike in several baths of late.
    """

    state: State
    lasting: Occasion
    place: Bookmark
    settings: Kitchen
    belief: Belief
    level: Level
    evidence: Evidence
    times_off: Mapping[int, tuple[FoundOff, ...]]
    off_s: Array | None
    moved: Mapping[int, Moved]
    recalled: Mask
    out_of_order: Mask
    ahead: Ahead
    begins: Sequence[datetime]
    levels: Level
    tpc_pct: Array
    tpc_ahead_pct: Array
    now: datetime

    def index(self, fryer: str) -> int:
        """Return the place of a fryer."""
        return self.place.baths.fryer_index(fryer)

    @property
    def meter_in_use(self) -> int | None:
        """The kitchen's first meter that is in use, and does not stand off if there is one; None without."""
        places = (self.place.baths.meter_index(meter.key) for meter in self.settings.meters)
        in_use = [i for i in places if not self.place.meters[i].out]
        return min(in_use, key=lambda i: stands_off(self.times_off.get(i, ())), default=None)


def here_of(walked: Walked, now: datetime, *, services: int | None = None) -> Here:
    """Return where a kitchen stands once it was walked up to ``now``, and so many ``services`` ahead."""
    ready, state, place = walked.brought_up(), walked.state, walked.place
    belief = ready.belief
    meters = [place.meters[place.baths.meter_index(meter.key)] for meter in walked.settings.meters]
    held = place.account.of_lots(place.recalled)
    recalled = np.array([[vessel in held for vessel in place.vessels]])
    out_of_order = np.array([[vessel.key in place.out_of_order for vessel in place.vessels]])
    off = meters_off(walked)
    off_s = off_times_s(off, len(place.meters))
    evidence = evidence_of(
        state.seen,
        now.timestamp(),
        place.baths.known,
        out_of_order=out_of_order,
        metered=any(not meter.out for meter in meters),
        off_s=off_s,
    )
    looked_at = np.array([[vessel.key in place.looked_at for vessel in place.vessels]])
    unseen = evidence.unread & ~np.asarray(evidence.metered) & ~looked_at
    evidence = replace(evidence, recalled=recalled, unseen=unseen)
    ahead, level = services_ahead(walked, services), level_of(belief)
    levels = highest_in(belief, ahead.work)
    return Here(
        state=state,
        lasting=ready.occasion or Occasion(belief=belief, seen=state.seen, scatter=state.scatter),
        place=place,
        settings=with_oils(walked.settings, place.kitchen),
        belief=belief,
        level=level,
        evidence=evidence,
        times_off=off,
        off_s=off_s,
        moved=meters_moved(state.seen, now.timestamp(), place.baths.known),
        recalled=recalled,
        out_of_order=out_of_order,
        ahead=ahead,
        begins=[max(slot.begins, now) for slot in ahead.slots],
        levels=levels,
        tpc_pct=np.array(level.tpc_mean_sd()),
        tpc_ahead_pct=np.array(levels.tpc_mean_sd()),
        now=now,
    )


def meters_off(walked: Walked) -> dict[int, tuple[FoundOff, ...]]:
    """Return when checks found meters off, by their places: of any that stands so, or is still rested on."""
    place, seen = walked.place, walked.state.seen
    if not any(meter.checks for meter in place.meters):
        return {}
    kitchen = carried(walked.settings, place)
    first_s = float(np.nan_to_num(seen.readings[..., Of.AT_S], nan=np.inf).min())
    each = {i: times_off(meter.checks, kitchen, after_s=first_s) for i, meter in enumerate(place.meters)}
    found = {i: times for i, times in each.items() if times}
    off_s = off_times_s(found, len(place.meters))
    if off_s is None or any(map(stands_off, found.values())) or resting(seen, off_s).any():
        return found
    return {}


def stands_off(times: Sequence[FoundOff]) -> bool:
    """Return whether a meter that was found off these times still stands so."""
    return any(off.right is None for off in times)


def off_times_s(found: Mapping[int, Sequence[FoundOff]], meters: int) -> Array | None:
    """Return from when until when (1, M, W, 2) what meters read is not to be relied on, POSIX seconds.

    From inf on where it is; None where all of it is.
    """
    if not found:
        return None
    off_s = np.full((1, meters, max(map(len, found.values())), 2), np.inf)
    for i, times in found.items():
        off_s[0, i, : len(times)] = [(off.since_s, off.until_s) for off in times]
    return off_s


def rests_on(here: Here, i: int) -> FoundOff | None:
    """Return what was found of the meter that the belief about fryer ``i`` rests on, if that was off."""
    if here.off_s is None:
        return None
    seen = here.state.seen
    own = resting(seen, here.off_s)[0, i]
    if not own.any():
        return None
    at_s, meter = seen.readings[0, i, own.argmax(), [Of.AT_S, Of.METER]]
    times = here.times_off[int(meter)]
    return max((off for off in times if off.since_s <= at_s < off.until_s), key=lambda off: off.check.at)


def of_bath(evidence: Evidence, i: int) -> Evidence:
    """Return what is known of one bath of one kitchen."""
    values = {field.name: getattr(evidence, field.name) for field in fields(Evidence)}
    return Evidence(
        **{name: value[0, i] if isinstance(value, np.ndarray) else value for name, value in values.items()}
    )


def outlook_of(here: Here, i: int) -> Outlook | Unanswered:
    """Return the outlook of fryer ``i``, or what it lacks."""
    return outlooks_at(here, [i])[0]


def outlooks_at(here: Here, places: Sequence[int]) -> list[Outlook | Unanswered]:
    """Return the outlooks of fryers, or what each lacks."""
    odds: dict[tuple[OilLimit, ...], Past] = {}
    found = []
    for i in places:
        fryer = fryer_at(here, i)
        limits = judge_limits(here.settings, fryer, here.place.polymers)
        if limits.oil not in odds:
            odds[limits.oil] = Past(
                now=past_limits(limits.oil, here.level), coming=past_limits(limits.oil, here.levels)
            )
        found.append(outlook_on(here, i, fryer, limits, odds[limits.oil]))
    return found


def fryer_at(here: Here, i: int) -> Fryer:
    """Return fryer ``i`` as it stands: with the oil that is in it."""
    baths = here.place.baths
    planned, oil = find(here.settings.fryers, baths.fryers[i]), baths.oils[here.belief.oil[0, i]]
    return planned if planned.oil == oil else replace(planned, oil=oil)


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """How probably the oil of all baths lies past limits, ``now`` (J, 1, V) and ``coming`` (J, H, 1, V)."""

    now: Array
    coming: Array


def outlook_on(here: Here, i: int, fryer: Fryer, limits: FryerLimits, past: Past) -> Outlook | Unanswered:
    """Return the outlook of fryer ``i`` under ``limits``, or what it lacks."""
    place, ahead, kitchen = here.place, here.ahead, here.settings
    own = ahead.of_fryer(i, fryer)
    if not (own and limits.oil):
        lacks = Lack.LIMIT if own else Lack.SERVICE
        return Unanswered(fryer=fryer.key, name=fryer.name, lacks=lacks)
    at = np.array(own)
    passed_now = past.now[:, 0, i]
    return Outlook(
        kitchen=kitchen,
        fryer=fryer,
        fill=fill_of(here.state, i),
        evidence=of_bath(here.evidence, i),
        known=place.baths.known,
        out_of_order=fryer.key in place.out_of_order,
        metered=here.meter_in_use is not None,
        rests_on=rests_on(here, i),
        now=here.now,
        limits=limits.oil,
        notes=limits.notes,
        coming=Coming(
            names=tuple(ahead.slots[n].name for n in own),
            begins=tuple(here.begins[n] for n in own),
            ends=tuple(ahead.slots[n].ends for n in own),
            hot_h=ahead.hot_h[at, i],
        ),
        tpc_pct=here.tpc_pct[:, 0, i],
        tpc_ahead_pct=here.tpc_ahead_pct[:, at, 0, i],
        passed=passed_by(passed_now, past.coming[:, at, 0, i]),
        passed_now=passed_now,
    )


def outlooks_of(here: Here) -> list[tuple[int, Outlook]]:
    """Return the outlook of each fryer that can be answered, with its place."""
    places = [here.index(fryer.key) for fryer in here.settings.fryers]
    found = zip(places, outlooks_at(here, places), strict=True)
    return [(i, outlook) for i, outlook in found if isinstance(outlook, Outlook)]
