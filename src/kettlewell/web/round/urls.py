"""The addresses of these screens."""

from django.urls import URLPattern, path

from kettlewell.web.round import backlog, readings, service

urlpatterns: list[URLPattern] = [
    path("k/<slug:slug>/round/", service.due, name="round"),
    path("k/<slug:slug>/round/readings/", readings.readings, name="round-readings"),
    path("k/<slug:slug>/round/readings/<str:fryer>/", readings.reading_row, name="round-reading"),
    path("k/<slug:slug>/backlog/", backlog.backlog, name="backlog"),
    path("k/<slug:slug>/round/service/", service.after, name="round-service"),
    path("k/<slug:slug>/round/service/<str:fryer>/", service.acts_row, name="round-acts"),
]
