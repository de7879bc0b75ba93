"""Every address of the program."""

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("kettlewell.web.account.urls")),
    path("", include("kettlewell.web.line.urls")),
    path("", include("kettlewell.web.reading.urls")),
    path("", include("kettlewell.web.meters.urls")),
    path("", include("kettlewell.web.book.urls")),
    path("", include("kettlewell.web.setup.urls")),
]

handler500 = "kettlewell.web.account.errors.server_error"
