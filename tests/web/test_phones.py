"""The address and code for phones on the Kitchen screen."""

import pytest

from kettlewell.marks.qr import qr


@pytest.fixture
def kitchen_page(settings, signed_in, owner, marrowby):
    """Return a way to look at the screen by a host, where ``serve`` found an address for phones."""
    settings.ALLOWED_HOSTS = ["*"]

    def looked_at(host, found):
        settings.PHONES_AT = found
        return signed_in(owner).get(f"/k/{marrowby.slug}/kitchen/", headers={"host": host}).text

    return looked_at


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("host", "found", "shown"),
    [
        ("kitchen.example:8350", "http://192.0.2.7:8350/", "http://kitchen.example:8350/"),
        ("localhost:8350", "http://192.0.2.7:8350/", "http://192.0.2.7:8350/"),
        ("[::1]:8350", "http://192.0.2.7:8350/", "http://192.0.2.7:8350/"),
        ("127.0.0.1", "", None),
    ],
)
def test_it_is_the_one_by_which_others_come(kitchen_page, host, found, shown):
    page = kitchen_page(host, found)
    if shown is None:
        assert "Phones cannot reach this server yet" in page
        assert 'class="qr"' not in page
    else:
        assert f">{shown}</strong>" in page
        assert str(qr(shown)) in page
