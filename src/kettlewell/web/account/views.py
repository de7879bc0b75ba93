"""Signing in and out, the list of kitchens, and the language of the screens."""

import logging
from datetime import datetime
from typing import Any

from django.conf import settings
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kettlewell import clock
from kettlewell.bridge.standing import Standing, standing
from kettlewell.core.decision import VerdictKey
from kettlewell.records.access import seats_of
from kettlewell.records.models import Kitchen, Person
from kettlewell.records.people import language_set
from kettlewell.records.roster import is_anybody_there, tablet_with
from kettlewell.records.second_factor import has_factor
from kettlewell.records.settings import kitchen_name, zone_of
from kettlewell.telling import Reader
from kettlewell.telling.verdicts import named, verdict_words
from kettlewell.web.account.forms import CodeForm, PinForm, SignInForm
from kettlewell.web.account.half import half_forget, half_keep, half_signed_in
from kettlewell.web.account.known import known_keep
from kettlewell.web.account.tablets import BY_PIN, TABLET, session_bind, tablet_of
from kettlewell.web.common import or_404, reader_of

LANGUAGE_AGE_S = 365 * 24 * 3600

log = logging.getLogger(__name__)


@require_safe
def kitchens(request: HttpRequest) -> HttpResponse:
    """Lead to the one kitchen someone works in, or let choose; at the very first start, to set-up."""
    if not isinstance(request.user, Person):
        return redirect("sign-in" if is_anybody_there() else "set-up")
    if request.session.get(BY_PIN):
        return redirect("line", or_404(tablet_with(request.session[TABLET])).kitchen.slug)
    now = clock.now()
    own = [seat.kitchen for seat in seats_of(request.user, now)]
    if len(own) == 1:
        return redirect("line", own[0].slug)
    listed = [in_list(kitchen, now) for kitchen in own]
    return render(request, "web/account/kitchens.html", {"kitchens": listed})


def in_list(kitchen: Kitchen, now: datetime) -> dict[str, Any]:
    """Return what the list shows of a kitchen; no verdict where its day book does not fit its settings."""
    shown = {"slug": kitchen.slug, "name": kitchen_name(kitchen)}
    try:
        stands = standing(kitchen, now)
    except ValueError:
        log.exception("Nothing can be told of the kitchen %s.", kitchen.slug)
        return shown
    reader = reader_of(zone_of(kitchen).key, now)
    return {**shown, "urgent": urgent(stands, reader), "recomputing": stands.recomputing}


def urgent(stands: Standing, reader: Reader) -> list[str]:
    """Return what the fryers of a kitchen are told that are not simply to fry on, the most urgent first."""
    names = {fryer.key: named(fryer) for fryer in stands.setup.kitchen.fryers}
    told = [each for each in stands.assessments if each.in_use and each.verdict.key is not VerdictKey.FRY_ON]
    at_once = sum(each.verdict.key is VerdictKey.CHANGE_BEFORE for each in told)
    said = [
        _("%(verdict)s: %(fryer)s") % {"verdict": verdict_words(each, reader), "fryer": names[each.fryer]}
        for each in told
    ]
    missing = [_("No answer yet: %(fryer)s") % {"fryer": names[each.fryer]} for each in stands.unanswered]
    all_well = [_("All fry on")] if stands.assessments else []
    return [*said[:at_once], *missing, *said[at_once:]] or all_well


