"""States told apart to the last bit, and walks with all their moments."""

from dataclasses import fields, is_dataclass
from datetime import datetime, timedelta

import numpy as np
import pytest

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
        return [found for n, (a, b) in pairs for found in differences(a, b, f"{path}[{n}]")]
    return [] if one == other else [path]


def assert_alike(one, other, *, rel=1e-9, path=""):
    """Assert that two answers say the same: numbers but for rounding, all else exactly."""
    if is_dataclass(one) and type(one) is type(other):
        for field in fields(one):
            name = field.name
            assert_alike(getattr(one, name), getattr(other, name), rel=rel, path=f"{path}.{name}")
    elif isinstance(one, float) and isinstance(other, float):
        assert other == pytest.approx(one, rel=rel, abs=rel, nan_ok=True), path
    elif isinstance(one, datetime) and isinstance(other, datetime):
        assert abs(one - other) < timedelta(seconds=1), path
    elif isinstance(one, tuple) and isinstance(other, tuple):
        assert len(one) == len(other), path
        for n, (a, b) in enumerate(zip(one, other, strict=True)):
            assert_alike(a, b, rel=rel, path=f"{path}[{n}]")
    else:
        assert one == other, path


def traced(settings, entries, *, now):
    """Return what was walked up to a time, with its moments and the process noise of the meters."""
    tracer = Tracer(None)
    return walk_to(settings, entries, now=now, fold=tracer.fold), tracer
