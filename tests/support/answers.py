"""Answers made by hand."""

from kettlewell.core import Answer
from kettlewell.core.outlook.values import Assessment, Unanswered


def answer_of(*told: Assessment | Unanswered) -> Answer:
    """Return the answer that tells these, in their order."""
    return Answer(
        assessments=tuple(each for each in told if isinstance(each, Assessment)),
        unanswered=tuple(each for each in told if isinstance(each, Unanswered)),
    )
