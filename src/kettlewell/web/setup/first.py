"""The guided first start: a few steps, each stored when it is sent, to the first verdict."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib.auth import login
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from kettlewell import clock
from kettlewell.bridge.founded import oil_age_told
from kettlewell.bridge.founding import RefusedOwnerError, first_kitchen_found, kitchen_found
from kettlewell.bridge.settings import RefusedChangeError, settings_change
from kettlewell.records.access import MAY, Act, seats_of
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Kitchen, Person, Role
from kettlewell.records.roster import is_anybody_there
from kettlewell.records.settings import Things, settings_of
from kettlewell.web.account.known import known_keep
from kettlewell.web.account.tablets import password_needed, session_bind
from kettlewell.web.account.throttle import guessed_wrong, may_guess
from kettlewell.web.common import Visit, in_kitchen, reader_of
from kettlewell.web.refusals import refuse
from kettlewell.web.setup.ages import age_forms, titled
from kettlewell.web.setup.base_forms import ThingForm
from kettlewell.web.setup.facts import initial_of
from kettlewell.web.setup.forms import FORMS, ServiceForm, WantedServiceForm
from kettlewell.web.setup.known import DAYS, defaults_shown, guess, limits_beside
from kettlewell.web.setup.missing import another_url, still_missing
from kettlewell.web.setup.place_forms import HousePlaceForm, KitchenForm, YouForm

BACKEND = "django.contrib.auth.backends.ModelBackend"
STEPS = {
    "place": gettext_lazy("The kitchen"),
    "oil": gettext_lazy("Oil and food"),
    "fryer": gettext_lazy("The first fryer"),
    "meter": gettext_lazy("The meter"),
    "services": gettext_lazy("When you fry"),
    "age": gettext_lazy("The oil in it now"),
}
NEEDED = {"oil": "oils", "fryer": "fryers", "services": "services"}
EVERY_DAY = [key for key, _label in DAYS]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One thing a step asks for; no key: it is new."""

    thing: str
    form: ThingForm
    title: Any = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """A service as many kitchens have it: when it begins and ends; empty for one of one's own."""

    key: str
    name: Any
    hours: tuple[str, str]


# common practice, no source: said so beside the fields
SERVICES = (
    Suggestion(key="lunch", name=gettext_lazy("Lunch"), hours=("11:30", "14:30")),
    Suggestion(key="dinner", name=gettext_lazy("Dinner"), hours=("17:30", "21:00")),
    Suggestion(key="other", name=gettext_lazy("Another service"), hours=("", "")),
)


@require_http_methods(["GET", "HEAD", "POST"])
def set_up(request: HttpRequest) -> HttpResponse:
    """Lead through the first start, or through that of a further kitchen, and on from where it stopped."""
    password_needed(request)
    slug = request.GET.get("kitchen")
    if slug is not None:
        if slug != slugify(slug):
            raise Http404
        return step_view(request, slug)
    if isinstance(request.user, Person):
        own = founded_by(request)
        unfinished = next((kitchen for kitchen in own if next_step(settings_of(kitchen))), None)
        if unfinished is not None and not request.htmx:  # type: ignore[attr-defined]  # django-htmx sets it
            return redirect(step_url(unfinished, next_step(settings_of(unfinished))))
    elif is_anybody_there():
        return redirect("sign-in")
    return founding(request)


def founded_by(request: HttpRequest) -> list[Kitchen]:
    """Return the kitchens someone sets up; raises PermissionDenied for who sets up none."""
    assert isinstance(request.user, Person)  # noqa: S101 - tells mypy
    seats = seats_of(request.user, clock.now())
    own = [seat.kitchen for seat in seats if Act.SET_UP in MAY[Role(seat.role)]]
    if not own:
        raise PermissionDenied
    return own


def founding(request: HttpRequest) -> HttpResponse:
    """Ask for the kitchen, at the very first start for its owner too; then both are there."""
    reader = reader_of("UTC", clock.now())
    if request.htmx:  # type: ignore[attr-defined]  # django-htmx sets it
        return limits_part(request)
    first = not isinstance(request.user, Person)
    if request.method != "POST":
        place, you = asking(guess(request), {})
    elif "show" in request.POST:
        place, you = asking(request.POST.dict(), request.POST.dict())
    else:
        place = HousePlaceForm(request.POST, things={})
        you = YouForm(request.POST, prefix="you")
        kitchen = founded(request, place, you if first else None)
        if kitchen is not None:
            response = redirect(step_url(kitchen, "oil"))
            known_keep(request, response, request.user.get_username())
            return response
    chosen = str(place["jurisdiction"].value() or "")
    context = {
        "place": place,
        "you": you if first else None,
        **limits_beside(chosen, reader),
        **steps_context("place"),
    }
    return render(request, "web/setup/found.html", context)


