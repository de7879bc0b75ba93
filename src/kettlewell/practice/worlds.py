"""Many worlds: practice kitchens of many kinds, each with one thing in it that a real kitchen has.

Choices are made on some (``Use.CHOOSE``), and what they came to is judged on others
(``Use.JUDGE``): worlds that no choice was made on, whose kitchens are drawn from a seed of their own.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType

from kettlewell.book import OilKind
from kettlewell.practice.habits import DRIFTING, Habits, Physics, Topping, Trade
from kettlewell.practice.mishaps import Mishaps
from kettlewell.practice.rota import ONE_LONG, THREE
from kettlewell.practice.watch import Upkeep

INVENTED = "invented for practice"
DAYS = 150


class Use(StrEnum):
    """Whether choices are made on a world, or judged in it."""

    CHOOSE = "choose"
    JUDGE = "judge"


SEEDS: Mapping[Use, int] = MappingProxyType({Use.CHOOSE: 11, Use.JUDGE: 20261128})


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """A kind of kitchen.

    What a cook would say of it, its ``habits``, on what their ranges ``rest``, how many ``fryers`` a
    kitchen has, how the meters are looked after. Something lies in ``broken`` worlds: a meter, a pen, a
    bottle.
    """

    says: str
    rest: str
    use: Use
    habits: Habits = field(default_factory=Habits)
    fryers: int = 4
    care: Upkeep = field(default_factory=Upkeep)
    broken: bool = False


PLAIN = Habits()
# 0.2-1.0 kg of food a service and kg of oil at 7 % of uptake: 3-14 % of the bath a day, and ageing that
# still takes it to the limit
BUSY = Physics(food_kg_per_kg=(0.2, 1.0), rate_factor=(1.0, 2.5))
SHARES = "3-14 % of the bath a day: food 0.2-1.0 kg per kg of oil and service, uptake 7 %; " + INVENTED
POURED = (Topping.BEFORE, Topping.DURING, Topping.AFTER, Topping.SUNK)


def topped(*ways: Topping) -> Habits:
    """Return plain habits but for the food, and top-ups in these ways."""
    return replace(PLAIN, toppings=ways, physics=BUSY)


WORLDS: Mapping[str, World] = MappingProxyType(
    {
        "plain": World(
            says="Lunch and dinner, and we top up a little all the time.",
            rest=INVENTED,
            use=Use.CHOOSE,
        ),
        "meter known": World(
            says="The same, and our meter is right.",
            rest=INVENTED,
            use=Use.CHOOSE,
            habits=replace(PLAIN, gain=(1.0, 1.0), offset_pct=(0.0, 0.0), offset_walk_sd_pct=0.0),
            care=Upkeep(meter_known=True),
        ),
        "topped up before": World(
            says="We fill up to the mark, and then we fry.",
            rest=SHARES,
            use=Use.CHOOSE,
            habits=topped(Topping.BEFORE),
        ),
        "topped up during": World(
            says="Halfway through we fill up to the mark.",
            rest=SHARES,
            use=Use.JUDGE,
            habits=topped(Topping.DURING),
        ),
        "topped up after": World(
            says="When the guests are gone we fill up for tomorrow.",
            rest=SHARES,
            use=Use.CHOOSE,
            habits=topped(Topping.AFTER),
        ),
        "sunk to the minimum": World(
            says="We fill up when the oil is down at the lower mark.",
            rest=SHARES + "; lower mark at 80 %, invented",
            use=Use.JUDGE,
            habits=topped(Topping.SUNK),
        ),
        "written down at night": World(
            says="Everybody fills up when he likes; it is written down once we are done.",
            rest=SHARES,
            use=Use.JUDGE,
            habits=replace(topped(*POURED), noted_late=1.0),
        ),
        "heavy turnover": World(
            says="So much goes through that the oil is half new every few days.",
            rest="0-40 % of the bath a day: food 0-2 kg per kg of oil and service; " + INVENTED,
            use=Use.CHOOSE,
            habits=replace(
                topped(*POURED), physics=Physics(food_kg_per_kg=(0.0, 2.0), rate_factor=(1.0, 5.0))
            ),
        ),
        "fresh oil by delivery": World(
            says="It is always the same oil, and never the same: fresh it shows 2, or 6.",
            rest="fresh 2.0-6.5, ± 2 from delivery to delivery, where rapeseed is 3-6; " + INVENTED,
            use=Use.CHOOSE,
            habits=replace(topped(Topping.DURING), fresh_pct=(2.0, 6.5), lot_spread_pct=2.0),
        ),
        "whatever oil is cheapest": World(
            says="We buy what is cheapest, and nobody wrote down what it is.",
            rest="fresh 2-10, ± 2 from delivery to delivery; oils and fats are 1.5-11, from memory",
            use=Use.JUDGE,
            habits=replace(
                topped(Topping.DURING), fresh_pct=(2.0, 10.0), lot_spread_pct=2.0, oil_kind=OilKind.OTHER
            ),
        ),
        "gain and intercept": World(
            says="Our meter is right somewhere in the middle, and tells too little or too much at both ends.",
            rest="gain 0.85-1.10, right at 20 % to ± 2: about y = 0.89 x + 4.0 (Osawa et al. 2012)",
            use=Use.JUDGE,
            habits=replace(PLAIN, gain=(0.85, 1.10), offset_pct=(-2.0, 2.0), right_at_pct=20.0),
        ),
        "scattering meter": World(
            says="Read twice, and it shows two things.",
            rest="repeatability 1.2; " + INVENTED,
            use=Use.CHOOSE,
            habits=replace(PLAIN, repeatability_pct=(1.2, 1.2)),
        ),
        "meters good and bad": World(
            says="One house has a good meter, the next a poor one.",
            rest="repeatability 0.4-1.2; " + INVENTED,
            use=Use.JUDGE,
            habits=replace(PLAIN, repeatability_pct=(0.4, 1.2)),
        ),
        "other physics": World(
            says="Small pans, big vats, and thermostats that one day go off.",
            rest="power 0.5-1.4, as (surface/volume)^0.5 (exponent from memory), a step of ± 10 °C; invented",
            use=Use.JUDGE,
            habits=replace(
                topped(*POURED),
                physics=replace(
                    BUSY,
                    power=(0.5, 1.4),
                    heat_up_h=(0.0, 1.0),
                    surface_power=0.5,
                    thermostat_step_c=(-10.0, 10.0),
                ),
            ),
        ),
        "seasons and closed weeks": World(
            says="Full in summer, empty in winter, and two weeks closed; that is not always written down.",
            rest="loads ± 20-60 % over the year, fourteen days closed, half of them written; " + INVENTED,
            use=Use.JUDGE,
            habits=replace(PLAIN, trade=Trade(season=(0.2, 0.6), closed_days=14, closing_written=0.5)),
        ),
        "one long service": World(
            says="One fryer, open from eleven to eight.",
            rest="nine hours hot a day; " + INVENTED,
            use=Use.JUDGE,
            habits=replace(topped(*POURED), trade=Trade(rota=ONE_LONG), physics=Physics()),
            fryers=1,
        ),
        "twelve fryers": World(
            says="A canteen: twelve fryers, breakfast, lunch and dinner.",
            rest="six hours hot a day; " + INVENTED,
            use=Use.JUDGE,
            habits=replace(
                topped(*POURED), trade=Trade(rota=THREE), physics=replace(BUSY, rate_factor=(1, 1))
            ),
            fryers=12,
        ),
        "two oils, checked and sampled": World(
            says="Two oils, a check every four weeks and a sample a quarter.",
            rest=INVENTED,
            use=Use.CHOOSE,
            habits=DRIFTING,
            care=Upkeep(check_days=28, laboratory_days=91),
        ),
        "control oil of the house": World(
            says="We bottle what the laboratory has valued, and read it hot at each check.",
            rest="a check every four weeks, a sample a quarter, the first as soon as a bath is high; "
            + INVENTED,
            use=Use.CHOOSE,
            care=Upkeep(check_days=28, laboratory_days=91, first_by_worth=True, control=True),
        ),
        "control oils in turn": World(
            says="Two oils: four bottles go to the laboratory early in the year, of both in turns.",
            rest="a check every four weeks, four samples a year, twelve days apart; " + INVENTED,
            use=Use.JUDGE,
            habits=DRIFTING,
            care=Upkeep(check_days=28, laboratory_days=12, most_samples=4, first_by_worth=True, control=True),
        ),
        "loads a hundredfold": World(
            says="Now and then somebody writes 1,500 for 15.00.",
            rest="0.4 % of loads; " + INVENTED,
            use=Use.CHOOSE,
            habits=replace(PLAIN, mishaps=Mishaps(load_slip=0.004)),
            broken=True,
        ),
        "65 for 6.5": World(
            says="The point goes missing when somebody is in a hurry.",
            rest="2 % of readings below 10; " + INVENTED,
            use=Use.JUDGE,
            habits=replace(PLAIN, mishaps=Mishaps(reading_slip=0.02)),
            broken=True,
        ),
        "copied readings": World(
            says="When there is no time yesterday's figure is written again.",
            rest="0-40 % of readings; " + INVENTED,
            use=Use.JUDGE,
            habits=replace(PLAIN, mishaps=Mishaps(copied=(0.0, 0.4))),
            broken=True,
        ),
        "stuck meter": World(
            says="For twelve days it showed the same, whatever was in the fryer.",
            rest="once in 150 days; " + INVENTED,
            use=Use.CHOOSE,
            habits=replace(PLAIN, mishaps=Mishaps(stuck_days=12)),
            broken=True,
        ),
        "swapped bottles": World(
            says="The laboratory's bottles get mixed up.",
            rest="every fifth result is of another fryer; " + INVENTED,
            use=Use.JUDGE,
            habits=replace(DRIFTING, mishaps=Mishaps(swapped=0.2)),
            care=Upkeep(check_days=28, laboratory_days=46),
            broken=True,
        ),
        "laboratories of all kinds": World(
            says="The laboratory is what it is: always the same one, and nobody knows how good.",
            rest="bias 3.6 % between laboratories, 8 in 35 at 17.2 % (Kaufmann), the same for all samples",
            use=Use.JUDGE,
            habits=replace(DRIFTING, mishaps=Mishaps(laboratory_cv=0.036, outlying=8 / 35)),
            care=Upkeep(check_days=28, laboratory_days=91),
            broken=True,
        ),
        "wet pairs": World(
            says="There is water in the oil, and the second reading is as wet as the first.",
            rest="3 % of occasions, 1.5 to 8 points each; " + INVENTED,
            use=Use.CHOOSE,
            habits=replace(PLAIN, mishaps=Mishaps(wet_pair=0.03)),
            broken=True,
        ),
        "as life is": World(
            says="A little of everything.",
            rest=INVENTED,
            use=Use.JUDGE,
            habits=replace(
                topped(*POURED),
                gain=(0.85, 1.10),
                right_at_pct=20.0,
                fresh_pct=(2.0, 6.5),
                lot_spread_pct=1.0,
                repeatability_pct=(0.4, 0.9),
                noted_late=0.5,
                trade=Trade(season=(0.0, 0.4), closed_days=7, closing_written=0.5),
                mishaps=Mishaps(load_slip=0.001, reading_slip=0.002, copied=(0.0, 0.1), wet_pair=0.01),
            ),
            broken=True,
        ),
    }
)
