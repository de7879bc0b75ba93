"""The wall card: which reading before the coming service leads to which verdict."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, groupby

import numpy as np

from kettlewell.book import Message
from kettlewell.book.words import N_
from kettlewell.core.arrays import Array
from kettlewell.core.belief.filter import Work
from kettlewell.core.belief.joint import Belief, single_baths
from kettlewell.core.belief.readings import assimilate, observe
from kettlewell.core.outlook.forecast import change_now, forecast, passing
from kettlewell.core.outlook.outlook import Outlook
from kettlewell.core.outlook.values import CardLine, VerdictKey, WallCard

HIGHEST_PCT = 40.0
URGENCY = list(VerdictKey)

BELOW = {
    VerdictKey.CHANGE_BEFORE: N_("Reading below {to_pct} %: change before frying."),
    VerdictKey.CHANGE_AFTER: N_("Reading below {to_pct} %: change after this service."),
    VerdictKey.MEASURE_AGAIN: N_("Reading below {to_pct} %: measure again; if it stays, call the chef."),
    VerdictKey.FRY_ON: N_("Reading below {to_pct} %: fry on."),
}
BETWEEN = {
    VerdictKey.CHANGE_BEFORE: N_("Reading from {from_pct} % to below {to_pct} %: change before frying."),
    VerdictKey.CHANGE_AFTER: N_("Reading from {from_pct} % to below {to_pct} %: change after this service."),
    VerdictKey.MEASURE_AGAIN: N_(
        "Reading from {from_pct} % to below {to_pct} %: measure again; if it stays, call the chef."
    ),
    VerdictKey.FRY_ON: N_("Reading from {from_pct} % to below {to_pct} %: fry on."),
}
FROM = {
    VerdictKey.CHANGE_BEFORE: N_("Reading {from_pct} % or more: change before frying."),
    VerdictKey.CHANGE_AFTER: N_("Reading {from_pct} % or more: change after this service."),
    VerdictKey.MEASURE_AGAIN: N_("Reading {from_pct} % or more: measure again; if it stays, call the chef."),
    VerdictKey.FRY_ON: N_("Reading {from_pct} % or more: fry on."),
}
PLAIN = {
    VerdictKey.CHANGE_BEFORE: N_("Change before frying."),
    VerdictKey.CHANGE_AFTER: N_("Change after this service."),
    VerdictKey.MEASURE_AGAIN: N_("Measure again before frying."),
    VerdictKey.FRY_ON: N_("Fry on."),
}
ANY = {
    VerdictKey.CHANGE_BEFORE: N_("Whatever the reading: change before frying."),
    VerdictKey.CHANGE_AFTER: N_("Whatever the reading: change after this service."),
    VerdictKey.MEASURE_AGAIN: N_("Whatever the reading: measure again; if it stays, call the chef."),
    VerdictKey.FRY_ON: N_("Whatever the reading: fry on."),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BathAnswers:
    """What each possible ``reading_pct`` (N,) of one bath would lead to: ``keys``, N of them."""

    reading_pct: Array
    keys: Sequence[VerdictKey]

    @property
    def could_fry_on(self) -> bool:
        """Whether some reading would let the bath fry on."""
        return VerdictKey.FRY_ON in self.keys

    @property
    def milder_until_pct(self) -> float | None:
        """Return the lowest reading above those to fry on with; None if there is none."""
        stricter = [n for n, key in enumerate(self.keys) if key is not VerdictKey.FRY_ON]
        above = [n for n in stricter if VerdictKey.FRY_ON in self.keys[:n]]
        return float(self.reading_pct[above[0]]) if above else None

    def strict_from_pct(self, key: VerdictKey) -> float | None:
        """Return the lowest reading that leads to ``key``, or to worse, if a lower one fries on or longer."""
        first = next((n for n, one in enumerate(self.keys) if URGENCY.index(one) <= URGENCY.index(key)), 0)
        milder = {VerdictKey.FRY_ON, VerdictKey.CHANGE_AFTER} - {key}
        return float(self.reading_pct[first]) if milder & set(self.keys[:first]) else None


def one_bath_each(belief: Belief, fryers: Sequence[int], copies: int) -> Belief:
    """Return some fryers of a batch of one as kitchens of one fryer, each ``copies`` times over."""
    which = np.repeat(np.array(fryers, dtype=np.intp), copies)
    return single_baths(belief, np.zeros_like(which), which)


def answers(
    belief: Belief,
    works: Mapping[int, Sequence[Work]],
    outlooks: Sequence[Outlook],
    *,
    meter: int,
    resolution_pct: float,
    var: float,
) -> list[BathAnswers]:
    """Return what each reading that a meter can show would lead to, bath by bath.

    ``works`` are the coming services of each fryer of which there is an outlook, by its place
    in the belief: the first two count.
    """
    readings = np.arange(0.0, HIGHEST_PCT + resolution_pct / 2, resolution_pct)
    copies = len(readings)
    many = one_bath_each(belief, list(works), copies)
    shown = np.tile(readings, len(works))[:, None]
    meters = np.full(shown.shape, meter)
    read = observe(many, shown, np.full(shown.shape, var), meters)
    heard, how = assimilate(many, read)
    ahead = forecast(heard, [per_bath({i: own[n] for i, own in works.items()}, copies) for n in range(2)])
    found = []
    for i, outlook in enumerate(outlooks):
        rows = slice(i * copies, (i + 1) * copies)
        before, after = np.zeros(copies, bool), np.zeros(copies, bool)
        for limit in outlook.judged:
            chance = passing(ahead, limit.tpc_pct or 0.0, limit.tpc_u_pct or 0.0)[:, rows, 0]
            first, second = change_now(chance[0], chance[1], limit.risk or 0.0)
            before, after = before | first, after | second
        lowest_pct = outlook.passed_by(HIGHEST_PCT)
        past = readings >= (np.inf if lowest_pct is None else lowest_pct)
        low = (how.sound[rows, 0] < many.known.doubt.value) & (how.innovation[rows, 0] < 0)
        odd = (how.sound[rows, 0] < many.known.doubt.value) | how.changed[rows, 0] | past
        keys = rising([key_of(*row) for row in zip(low, before, after, odd, strict=True)])
        found.append(BathAnswers(reading_pct=readings, keys=keys))
    return found


def per_bath(works: Mapping[int, Work], copies: int) -> Work:
    """Return one service of each fryer (work of a batch of one) as that of one-fryer kitchens."""

    def own(name: str) -> Array:
        return np.repeat([getattr(work, name)[0, i] for i, work in works.items()], copies)[:, None]

    return Work(
        hours=own("hours"), turnover=own("turnover"), hours_sd=own("hours_sd"), turnover_sd=own("turnover_sd")
    )


def key_of(low: bool, before: bool, after: bool, odd: bool) -> VerdictKey:  # noqa: FBT001
    """Return the verdict after one reading, doubted as too ``low`` or else as ``odd`` or not at all."""
    if low:
        return VerdictKey.MEASURE_AGAIN
    if before:
        return VerdictKey.CHANGE_BEFORE
    if after:
        return VerdictKey.CHANGE_AFTER
    return VerdictKey.MEASURE_AGAIN if odd else VerdictKey.FRY_ON


def rising(keys: list[VerdictKey]) -> list[VerdictKey]:
    """Return the keys so that no higher reading leads to a milder verdict than a lower one.

    A reading far from what the book expects is doubted, and the odds then rest on the book.
    Below the lowest reading with the mildest verdict the card says to measure again, above
    it never less than for a lower reading: on paper nobody can ask what is behind it.
    """
    strictness = [-URGENCY.index(key) for key in keys]
    lowest = strictness.index(min(strictness))
    above = accumulate(strictness[lowest:], max)
    return [VerdictKey.MEASURE_AGAIN] * lowest + [URGENCY[-one] for one in above]


def wall_card(outlook: Outlook, key: VerdictKey, found: BathAnswers) -> WallCard:
    """Return a fryer's card; it expires when the coming service ends.

    A fryer that is not in use, or a kitchen without a meter in use, has its verdict alone.
    """
    readable = outlook.in_use and outlook.metered
    plain = CardLine(key=key, from_pct=None, to_pct=None, message=Message(text=PLAIN[key]))
    return WallCard(
        fryer=outlook.fryer.key,
        made_at=outlook.now,
        expires_at=outlook.coming.ends[0],
        lines=tuple(card_lines(found.reading_pct, found.keys)) if readable else (plain,),
    )


def card_lines(reading_pct: Array, keys: Sequence[VerdictKey]) -> Iterator[CardLine]:
    """Yield a line for each run of readings that lead to one verdict."""
    start = 0
    for key, run in groupby(keys):
        stop = start + len(list(run))
        from_pct = float(reading_pct[start]) if start else None
        to_pct = float(reading_pct[stop]) if stop < len(keys) else None
        texts = {(True, True): ANY, (True, False): BELOW, (False, True): FROM, (False, False): BETWEEN}
        text = texts[from_pct is None, to_pct is None][key]
        ends = (("from_pct", from_pct), ("to_pct", to_pct))
        message = Message(text=text, values={name: pct for name, pct in ends if pct is not None})
        yield CardLine(key=key, from_pct=from_pct, to_pct=to_pct, message=message)
        start = stop
