"""The addresses of these screens."""

from django.urls import URLPattern, path

from kettlewell.web.book import collecting, recalling, views, wide

urlpatterns: list[URLPattern] = [
    path("k/<slug:slug>/book/", views.book, name="book"),
    path("k/<slug:slug>/old-oil/", collecting.yard, name="old-oil"),
    path("k/<slug:slug>/collected/", collecting.collected, name="collected"),
    path("k/<slug:slug>/book/<uuid:entry>/receipt/", collecting.receipt, name="receipt"),
    path("k/<slug:slug>/book/review/", wide.review, name="review"),
    path("k/<slug:slug>/book/recalls/", recalling.recalled, name="recalls"),
    path("k/<slug:slug>/book/recalls/new/", recalling.recall, name="recall"),
    path("k/<slug:slug>/book/<uuid:entry>/", views.entry, name="entry"),
    path("k/<slug:slug>/book/<uuid:entry>/correct/", views.correct, name="correct"),
    path("k/<slug:slug>/book/<uuid:entry>/undo/", views.undo, name="undo"),
    path("k/<slug:slug>/book/<uuid:entry>/erase/", views.erase, name="erase"),
]
