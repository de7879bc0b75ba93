"""The addresses of these screens."""

from django.urls import path

from kettlewell.web.setup import first, tables, views

urlpatterns = [
    path("set-up/", first.set_up, name="set-up"),
    path("k/<slug:slug>/kitchen/", views.kitchen, name="kitchen"),
    path("k/<slug:slug>/tables/", tables.tables, name="tables"),
    path("k/<slug:slug>/tables/<uuid:table>/", tables.table, name="table"),
    path("k/<slug:slug>/kitchen/new/<str:thing>/", views.thing_new, name="thing-new"),
    path("k/<slug:slug>/kitchen/<str:thing>/<str:key>/", views.thing, name="thing"),
]