class SignIn(LoginView):
    """Sign in by name and password; a shared tablet asks for the PIN unless the password is wanted."""

    template_name = "web/account/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True
    by_pin = False
    asks_code = True

    def get(self, request: HttpRequest, *args: str, **kwargs: Any) -> HttpResponse:  # noqa: ANN401
        """Show the form, or lead to the PIN."""
        if "password" not in request.GET and tablet_of(request):
            return redirect(f"{reverse('sign')}?{urlencode({'next': request.GET.get('next', '')})}")
        return super().get(request, *args, **kwargs)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:  # noqa: ANN401
        """Tell whether people sign by PIN here."""
        return super().get_context_data(tablet=tablet_of(self.request), **kwargs)

    def form_valid(self, form: Any) -> HttpResponse:  # noqa: ANN401
        """Sign in, or ask for the code first; on a shared tablet for a short time; in the own language."""
        if self.asks_code and has_factor(form.get_user()):
            half_keep(self.request, form.get_user())
            return redirect(f"{reverse('code')}?{urlencode({'next': self.get_redirect_url()})}")
        response = super().form_valid(form)
        session_bind(self.request, by_pin=self.by_pin)
        if not self.by_pin:
            known_keep(self.request, response, form.get_user().sign_in)
        if language := form.get_user().language:
            language_keep(response, language)
        return response


class SignByCode(SignIn):
    """Sign in by the code that goes with the password, which was right."""

    template_name = "web/account/code.html"
    authentication_form = CodeForm  # type: ignore[assignment]
    asks_code = False

    def dispatch(self, request: HttpRequest, *args: str, **kwargs: Any) -> HttpResponseBase:  # noqa: ANN401
        """Ask whose password was not given, or a while ago, for it."""
        if half_signed_in(request) is None:
            return redirect(f"{reverse('sign-in')}?{urlencode({'next': self.get_redirect_url()})}")
        return super().dispatch(request, *args, **kwargs)

    def get(self, request: HttpRequest, *args: str, **kwargs: Any) -> HttpResponse:  # noqa: ANN401
        """Ask for the code."""
        return LoginView.get(self, request, *args, **kwargs)

    def get_form_kwargs(self) -> dict[str, Any]:
        """Tell the form whose code it is."""
        return {**super().get_form_kwargs(), "person": half_signed_in(self.request)}

    def form_valid(self, form: Any) -> HttpResponse:  # noqa: ANN401
        """Sign in."""
        half_forget(self.request)
        return super().form_valid(form)


class SignByPin(SignIn):
    """Sign by name and PIN, on a shared tablet alone."""

    template_name = "web/account/sign.html"
    authentication_form = PinForm  # type: ignore[assignment]
    by_pin = True
    asks_code = False

    def dispatch(self, request: HttpRequest, *args: str, **kwargs: Any) -> HttpResponseBase:  # noqa: ANN401
        """Send every other device to name and password."""
        if tablet_of(request) is None:
            return redirect("sign-in")
        return super().dispatch(request, *args, **kwargs)

    def get(self, request: HttpRequest, *args: str, **kwargs: Any) -> HttpResponse:  # noqa: ANN401
        """Show the names."""
        return LoginView.get(self, request, *args, **kwargs)

    def get_form_kwargs(self) -> dict[str, Any]:
        """Tell the form which tablet this is."""
        return {**super().get_form_kwargs(), "device": tablet_of(self.request), "now": clock.now()}


class SignOut(LogoutView):
    """Sign out, and let the browser forget the pages it kept; a tablet stays one, so its cookies stay."""

    def post(self, request: HttpRequest, *args: str, **kwargs: Any) -> HttpResponse:  # noqa: ANN401
        """End the session."""
        response = super().post(request, *args, **kwargs)
        response.headers["Clear-Site-Data"] = '"cache"'
        return response


@require_POST
def language(request: HttpRequest) -> HttpResponse:
    """Change the language of the screens, and remember it with the person."""
    chosen = request.POST.get("language", "")
    back = request.POST.get("next", "")
    safe = url_has_allowed_host_and_scheme(
        back, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    response = HttpResponseRedirect(back if safe else reverse("kitchens"))
    if chosen in dict(settings.LANGUAGES):
        language_keep(response, chosen)
        if isinstance(request.user, Person):
            language_set(request.user, chosen)
    return response


def language_keep(response: HttpResponse, chosen: str) -> None:
    """Let the browser remember the language."""
    response.set_cookie(
        settings.LANGUAGE_COOKIE_NAME,
        chosen,
        max_age=LANGUAGE_AGE_S,
        secure=settings.HTTPS,
        httponly=True,
        samesite="Lax",
    )
