"""Every address of the program, and who answers where there is no answer."""

from django.urls import URLPattern, URLResolver, include, path

handler400 = "kettlewell.web.account.errors.bad_request"
handler403 = "kettlewell.web.account.errors.forbidden"
handler404 = "kettlewell.web.account.errors.not_found"
handler500 = "kettlewell.web.account.errors.server_error"
urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("kettlewell.web.account.urls")),
    path("", include("kettlewell.web.line.urls")),
    path("", include("kettlewell.web.reading.urls")),
    path("", include("kettlewell.web.round.urls")),
    path("", include("kettlewell.web.meters.urls")),
    path("", include("kettlewell.web.book.urls")),
    path("", include("kettlewell.web.inspection.urls")),
    path("", include("kettlewell.web.setup.urls")),
]
