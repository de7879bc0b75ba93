"""States told apart to the last bit, and walks with all their moments."""

from dataclasses import fields, is_dataclass

import numpy as np

from kettlewell.core.belief.meters import NoiseLog
from kettlewell.core.belief.smoother import Tracer
from kettlewell.core.belief.walk import walk_to


def same(one, other):
    """Return whether two values are equal to the last bit, whatever arrays they hold; nan equals nan."""
    return not differences(one, other)


def differences(one, other, path=""):
    """Return where two values differ, as the paths of what is not equal."""
    if is_dataclass(one) and type(one) is type(other):
        own = [field.name for field in fields(one)]
        return [
            d for name in own for d in differences(getattr(one, name), getattr(other, name), f"{path}.{name}")
        ]
    if isinstance(one, np.ndarray):
        alike = np.array_equal(one, other, equal_nan=one.dtype.kind == "f")
        return [] if alike else [path]
    if isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        pairs = enumerate(zip(one, other, strict=True))
        return [d for n, (a, b) in pairs for d in differences(a, b, f"{path}[{n}]")]
    return [] if one == other else [path]


def traced(settings, entries, *, now):
    """Return what was walked up to a time, with its moments and the process noise of the meters."""
    tracer = Tracer(NoiseLog())
    return walk_to(settings, entries, now=now, fold=tracer.fold), tracer
