"""What holds for every page: headers Django has no setting for, and short sessions on a shared tablet."""

from collections.abc import Callable, Mapping

from django.contrib.auth import logout
from django.http import Http404, HttpRequest, HttpResponse

from kettlewell.records.roster import tablet_with
from kettlewell.web.account.tablets import BY_PIN, TABLET

Answer = Callable[[HttpRequest], HttpResponse]
PERMISSIONS = "camera=(), geolocation=(), microphone=(), payment=(), usb=()"


def headers(get_response: Answer) -> Answer:
    """Let a page use no sensor of the phone, and keep no page for who takes the tablet next."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        if response.get("Content-Type", "").startswith("text/html"):
            response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    return answer


class SharedTablet:
    """A session on a shared tablet runs on while it is used, and ends with the tablet.

    One that began with a PIN stays in the tablet's kitchen: four digits open no other.
    """

    def __init__(self, get_response: Answer) -> None:
        """Stand before all views."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Begin the idle time anew, or sign out where the tablet was retired."""
        if key := request.session.get(TABLET):
            if tablet_with(key):
                request.session.modified = True
            else:
                logout(request)
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, _view: object, _args: object, kwargs: Mapping[str, object]
    ) -> None:
        """Raise Http404 for another kitchen than the tablet's."""
        if not request.session.get(BY_PIN) or "slug" not in kwargs:
            return
        device = tablet_with(request.session[TABLET])
        if device is None or device.kitchen.slug != kwargs["slug"]:
            raise Http404
