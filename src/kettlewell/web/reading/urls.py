"""The addresses of these screens."""

from django.urls import URLPattern, path

from kettlewell.web.reading import views
from kettlewell.web.reading.late import late
from kettlewell.web.reading.looking import look_over
from kettlewell.web.reading.settling import settle

urlpatterns: list[URLPattern] = [
    path("k/<slug:slug>/read/", views.reading, name="reading"),
    path("k/<slug:slug>/fryers/<str:fryer>/read/", views.reading_at, name="reading-at"),
    path("k/<slug:slug>/fryers/<str:fryer>/acts/", views.acts, name="acts"),
    path("k/<slug:slug>/fryers/<str:fryer>/acts/<str:kind>/", views.act, name="act"),
    path("k/<slug:slug>/fryers/<str:fryer>/boiled-out/", views.boiled_out, name="boiled-out"),
    path("k/<slug:slug>/late/", late, name="late"),
    path("k/<slug:slug>/told/<uuid:entry>/", views.told, name="told"),
    path("k/<slug:slug>/told/<uuid:entry>/settle/", settle, name="settle"),
    path("k/<slug:slug>/settled/<uuid:entry>/look-over/", look_over, name="look-over"),
    path("k/<slug:slug>/calls/<uuid:entry>/answer/", views.answer_call, name="answer-call"),
]
