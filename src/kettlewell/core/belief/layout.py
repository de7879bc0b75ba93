"""Where the values that a kitchen's baths share stand in one vector."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from kettlewell.core.arrays import Array, Index

MEAN_RATE = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Where the S shared values of a kitchen with O oils and M meters stand.

    First the mean rate; then by oil its response G and its fresh value y0; then the offsets by
    meter and oil; then the bias of the laboratory, in standard deviations, and where there is a control
    oil (``controlled``) the error of its value likewise. Where meters are
    ``checked``, or there are several: what the meter adjusted last read too much in reference oil
    ``before`` that, and what each now reads too much in the reference oil in use. Where there are
    several: the ratio r of each to the scale, which is the mean of the ``scale_meters`` that the
    belief began with.
    """

    oils: int
    meters: int = 1
    checked: bool = False
    controlled: bool = False
    scale_meters: int = 1

    @property
    def gains(self) -> slice:
        """The responses G by oil: the level in the reference scale for each point of TPC."""
        return slice(1, 1 + self.oils)

    @property
    def fresh(self) -> slice:
        """The fresh values y0 by oil."""
        return slice(1 + self.oils, 1 + 2 * self.oils)

    def offsets(self, meter: int) -> slice:
        """Return the places of a meter's offsets, by oil."""
        start = 1 + (2 + meter) * self.oils
        return slice(start, start + self.oils)

    @property
    def laboratory(self) -> int:
        """What all results of the kitchen's laboratory have in common, in its own standard deviations."""
        return 1 + (2 + self.meters) * self.oils

    @property
    def before(self) -> int:
        """What the meter that was adjusted last read too much in reference oil before."""
        return self.laboratory + 1 + self.controlled

    @property
    def control(self) -> int:
        """The error of the control oil's own value beside the laboratory's bias, in standard deviations."""
        return self.laboratory + 1

    def found(self, meter: int) -> int:
        """Return the place of what a meter reads too much in the reference oil in use."""
        return self.before + 1 + meter

    @property
    def several(self) -> bool:
        """Whether there are several meters, so that each has a ratio to the scale."""
        return self.meters > 1

    def ratio(self, meter: int) -> int:
        """Return the place of a meter's ratio to the scale."""
        return self.before + self.checked * (1 + self.meters) + meter

    @property
    def size(self) -> int:
        """How many shared values there are."""
        return self.ratio(self.several * self.meters)

    def electronics(self, meter: int) -> Array:
        """Return the direction (S,) in which a meter's electronics move what it reads."""
        direction = self.reference(meter)
        direction[self.offsets(meter)] = 1.0
        return direction

    def reference(self, meter: int) -> Array:
        """Return the direction (S,) of what a meter reads too much in reference oil."""
        direction = np.zeros(self.size)
        if self.checked:
            direction[self.found(meter)] = 1.0
        return direction

    def places_in(self, wider: "Layout") -> Index:
        """Return where each of these S values stands in a layout with more oils, meters or checks."""
        oils, places = np.arange(self.oils), [np.array([MEAN_RATE])]
        places += [wider.gains.start + oils, wider.fresh.start + oils]
        places += [wider.offsets(meter).start + oils for meter in range(self.meters)]
        places.append(np.array([wider.laboratory]))
        if self.controlled:
            places.append(np.array([wider.control]))
        if self.checked:
            places.append(np.array([wider.before, *(wider.found(meter) for meter in range(self.meters))]))
        if self.several:
            places.append(np.array([wider.ratio(meter) for meter in range(self.meters)]))
        return np.concatenate(places)


def pick(start: int, oil: Index, layout: Layout) -> Array:
    """Return the directions (K, F, S) of the value for each bath's ``oil`` among those from ``start`` on."""
    return units(layout.size)[:, start + oil].transpose(1, 2, 0)  # laid out as component_first


@lru_cache(maxsize=64)
def units(size: int) -> Array:
    """Return the unit matrix (S, S), made once."""
    return np.eye(size)


def component_first(*shape: int) -> Array:
    """Return zeros of a shape (K, F, …) laid out with kitchens and fryers innermost in memory.

    Arithmetic on the small trailing axes then runs over long contiguous stretches.
    """
    return np.zeros((*shape[2:], *shape[:2])).transpose(
        len(shape) - 2, len(shape) - 1, *range(len(shape) - 2)
    )
