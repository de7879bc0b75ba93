"""The address that the *Kitchen* screen shows to phones."""

from django.conf import settings
from django.http import HttpRequest
from django.http.request import split_domain_port

OWN = ("localhost", "127.0.0.1", "[::1]")


def phones_at(request: HttpRequest) -> str:
    """Return the address that this page came by; where that is this machine alone, the one ``serve`` found.

    Empty where phones have none.
    """
    host, _port = split_domain_port(request.get_host())
    if host in OWN:
        return str(settings.PHONES_AT)
    return request.build_absolute_uri("/")
