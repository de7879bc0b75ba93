"""What Kitchen says of backups."""

from datetime import timedelta

import pytest

from kettlewell import clock


@pytest.fixture
def folder(settings, tmp_path):
    settings.BACKUPS = str(tmp_path)
    return tmp_path


def shown(client, marrowby):
    page = client.get(f"/k/{marrowby.slug}/kitchen/").content.decode()
    return page.partition('id="backups"')[2].partition("</details>")[0]


def taken(folder, **ago):
    (folder / f"kettlewell-{clock.now() - timedelta(**ago):%Y%m%dT%H%M%SZ}.tar.gz.sealed").touch()


def test_where_none_are_taken_it_is_said(signed_in, owner, marrowby):
    assert "None are taken yet" in shown(signed_in(owner), marrowby)


def test_the_last_one_is_told(signed_in, owner, marrowby, folder):
    taken(folder, hours=3)
    taken(folder, days=1)
    said = shown(signed_in(owner), marrowby)
    assert "The last good one is of" in said
    assert "2 backups are kept" in said
    assert "notice" not in said


@pytest.mark.parametrize("days", [3, None], ids=["late", "never"])
def test_one_that_is_late_is_told(signed_in, owner, marrowby, folder, days):
    if days:
        taken(folder, days=days)
    assert 'class="notice"' in shown(signed_in(owner), marrowby)
    assert ("One is due each day" if days else "None was taken yet") in shown(signed_in(owner), marrowby)


def test_a_cook_is_told_nothing_of_them(signed_in, cook, marrowby, folder):
    taken(folder, hours=3)
    assert shown(signed_in(cook), marrowby) == ""
