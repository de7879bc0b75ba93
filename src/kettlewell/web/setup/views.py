"""The Kitchen screen: what is set, since when, by whom; and changing it."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from kettlewell.bridge.settings import SettingChange, has_own_limit, settings_change
from kettlewell.marks.qr import qr
from kettlewell.records.access import Act
from kettlewell.records.settings import settings_of
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.refusals import refuse
from kettlewell.web.setup.base_forms import ThingForm
from kettlewell.web.setup.facts import KITCHEN_KEY, columns, initial_of, name_of, past_changes, things_shown
from kettlewell.web.setup.forms import FORMS
from kettlewell.web.setup.kept import backups_kept, check_code_sent
from kettlewell.web.setup.known import SECTIONS, defaults_shown, limits_beside
from kettlewell.web.setup.missing import another_url
from kettlewell.web.setup.reached import phones_at

ADDED = {
    "fryers": gettext_lazy("Add a fryer"),
    "oils": gettext_lazy("Add an oil"),
    "products": gettext_lazy("Add a food"),
    "meters": gettext_lazy("Add a meter"),
    "reference_lots": gettext_lazy("Add a bottle of reference oil"),
    "services": gettext_lazy("Add a service"),
    "limits": gettext_lazy("Add a limit"),
}


@require_safe
@in_kitchen(Act.READ)
def kitchen(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show everything that is set."""
    things = settings_of(visit.kitchen)
    sections = [
        {
            "thing": thing,
            "title": title,
            "add": ADDED.get(thing, ""),
            "columns": columns(thing, things),
            "shown": things_shown(visit.kitchen, thing, things, visit.reader),
        }
        for thing, title in SECTIONS
    ]
    place = things.get("kitchen", {}).get("", {}).get("jurisdiction", "")
    at = phones_at(request)
    context = {
        "sections": sections,
        "phones_at": at,
        "phones_code": qr(at) if at else "",
        "own_limit": has_own_limit(things),
        "backups": backups_kept(visit.reader),
        "check_code_sent": check_code_sent(visit.kitchen, visit.reader),
        **limits_beside(place, visit.reader),
    }
    return render(request, "web/setup/kitchen.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@in_kitchen(Act.SET_UP)
def thing_new(request: HttpRequest, visit: Visit, thing: str) -> HttpResponse:
    """Add a thing; a fryer may be like another one."""
    if thing not in ADDED:
        raise Http404
    things = settings_of(visit.kitchen)
    like = request.GET.get("like", "") if thing == "fryers" else ""
    if like and like not in things["fryers"]:
        raise Http404
    sent = request.POST if request.method == "POST" else None
    values = things["fryers"][like] if like else {}
    initial = {name: value for name, value in values.items() if name != "name"}
    form = FORMS[thing](sent, initial=initial, things=things)
    if saved(form, visit):
        if "another" in request.POST and thing == "fryers":
            messages.success(request, _("Stored."))
            return redirect(another_url(visit, form.mark))
        return done(request, visit, thing)
    shown = name_of("fryers", like, values) if like else ""
    context = {"form": form, "title": ADDED[thing], "like": shown, "another": thing == "fryers"}
    return page(request, visit, thing, context)


@require_http_methods(["GET", "HEAD", "POST"])
@in_kitchen(Act.SET_UP)
def thing(request: HttpRequest, visit: Visit, thing: str, key: str) -> HttpResponse:
    """Change a thing, or remove it."""
    things, kept_as = settings_of(visit.kitchen), "" if thing == "kitchen" and key == KITCHEN_KEY else key
    values = things.get(thing, {}).get(kept_as)
    if thing not in FORMS or values is None or (thing == "kitchen" and key != KITCHEN_KEY):
        raise Http404
    removing = "remove" in request.POST and thing in ADDED
    showing = "show" in request.POST and thing == "kitchen"
    sent = request.POST if request.method == "POST" and not (removing or showing) else None
    typed = request.POST.dict() if showing else {}
    form = FORMS[thing](
        sent, initial={**initial_of(thing, kept_as, values), **typed}, things=things, key=kept_as
    )
    refused = removed(visit, thing, kept_as) if removing else None
    if (removing and refused is None) or saved(form, visit):
        return done(request, visit, thing)
    context = {
        "form": form,
        "key": key,
        "title": name_of(thing, kept_as, values),
        "refused": refused.messages if refused else [],
        "out_of_use": refused is not None and getattr(refused, "code", None) == "in_use",
        "removable": thing in ADDED,
        "another_at": another_url(visit, kept_as) if thing == "fryers" else "",
        "history": past_changes(visit.kitchen, thing, things, visit.reader).get(kept_as, []),
    }
    return page(request, visit, thing, context)


def saved(form: ThingForm, visit: Visit) -> bool:
    """Write what a form says; tell whether it stands. What is wrong is said in the form."""
    if not (form.is_bound and form.is_valid()):
        return False
    try:
        settings_change(visit.kitchen, [form.change()], visit.hand)
    except ValidationError as error:
        refuse(form, error)
        return False
    return True


def removed(visit: Visit, thing: str, key: str) -> ValidationError | None:
    """Remove a thing, or return why it has to stay."""
    try:
        settings_change(visit.kitchen, [SettingChange(thing=thing, key=key, values=None)], visit.hand)
    except ValidationError as error:
        return error
    return None


def done(request: HttpRequest, visit: Visit, thing: str) -> HttpResponse:
    """Say that it is stored, and lead back to where it is shown."""
    messages.success(request, _("Stored."))
    response = redirect("kitchen", visit.kitchen.slug)
    response["Location"] += f"#{thing}"
    return response


def page(request: HttpRequest, visit: Visit, thing: str, context: dict[str, Any]) -> HttpResponse:
    """Return the page of one thing."""
    guided = {**context, "thing": thing, **guides(thing, context["form"], visit)}
    return render(request, "web/setup/thing.html", guided)


def guides(thing: str, form: ThingForm, visit: Visit) -> dict[str, Any]:
    """Return what stands beside the form: defaults with their sources, limits of the place."""
    place = form["jurisdiction"].value() if thing == "kitchen" else ""
    return {"defaults": defaults_shown(thing, visit.reader), **limits_beside(place or "", visit.reader)}
