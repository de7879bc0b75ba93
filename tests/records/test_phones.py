"""Whether the phones of a kitchen show that the server's clock is wrong."""

from datetime import timedelta

import pytest

from kettlewell import clock
from kettlewell.records.models import Kitchen, PhoneClock
from kettlewell.records.phones import phone_heard, phones_forget, server_slow

HOURS = 3600


@pytest.fixture
def hear(marrowby):
    """Return a way to hear phones whose clocks are fast by so many seconds, each another phone."""

    def heard(*fast_s, ago=timedelta(), kitchen=marrowby):
        for number, each_s in enumerate(fast_s):
            phone_heard(kitchen, f"phone {number}", timedelta(seconds=each_s), clock.now() - ago)

    return heard


def slow_s(kitchen):
    return server_slow(kitchen, clock.now()).total_seconds()


@pytest.mark.parametrize("fast_s", [3 * HOURS, -3 * HOURS, 400 * 24 * HOURS, -330])
def test_three_phones_that_agree_against_the_server_show_its_clock_wrong(marrowby, hear, fast_s):
    hear(fast_s, fast_s + 20)
    assert slow_s(marrowby) == 0
    hear(fast_s, fast_s + 20, fast_s - 20)
    assert slow_s(marrowby) == pytest.approx(fast_s, abs=21)


@pytest.mark.parametrize(
    "fast_s",
    [
        (0, 10, -10),
        (290, 295, 301),
        (3000, 3000, 3121),
        (3000, -3000, 3000),
        (0, 0, 3000),
        (0, 0, 0, 3000, 3000),
    ],
    ids=["all right", "hardly off", "apart", "either way", "one lies", "two lie"],
)
def test_less_than_that_shows_nothing(marrowby, hear, fast_s):
    hear(*fast_s)
    assert slow_s(marrowby) == 0


def test_one_phone_that_lies_changes_nothing(marrowby, hear):
    hear(3000, 3000, 3000)
    before = slow_s(marrowby)
    hear(3000, 3000, 3000, -86000)
    assert slow_s(marrowby) == before == 3000


def test_one_phone_heard_three_times_is_one(marrowby):
    for minutes in range(3):
        phone_heard(marrowby, "a", timedelta(hours=3, minutes=minutes), clock.now())
    assert slow_s(marrowby) == 0
    assert PhoneClock.objects.count() == 1


def test_once_the_clock_is_right_three_phones_undo_what_many_said(marrowby, hear):
    hear(*[3000] * 9, ago=timedelta(minutes=30))
    assert slow_s(marrowby) == 3000
    hear(0, 0, 0)
    assert slow_s(marrowby) == 0


@pytest.mark.parametrize("ago", [timedelta(hours=25), -timedelta(hours=3)])
def test_what_was_heard_a_day_ago_or_by_a_clock_to_come_counts_no_more(marrowby, hear, ago):
    hear(3000, 3000, 3000, ago=ago)
    assert slow_s(marrowby) == 0


def test_phones_of_one_kitchen_say_nothing_of_another(marrowby, hear):
    hear(3000, 3000, 3000, kitchen=Kitchen.objects.create(slug="elsewhere"))
    assert slow_s(marrowby) == 0


def test_nothing_is_kept_by_which_a_session_could_be_taken_over(marrowby):
    phone_heard(marrowby, "the key of a session", timedelta(), clock.now())
    kept = " ".join(map(str, PhoneClock.objects.values_list().get()))
    assert "the key" not in kept


def test_a_phone_that_says_what_it_said_costs_no_write(marrowby, hear, django_assert_num_queries):
    hear(3000)
    with django_assert_num_queries(1):
        hear(3010)
    hear(3000, ago=-timedelta(hours=2))
    assert PhoneClock.objects.get().heard_at == clock.now() + timedelta(hours=2)


def test_what_is_old_is_forgotten(marrowby, hear):
    hear(3000, 3000, ago=timedelta(hours=25))
    hear(3000)
    phones_forget(clock.now())
    assert PhoneClock.objects.count() == 1
