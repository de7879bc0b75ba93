"""A control oil of the house: used oil near the limit, valued once by the laboratory, and read hot.

It shows what a meter reads of such oil itself, z = b + r G v, where reference oil tells of its
electronics alone: so it ties the gain at the limit for as long as it is read.
"""

from dataclasses import dataclass, replace

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.core.belief.joint import Belief, select
from kettlewell.core.belief.meters import damping, marginalised
from kettlewell.core.belief.response import response_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """A control oil: the place of the ``oil`` that it is, its values and their uncertainties (K,)."""

    oil: int
    tpc_pct: Array
    u_pct: Array


def assimilate_control(
    belief: Belief, meter: int, control: Control, *, deviation_pct: Array, var: Array
) -> Belief:
    """Return the belief after a meter was read in a control oil (K,; nan where not).

    ``deviation_pct`` is what it showed beside the value, ``var`` the variance of that beside the value's
    own. The value is off by the laboratory's bias and by an error of its own, the same in every check. A
    deviation that surprises counts as one in reference oil does.
    """
    response, layout = response_of(belief, meter, control.oil), belief.layout
    direction = response.by_offset + control.tpc_pct[:, None] * response.by_gain
    seen = ~np.isnan(deviation_pct)
    value_u, off = response.gain * control.u_pct, np.zeros_like(direction)
    off[:, layout.laboratory] = -belief.known.laboratory_common * value_u
    off[:, layout.control] = -belief.known.laboratory_own * value_u
    expected = response.offset_pct + response.gain * control.tpc_pct + np.vecdot(off, belief.shared)
    innovation = np.where(seen, control.tpc_pct + deviation_pct - expected, 0.0)
    direction += off
    crossed = np.matvec(belief.shared_cov, direction)
    spread = np.vecdot(crossed, direction) + var
    weight = seen * damping(innovation / np.sqrt(spread), belief.known.check_surprise_sds.value) / spread
    return replace(
        belief,
        shared=belief.shared + crossed * (weight * innovation)[:, None],
        shared_cov=belief.shared_cov - weight[:, None, None] * crossed[:, :, None] * crossed[:, None, :],
    )


def with_another_control(belief: Belief, where: Mask) -> Belief:
    """Return the belief once another control oil came into use in the kitchens ``where`` (K,)."""
    place = belief.layout.control
    rest = marginalised(belief, place)
    shared, shared_cov = rest.shared.copy(), rest.shared_cov.copy()
    shared[:, place] = shared_cov[:, place, :] = shared_cov[:, :, place] = 0.0
    shared_cov[:, place, place] = 1.0
    return select(where, replace(rest, shared=shared, shared_cov=shared_cov), belief)
