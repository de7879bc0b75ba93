"""What is known of several baths."""

from collections.abc import Sequence
from dataclasses import fields

import numpy as np

from kettlewell.core.decision import Evidence
from kettlewell.core.outlook.outlook import Outlook


def evidence_on(outlooks: Sequence[Outlook]) -> Evidence:
    """Return what is known of B baths, every field (B,)."""
    return Evidence(
        **{
            field.name: np.array([getattr(outlook.evidence, field.name) for outlook in outlooks])
            for field in fields(Evidence)
        }
    )
