"""The addresses of these screens."""

from django.urls import URLPattern, path

from kettlewell.web.line import views

urlpatterns: list[URLPattern] = [
    path("k/<slug:slug>/", views.line, name="line"),
    path("k/<slug:slug>/fryers/<str:fryer>/", views.fryer, name="fryer"),
    path("k/<slug:slug>/fryers/<str:fryer>/fills/", views.fills, name="fills"),
    path("k/<slug:slug>/fryers/<str:fryer>/what-if/", views.suppose, name="what-if"),
]