def asking(place: Mapping[str, Any], you: Mapping[str, Any]) -> tuple[HousePlaceForm, YouForm]:
    """Return the two forms of the first step, not sent yet."""
    typed = {name: you.get(f"you-{name}", "") for name in YouForm.base_fields}
    return HousePlaceForm(initial=place, things={}), YouForm(initial=typed, prefix="you")


def founded(request: HttpRequest, place: HousePlaceForm, you: YouForm | None) -> Kitchen | None:
    """Return the new kitchen, its owner signed in; None where a form now says what is wrong."""
    if not all([place.is_valid(), you is None or (you.is_valid() and may_guess(request))]):
        return None
    now = clock.now()
    try:
        if you is None:
            assert isinstance(request.user, Person)  # noqa: S101 - tells mypy
            return kitchen_found(place.founding(), Hand(person=request.user, now=now))
        kitchen, person = first_kitchen_found(place.founding(), you.owner(), now)
    except ValidationError as error:
        refuse(you if you is not None and isinstance(error, RefusedOwnerError) else place, error)
        if you is not None and you.has_error("code"):
            guessed_wrong(request)
        return None
    login(request, person, backend=BACKEND)
    session_bind(request, by_pin=False)
    return kitchen


@in_kitchen(Act.SET_UP)
def step_view(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Ask one step of a kitchen that is there, and lead to the next."""
    things = settings_of(visit.kitchen)
    step = request.GET.get("step") or next_step(things)
    if not step:
        return finished(request, visit, things)
    if step not in STEPS or (step != "place" and lacking_before(step, things)):
        raise Http404
    if step == "age":
        return age_step(request, visit, things)
    asked = request.POST if request.method == "POST" else None
    parts = PARTS[step](things, asked)
    skipped = asked is not None and "skip" in asked and step == "meter"
    if skipped or (asked is not None and "show" not in asked and step_saved(parts, visit)):
        return redirect(step_url(visit.kitchen, after(step)))
    return render(request, "web/setup/step.html", step_context(step, parts, visit))


def age_step(request: HttpRequest, visit: Visit, things: Things) -> HttpResponse:
    """Ask how old the oil is, the last step: an entry of the day book, where it is known."""
    asked = request.POST if request.method == "POST" else None
    by_fryer = age_forms(visit.kitchen, things, asked)
    whole = asked is not None and all([form.is_valid() for form in by_fryer.values()])  # noqa: C419 - each says what is wrong
    if whole:
        told = {key: form.days_ago() for key, form in by_fryer.items()}
        oil_age_told(visit.kitchen, {key: days for key, days in told.items() if days is not None}, visit.hand)
    if whole or not by_fryer:
        return redirect(reverse("set-up") + own(visit))
    context = {
        "ages": titled(by_fryer, things),
        "back": step_url(visit.kitchen, before("age")),
        **steps_context("age"),
    }
    return render(request, "web/setup/age.html", context)


def finished(request: HttpRequest, visit: Visit, things: Things) -> HttpResponse:
    """Say that the kitchen is set up, what is still missing, and lead to the first reading."""
    first = next(iter(things["fryers"]))
    at_fryer = reverse("reading-at", args=(visit.kitchen.slug, first))
    context = {
        "name": things["kitchen"][""]["name"],
        "missing": still_missing(things, visit),
        "metered": bool(things.get("meters")),
        "first": at_fryer if things.get("meters") else f"{at_fryer}?without",
        "another": another_url(visit, first),
    }
    return render(request, "web/setup/finished.html", context)


def own(visit: Visit) -> str:
    """Return the query that names the kitchen alone."""
    return "?" + urlencode({"kitchen": visit.kitchen.slug})


def step_saved(parts: list[Part], visit: Visit) -> bool:
    """Write what the forms of a step say, all or none; tell whether it stands."""
    if not all([part.form.is_valid() for part in parts]):  # noqa: C419 - each form is to say what is wrong
        return False
    wanted = [part for part in parts if part.form.cleaned_data.get("wanted", True)]
    if not wanted:
        parts[0].form.add_error(None, _("Say at least once when you fry."))
        return False
    try:
        settings_change(visit.kitchen, [part.form.change() for part in wanted], visit.hand)
    except RefusedChangeError as error:
        refuse(wanted[error.number].form, error)
        return False
    return True


def step_context(step: str, parts: list[Part], visit: Visit) -> dict[str, Any]:
    """Return what the page of a step shows."""
    chosen = str(parts[0].form["jurisdiction"].value() or "") if step == "place" else ""
    previous = before(step)
    return {
        "parts": [replace_defaults(part, visit) for part in parts],
        "step": step,
        "back": step_url(visit.kitchen, previous) if previous else "",
        **limits_beside(chosen, visit.reader),
        **steps_context(step),
    }


def replace_defaults(part: Part, visit: Visit) -> dict[str, Any]:
    """Return a part with the defaults of its kinds."""
    return {"form": part.form, "title": part.title, "defaults": defaults_shown(part.thing, visit.reader)}


def limits_part(request: HttpRequest) -> HttpResponse:
    """Return the limits of the place that was chosen, as a part of the page."""
    shown = limits_beside(request.GET.get("jurisdiction", ""), reader_of("UTC", clock.now()))
    return render(request, "web/setup/_limits.html", shown)


def next_step(things: Things) -> str:
    """Return the first step that is still open; empty once all are done."""
    for step, thing in NEEDED.items():
        if not things.get(thing):
            return "meter" if step == "services" and not things.get("meters") else step
    return ""


def lacking_before(step: str, things: Things) -> bool:
    """Tell whether a step comes too early."""
    steps = list(STEPS)
    return any(
        not things.get(thing) for name, thing in NEEDED.items() if steps.index(name) < steps.index(step)
    )


def after(step: str) -> str:
    """Return the next step; empty after the last."""
    steps = list(STEPS)
    return "".join(steps[steps.index(step) + 1 : steps.index(step) + 2])


def before(step: str) -> str:
    """Return the step before; empty before the first."""
    steps = list(STEPS)
    return steps[steps.index(step) - 1] if steps.index(step) else ""


def step_url(kitchen: Kitchen, step: str) -> str:
    """Return the address of a step."""
    return f"{reverse('set-up')}?{urlencode({'kitchen': kitchen.slug, 'step': step})}"


def steps_context(step: str) -> dict[str, Any]:
    """Return where in the sequence a step is."""
    return {"title": STEPS[step], "number": list(STEPS).index(step) + 1, "last": len(STEPS)}


def first_of(things: Things, thing: str, asked: Any, title: Any = "") -> Part:  # noqa: ANN401
    """Return the part that asks for the first thing of a sort, or changes it."""
    key = next(iter(things.get(thing, {})), None)
    initial = initial_of(thing, key, things[thing][key]) if key is not None else STARTING.get(thing, {})
    form = FORMS[thing](asked, initial=initial, things=things, prefix=thing, key=key)
    return Part(thing=thing, form=form, title=title)


def place_parts(things: Things, asked: Any) -> list[Part]:  # noqa: ANN401
    """Return the kitchen's own settings."""
    showing = asked is not None and "show" in asked
    initial = {**things["kitchen"][""], **(asked.dict() if showing else {})}
    form = KitchenForm(None if showing else asked, initial=initial, things=things, key="")
    return [Part(thing="kitchen", form=form)]


def oil_parts(things: Things, asked: Any) -> list[Part]:  # noqa: ANN401
    """Return an oil and a food."""
    return [
        first_of(things, "oils", asked, _("The oil you use most")),
        first_of(things, "products", asked, _("What you fry most")),
    ]


def service_parts(things: Things, asked: Any) -> list[Part]:  # noqa: ANN401
    """Return the services there are, or those suggested."""
    there = things.get("services", {})
    if there:
        return [
            Part(
                thing="services",
                title=values["name"],
                form=ServiceForm(
                    asked, initial=initial_of("services", key, values), things=things, prefix=key, key=key
                ),
            )
            for key, values in there.items()
        ]
    return [suggested(things, asked, suggestion) for suggestion in SERVICES]


def suggested(things: Things, asked: Any, suggestion: Suggestion) -> Part:  # noqa: ANN401
    """Return a service that is suggested."""
    begins, ends = suggestion.hours
    initial = {
        "name": suggestion.name if begins else "",
        "days": EVERY_DAY if begins else [],
        "from": begins,
        "to": ends,
        "wanted": bool(begins),
    }
    form = WantedServiceForm(asked, initial=initial, things=things, prefix=suggestion.key)
    return Part(thing="services", form=form, title=suggestion.name)


STARTING: dict[str, dict[str, Any]] = {
    "fryers": {"key": "F1"},
    "meters": {"name": gettext_lazy("Hand meter")},
}
PARTS: dict[str, Callable[[Things, Any], list[Part]]] = {
    "place": place_parts,
    "oil": oil_parts,
    "fryer": lambda things, asked: [first_of(things, "fryers", asked)],
    "meter": lambda things, asked: [first_of(things, "meters", asked)],
    "services": service_parts,
}
