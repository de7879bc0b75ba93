"""The addresses of these screens."""

from django.urls import URLPattern, path

from kettlewell.web.account import health, notice, own, own_code, people, tablets, training, views

urlpatterns: list[URLPattern] = [
    path("", views.kitchens, name="kitchens"),
    path("sign-in/", views.SignIn.as_view(), name="sign-in"),
    path("sign-in/code/", views.SignByCode.as_view(), name="code"),
    path("sign/", views.SignByPin.as_view(), name="sign"),
    path("sign-out/", views.SignOut.as_view(), name="sign-out"),
    path("own/", own.own, name="own"),
    path("own/code/", own_code.own_code, name="own-code"),
    path("health/", health.health, name="health"),
    path("language/", views.language, name="language"),
    path("k/<slug:slug>/people/", people.people, name="people"),
    path("k/<slug:slug>/people/new/", people.person_new, name="person-new"),
    path("k/<slug:slug>/people/<uuid:person>/", people.person, name="person"),
    path("k/<slug:slug>/people/<uuid:person>/remove/", people.person_remove, name="person-remove"),
    path("k/<slug:slug>/notice/", notice.notice, name="notice"),
    path("k/<slug:slug>/trainings/", training.trainings, name="trainings"),
    path("k/<slug:slug>/training/", training.training, name="training"),
    path("k/<slug:slug>/tablet/", tablets.tablet, name="tablet"),
    path("k/<slug:slug>/tablet/<uuid:device>/retire/", tablets.tablet_retire, name="tablet-retire"),
]
