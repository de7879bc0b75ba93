"""Settings that a kitchen might change, as functions from its settings to others; for property tests."""

from dataclasses import replace
from datetime import time

from hypothesis import strategies as st

from kettlewell.book import FoodKind, Fryer, Meter, Oil, OilKind, Product, ReferenceLot, Service

EVERY_DAY = tuple(range(7))
THIRD = Fryer(key="three", name="Three", oil="palm", oil_mass_kg=12, fries=("fish",), usual_load_kg=6)
PALM = Oil(key="palm", name="Palm olein", kind=OilKind.PALM_OLEIN)
FISH = Product(key="fish", name="Battered fish", kind=FoodKind.BATTERED_FISH)
BOUGHT = Meter(
    key="bought",
    name="Bought meter",
    resolution_pct=0.1,
    largest_error_pct=2.0,
    min_oil_temp_c=40.0,
    max_oil_temp_c=200.0,
)
BOTTLE = ReferenceLot(key="R3", name="Third bottle", tpc_pct=15.0, expanded_u_pct=0.5, read_at_c=50.0)
BREAKFAST = Service(name="Breakfast", weekdays=EVERY_DAY, begins=time(7), ends=time(9))
SHORT_LUNCH = Service(name="Lunch", weekdays=EVERY_DAY, begins=time(11), ends=time(12, 30))
LATE_DINNER = Service(name="Dinner", weekdays=EVERY_DAY, begins=time(18), ends=time(21))


def with_things(kitchen, table, *things):
    """Return a kitchen with things in a table, each in the place of its namesake."""
    new = {thing.key: thing for thing in things}
    old = [new.pop(thing.key, thing) for thing in getattr(kitchen, table)]
    return replace(kitchen, **{table: (*old, *new.values())})


def without(kitchen, table, key):
    """Return a kitchen without a thing, and without a fryer in its services either."""
    kept = tuple(thing for thing in getattr(kitchen, table) if thing.key != key)
    services = [
        replace(service, fryers=tuple(fryer for fryer in service.fryers if fryer != key))
        for service in kitchen.services
        if table != "fryers" or service.fryers != (key,)
    ]
    return replace(kitchen, **{table: kept, "services": tuple(services)})


def of_things(table, **fields):
    """Return a change of a field of the things in a table, or of those whose key is given."""

    def change(kitchen):
        return with_things(kitchen, table, *(replace(thing, **fields) for thing in getattr(kitchen, table)))

    return change


def of_first(table, **fields):
    """Return a change of a field of the first thing in a table."""
    return lambda kitchen: with_things(kitchen, table, replace(getattr(kitchen, table)[0], **fields))


def of_last(table, **fields):
    """Return a change of a field of the last thing in a table."""
    return lambda kitchen: with_things(kitchen, table, replace(getattr(kitchen, table)[-1], **fields))


def adding(table, *things):
    """Return a change that adds things."""
    return lambda kitchen: with_things(kitchen, table, *things)


def adding_third(kitchen):
    """Add a fryer with its oil and its food."""
    whole = with_things(with_things(kitchen, "oils", PALM), "products", FISH)
    return with_things(whole, "fryers", THIRD)


def serving(*services):
    """Return a change to these services."""
    return lambda kitchen: replace(kitchen, services=services)


def with_breakfast(kitchen):
    """Add a service in the morning."""
    rest = tuple(service for service in kitchen.services if service.name != BREAKFAST.name)
    return replace(kitchen, services=(BREAKFAST, *rest))


CHANGES = {
    "hotter": of_first("fryers", set_temp_c=185.0),
    "cooler": of_last("fryers", set_temp_c=160.0),
    "standby": of_first("fryers", standby_temp_c=140.0),
    "no standby": of_things("fryers", standby_temp_c=None),
    "standby above what it is set to": of_last("fryers", standby_temp_c=190.0),
    "a larger bath": of_first("fryers", oil_mass_kg=30.0),
    "a smaller bath": of_last("fryers", oil_mass_kg=5.0),
    "a larger load": of_first("fryers", usual_load_kg=35.0),
    "an unstated load": of_first("fryers", usual_load_kg=None),
    "a stated load": of_last("fryers", usual_load_kg=3.0),
    "other food": lambda kitchen: of_first("fryers", fries=("fish",))(adding("products", FISH)(kitchen)),
    "no food named": of_first("fryers", fries=()),
    "fries that wear more": of_first("products", wear_factor=1.6, uptake_kg_per_kg=0.12),
    "breakfast too": with_breakfast,
    "lunch only": lambda kitchen: replace(kitchen, services=kitchen.services[:1]),
    "other hours": serving(SHORT_LUNCH, LATE_DINNER),
    "no lunch": serving(LATE_DINNER),
    "fresher oil": of_first("oils", fresh_tpc_pct=2.5),
    "oil that comes older": of_last("oils", fresh_tpc_pct=7.0),
    "oil of another kind": of_first("oils", kind=OilKind.PALM_OLEIN),
    "meant for another oil": lambda kitchen: of_first("fryers", oil="palm")(adding("oils", PALM)(kitchen)),
    "an oil more": adding("oils", PALM),
    "a product more": adding("products", FISH),
    "a meter more": adding("meters", BOUGHT),
    "a worse meter": of_first("meters", largest_error_pct=4.0, resolution_pct=1.0),
    "a bottle more": adding("reference_lots", BOTTLE),
    "a fryer more": adding_third,
    "a fryer less": lambda kitchen: without(kitchen, "fryers", kitchen.fryers[-1].key),
    "a meter less": lambda kitchen: replace(kitchen, meters=kitchen.meters[1:]),
    "oils in another order": lambda kitchen: replace(kitchen, oils=kitchen.oils[::-1]),
    "fryers in another order": lambda kitchen: replace(kitchen, fryers=kitchen.fryers[::-1]),
}


def changed(kitchen, names):
    """Return a kitchen after the changes of these names; the last fryer stays."""
    for name in names:
        if name != "a fryer less" or len(kitchen.fryers) > 1:
            kitchen = CHANGES[name](kitchen)
    return kitchen


names = st.lists(st.sampled_from(sorted(CHANGES)), min_size=1, max_size=3)
