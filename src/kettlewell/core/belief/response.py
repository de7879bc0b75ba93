"""How a meter reads an oil, as believed."""

from dataclasses import dataclass, fields, replace

import numpy as np

from kettlewell.core.arrays import Array
from kettlewell.core.belief.joint import Belief
from kettlewell.core.belief.layout import units


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """How a meter reads an oil in K kitchens, z = b + g p with g = r G.

    Means (K,) of the offset b, the gain g and the ratio r, and the directions (K, S) of each, straight about
    the means.
    """

    offset_pct: Array
    gain: Array
    ratio: Array
    by_offset: Array
    by_gain: Array
    by_ratio: Array

    def of_kitchen(self, k: int) -> "Response":
        """Return how a meter reads the oil in one kitchen alone, without the leading axis."""
        return Response(**{field.name: getattr(self, field.name)[k] for field in fields(Response)})

    def at(self, tpc_pct: float) -> Array:
        """Return the direction (K, S) of what it shows of oil of a TPC."""
        return self.by_offset + tpc_pct * self.by_gain


def response_of(belief: Belief, meter: int, oil: int) -> Response:
    """Return how a meter reads an oil; of a single meter the ratio is 1 by choice of the scale."""
    layout, shared = belief.layout, belief.shared
    unit, gamma, offset = units(layout.size), layout.gains.start + oil, layout.offsets(meter).start + oil
    by_ratio = np.zeros_like(shared)
    ratio = np.ones(len(shared))
    if layout.several:
        by_ratio, ratio = by_ratio + unit[layout.ratio(meter)], shared[:, layout.ratio(meter)]
    return Response(
        offset_pct=shared[:, offset],
        gain=ratio * shared[:, gamma],
        ratio=ratio,
        by_offset=np.broadcast_to(unit[offset], shared.shape),
        by_gain=ratio[:, None] * unit[gamma] + shared[:, gamma, None] * by_ratio,
        by_ratio=by_ratio,
    )


def beside_laboratory(belief: Belief, response: Response) -> Response:
    """Return how a meter reads beside the laboratory's results l = p (1 + u λ), z = b + g (1 - u λ) l.

    The bias λ is one in all of them, u the part of the method's relative standard uncertainty that is.
    """
    u, place = belief.known.laboratory.sd * belief.known.laboratory_common, belief.layout.laboratory
    less = 1 - u * belief.shared[:, place]
    by_gain = less[:, None] * response.by_gain
    by_gain[:, place] -= u * response.gain
    return replace(response, gain=less * response.gain, by_gain=by_gain)
