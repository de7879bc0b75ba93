"""The fryers of a kitchen that have no answer, while the others have theirs."""

from dataclasses import dataclass, replace

from kettlewell.book import Fryer, Message
from kettlewell.book import Kitchen as KitchenValue
from kettlewell.book.words import N_
from kettlewell.bridge.standing import Standing, problem_of

UNCLEAR = N_("{fryer}: what is set up and what is written down do not fit together; look at both.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Unanswered:
    """A fryer that nothing can be told of, and what it lacks."""

    fryer: str
    name: str
    reason: Message


def unanswered_in(stands: Standing) -> tuple[Unanswered, ...]:
    """Return the fryers that what stands of a whole kitchen leaves out.

    None while the kitchen itself has no answer: then ``problem`` says why.
    """
    if stands.problem:
        return ()
    answered, value = {assessment.fryer for assessment in stands.assessments}, stands.setup.kitchen
    return tuple(
        Unanswered(fryer=fryer.key, name=fryer.name, reason=lacking(value, fryer))
        for fryer in value.fryers
        if fryer.key not in answered
    )


def lacking(value: KitchenValue, fryer: Fryer) -> Message:
    """Return why a fryer has no answer: what a kitchen of it alone would lack."""
    alone = problem_of(replace(value, fryers=(fryer,)))
    return alone or Message(text=UNCLEAR, values={"fryer": fryer.name})
