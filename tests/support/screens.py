"""Every screen of the program: each address of its own table, and each face that an address has."""

from dataclasses import dataclass

from addresses import addresses
from django.urls import reverse

from kettlewell.web.reading.acts import TITLES
from kettlewell.web.setup.first import STEPS
from kettlewell.web.setup.views import ADDED

OWNER, INSPECTOR, AREA, NOBODY = "owner", "inspector", "area", ""
ON_A_TABLET = "sign"
AFTER_PASSWORD = "code"
# an owner of one kitchen is led on from here
SEEN_BY = {"kitchens": AREA, "sign-in": NOBODY}
# these have no page: they take forms that stand on others
FORMS_ALONE = {"sign-out", "language", "person-remove", "tablet", "tablet-retire", "meter-order", "adopt"}
# these lead on to another page: to what is due, and to a row of it
LEADS_ON = {"round", "round-reading", "round-acts"}
# a word for programs that watch, sheets to be printed, a photo
NO_SCREENS = {
    *("health", "inspection-book", "inspection-month", "blank", "labels", "receipt"),
    *("pocket", "fryer-pocket", "teaching", "feed"),
}
# how old the oil is is not asked where it is told: tests/e2e/test_setup.py sees that step
TOLD = {"age"}
# sent empty, these say what is wrong
ASKING = (
    *("reading-at", "act", "settle", "backlog", "meter-check", "relied"),
    *("correct", "undo", "recall", "training", "thing-new", "person-new", "set-up", "tables"),
)


@dataclass(frozen=True)
class Screen:
    """A page: its address by name, where it is, who asks for it, and with what status it comes."""

    name: str
    path: str
    who: str = OWNER
    status: int = 200


def screens(ids):
    """Return every page that can be asked for: with the ids of a kitchen, and of its things by sort."""

    def face(name, query="", **more):
        address = next(one for one in addresses() if one.name == name)
        return Screen(name, address.at({**ids, **more}) + query)

    plain = [
        Screen(one.name, one.at(ids), SEEN_BY.get(one.name, OWNER))
        for one in addresses()
        if one.name not in {ON_A_TABLET, AFTER_PASSWORD, *NO_SCREENS, *FORMS_ALONE, *LEADS_ON}
    ]
    return [
        *plain,
        *(face("act", kind=kind) for kind in TITLES),
        face("act", "?care=boil-out", kind="care"),
        *(face("thing-new", thing=thing) for thing in ADDED),
        *(face("thing", thing=thing, key=key) for thing, key in ids["things"].items()),
        *(face("set-up", f"?kitchen={ids['slug']}&step={step}") for step in STEPS if step not in TOLD),
        face("reading-at", "?without"),
        face("what-if", "?set_temp_c=180&load_kg=20"),
        face("what-if", "?set_temp_c=900"),
        face("meter-check", "?meter=hand&lot=bottle&adjusted=yes"),
        face("compare", "?meter=hand&against=hand"),
        face("book", "?kind=return"),
        face("entry", reading=ids["check"]),
        face("correct", reading=ids["check"]),
        face("entry", reading=ids["verdict"]),
        face("entry", reading=ids["call"]),
        face("entry", reading=ids["setting"]),
        Screen("people", reverse("people", args=(ids["slug"],)), INSPECTOR, 403),
        Screen("line", "/k/nothing-here/", OWNER, 404),
    ]
