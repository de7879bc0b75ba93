"""The addresses of these screens."""

from django.urls import URLPattern, path

from kettlewell.web.line import cards, feed, views

urlpatterns: list[URLPattern] = [
    path("k/<slug:slug>/", views.line, name="line"),
    path("calendar/<str:secret>.ics", feed.feed, name="feed"),
    path("k/<slug:slug>/calendar/", feed.feed_address, name="calendar"),
    path("k/<slug:slug>/card/", cards.card, name="card"),
    path("k/<slug:slug>/card/pocket/", cards.pocket_card, name="pocket"),
    path("k/<slug:slug>/fryers/<str:fryer>/", views.fryer, name="fryer"),
    path("k/<slug:slug>/fryers/<str:fryer>/card/", cards.fryer_card, name="fryer-card"),
    path("k/<slug:slug>/fryers/<str:fryer>/card/pocket/", cards.pocket_card, name="fryer-pocket"),
    path("k/<slug:slug>/fryers/<str:fryer>/fills/", views.fills, name="fills"),
    path("k/<slug:slug>/fryers/<str:fryer>/what-if/", views.suppose, name="what-if"),
]
