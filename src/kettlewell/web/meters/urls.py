"""The addresses of these screens."""

from django.urls import URLPattern, path

from kettlewell.web.meters import checking, comparing, views

urlpatterns: list[URLPattern] = [
    path("k/<slug:slug>/meters/", views.meters, name="meters"),
    path("k/<slug:slug>/meters/check/", checking.check, name="meter-check"),
    path("k/<slug:slug>/meters/order/", views.order, name="meter-order"),
    path("k/<slug:slug>/meters/compare/", comparing.compare, name="compare"),
    path("k/<slug:slug>/meters/compare/adopt/", comparing.adopt, name="adopt"),
    path("k/<slug:slug>/meters/<uuid:entry>/", checking.found, name="meter-found"),
    path("k/<slug:slug>/meters/<uuid:entry>/back/", checking.back, name="look-back"),
    path("k/<slug:slug>/meters/<uuid:entry>/back/<uuid:relied>/", checking.settle, name="relied"),
]
