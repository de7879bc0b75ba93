"""Oil of another delivery: its fresh value is another, and may be stated by a certificate."""

from dataclasses import replace

import numpy as np

from kettlewell.core.arrays import Array
from kettlewell.core.belief.joint import Belief
from kettlewell.core.belief.layout import units
from kettlewell.core.belief.meters import add_process_noise


def delivered(belief: Belief, oil: int, lot_var: Array, stated_pct: Array) -> Belief:
    """Return the belief once a delivery of an oil is used, whose deliveries differ by ``lot_var`` (K,).

    Fresh values wander from delivery to delivery; what was learnt of the last one is the best guess of
    the next. The certificate's value (K,; nan where none) is taken in as 0 = y0 - p0 G + noise.
    """
    layout, eye = belief.layout, units(belief.layout.size)
    y0, gain = eye[layout.fresh.start + oil], eye[layout.gains.start + oil]
    belief = add_process_noise(belief, y0, lot_var)
    direction = y0 - np.nan_to_num(stated_pct)[:, None] * gain
    var = (belief.known.fresh_stated.sd * (belief.shared @ gain)) ** 2
    crossed = np.matvec(belief.shared_cov, direction)
    weight = ~np.isnan(stated_pct) / (np.vecdot(crossed, direction) + var)
    return replace(
        belief,
        shared=belief.shared - crossed * (weight * np.vecdot(direction, belief.shared))[:, None],
        shared_cov=belief.shared_cov - weight[:, None, None] * crossed[:, :, None] * crossed[:, None, :],
    )
