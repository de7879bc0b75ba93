"""The sheet to teach from: a sound reading and the cautions, in pictures that stand on the screens too."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from kettlewell.core.outlook.values import Caution
from kettlewell.pages.blocks import Block, Facts, Heading, Step, Steps, Text
from kettlewell.telling import Reader
from kettlewell.telling.cautions import caution_message
from kettlewell.web.entry.paper import drawn


def training_sheet(reader: Reader) -> Iterator[Block]:
    """Yield the sheet, the cautions first."""
    yield Heading(text=_("Hot oil: know this first"), follows=True)
    yield Text(
        text=_("Hot oil burns: dry gloves, dry probe. Switch it off before you drain it."), weight="framed"
    )
    yield Steps(steps=list(cautions(reader)), columns=2)
    yield Heading(text=_("A reading you can trust"), level=2)
    yield Steps(steps=list(conditions()), columns=3, numbered=True)
    yield Heading(text=_("What to do when …"), level=2)
    yield Facts(rows=list(answers()))
    yield Text(
        text=_("Follow the meter's instructions. Your local rules and the person in charge decide."),
        weight="strong",
    )
    yield Text(
        text=_(
            "Draining: UK HSE. Burns: ANZCOR guideline 9.1.3. Smoke and wet food: fire services. "
            "Class K: OSHA. Potatoes: Regulation (EU) 2017/2158. All else is common practice, "
            "without a source."
        ),
        weight="small",
    )


def cautions(reader: Reader) -> Iterator[Step]:
    """Yield the cautions of everybody who stands at a fryer, in the words they have everywhere."""
    for picture, alt, caution in (
        ("fire", _("Flames on the oil of a bath"), Caution.FIRE),
        ("tap", _("A hand under a running tap"), Caution.BURNS),
        ("smoke", _("Smoke rising from a bath"), Caution.SMOKE),
        ("wet_food", _("A basket with drops of water, crossed out"), Caution.WET_FOOD),
        ("drain", _("Oil running from a bath into a vessel"), Caution.DRAIN_BY_HAND),
        ("food", _("Fries"), Caution.POTATOES),
    ):
        yield Step(svg=drawn(picture), alt=alt, text=reader.tell(caution_message(caution)))


def conditions() -> Iterator[Step]:
    """Yield what makes a reading sound, in the order in which it is done."""
    for picture, alt, text in (
        (
            "hot_oil",
            _("A thermometer in the oil"),
            _("The oil as hot as the meter's instructions say."),
        ),
        (
            "no_food",
            _("Food in the bath, crossed out"),
            _("No food in the bath, crumbs taken off."),
        ),
        ("no_bubbles", _("Bubbles in the bath, crossed out"), _("Wait until no bubbles rise.")),
        (
            "probe_clear",
            _("A probe in the oil, clear of both walls"),
            _("Probe dry, as deep as its instructions say, 1 cm or more from metal."),
        ),
        ("circles", _("A probe that moves in a circle"), _("Move it slowly in small circles.")),
        ("steady", _("A number that settles"), _("Wait until the number is steady.")),
        ("written", _("A pencil on a list"), _("Write it down at once: fryer, time, %, °C.")),
        (
            "clean_probe",
            _("A cloth round a clean probe"),
            _("Wipe the probe while it is still hot: dry cloth, gloves on, no scourer."),
        ),
        (
            "twice",
            _("One reading after another"),
            _("An odd number? Measure again. Odd again: call the chef."),
        ),
    ):
        yield Step(svg=drawn(picture), alt=alt, text=text)


def answers() -> Iterator[tuple[str, str]]:
    """Yield what may come up, and what to do then."""
    yield _("The oil smells, smokes or foams"), _("Do not fry in it, whatever the number. Call the chef.")
    yield _("It has to be changed"), _("Switch it off. Call someone who is trained to drain it.")
    yield _("There is no meter"), _("Smell the oil and look at it. Tell the chef.")
    yield _("You forgot something"), _("Write it down late, with the time it happened.")
    yield _("You do not know"), _("Say “I don't know”. It is always an answer.")
