"""The addresses of these screens."""

from django.urls import URLPattern, path

from kettlewell.web.book import views, wide

urlpatterns: list[URLPattern] = [
    path("k/<slug:slug>/book/", views.book, name="book"),
    path("k/<slug:slug>/book/review/", wide.review, name="review"),
    path("k/<slug:slug>/book/<uuid:entry>/", views.entry, name="entry"),
    path("k/<slug:slug>/book/<uuid:entry>/correct/", views.correct, name="correct"),
    path("k/<slug:slug>/book/<uuid:entry>/undo/", views.undo, name="undo"),
]
