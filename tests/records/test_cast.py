"""The cast is what its fixtures say."""

from kettlewell.bridge.setups import setup_of
from kettlewell.records.verify import verify


def test_the_settings_of_the_cast_make_a_kitchen(marrowby):
    kitchen = setup_of(marrowby).kitchen
    assert [fryer.key for fryer in kitchen.fryers] == ["F1", "F2"]
    assert [limit.value for limit in kitchen.limits] == [24]


def test_the_day_book_of_the_cast_is_whole(marrowby, cook, area_manager, inspector):
    assert {cook, area_manager, inspector} <= {seat.person for seat in marrowby.seats.all()}
    assert marrowby.head_seq == 13
    assert verify(marrowby) is None
