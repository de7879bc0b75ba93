"""The addresses of these screens."""

from django.urls import URLPattern, path

from kettlewell.web.inspection import views

urlpatterns: list[URLPattern] = [
    path("k/<slug:slug>/inspection/", views.inspection, name="inspection"),
    path("k/<slug:slug>/inspection/blank/", views.blank, name="blank"),
    path("k/<slug:slug>/inspection/teaching/", views.teaching, name="teaching"),
    path("k/<slug:slug>/inspection/labels/", views.labels, name="labels"),
    path("k/<slug:slug>/inspection/month/", views.inspection_month, name="inspection-month"),
    path("k/<slug:slug>/inspection/book/", views.inspection_book, name="inspection-book"),
]
