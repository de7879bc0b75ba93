"""Going on from where a walk stopped, without replay."""

from dataclasses import replace

import pytest
from states import same

from kettlewell.book import Change, MeterOut, Move, OutOfOrder, Return, SensoryNote, Store, history_of
from kettlewell.core import assess, checkpoint
from kettlewell.core.belief.walk import fits

BUSY = (4, 6.5, 9, 11.5, 14)


@pytest.fixture
def entries(book, at, read):
    """A book with a reading amid a service, a move, a fill stored and brought back, a fryer out of order."""
    return [
        *book(*BUSY),
        Change(at=at(0, "08:10"), fryer="small"),
        read(1, "12:10", 7.5),
        SensoryNote(at=at(1, "13:00"), fryer="big", spoiled=False),
        OutOfOrder(at=at(2, "10:00"), fryer="small"),
        OutOfOrder(at=at(2, "15:00"), fryer="small", back=True),
        Store(at=at(2, "21:00"), fryer="small"),
        Return(at=at(3, "15:00"), fryer="small"),
        Move(at=at(3, "21:00"), fryer="big", into="small", mass_kg=2.0),
    ]


MOMENTS = [(0, "08:05"), (0, "12:00"), (1, "12:15"), (2, "11:30"), (2, "22:00"), (3, "18:00"), (4, "09:30")]


@pytest.mark.parametrize(("day", "clock"), MOMENTS)
@pytest.mark.parametrize("only_later", [True, False])
def test_a_checkpoint_and_what_came_after_it_give_exactly_what_a_replay_gives(
    kitchen, entries, at, day, clock, only_later
):
    then, now = checkpoint(kitchen, entries, at=at(day, clock)), at(4, "12:30")
    rest = [entry for entry in entries if entry.at >= then.covers_to] if only_later else entries
    assert assess(kitchen, rest, now=now, since=then) == assess(kitchen, entries, now=now)


@pytest.mark.parametrize(("day", "clock"), MOMENTS[1:])
def test_a_checkpoint_made_from_a_checkpoint_is_as_good(kitchen, entries, at, day, clock):
    first = checkpoint(kitchen, entries, at=at(0, "11:30"))
    second = checkpoint(kitchen, entries, at=at(day, clock), since=first)
    direct = checkpoint(kitchen, entries, at=at(day, clock))
    assert same(second, direct)
    now = at(4, "12:30")
    assert assess(kitchen, entries, now=now, since=second) == assess(kitchen, entries, now=now)


def test_a_checkpoint_covers_whole_book_days_only(kitchen, entries, at):
    assert checkpoint(kitchen, entries, at=at(3, "18:00")).covers_to == at(3, "11:00")
    assert checkpoint(kitchen, entries, at=at(3, "10:59")).covers_to == at(2, "11:00")


def test_going_on_leaves_the_checkpoint_as_it_was(kitchen, entries, at):
    then, now = checkpoint(kitchen, entries, at=at(2, "22:00")), at(4, "12:30")
    first = assess(kitchen, entries, now=now, since=then)
    assert assess(kitchen, entries, now=now, since=then) == first


def test_a_checkpoint_from_before_the_first_entry_is_as_good(kitchen, entries, at):
    then, now = checkpoint(kitchen, entries, at=at(-3, "12:00")), at(2, "12:30")
    assert assess(kitchen, entries, now=now, since=then) == assess(kitchen, entries, now=now)


def test_an_entry_that_came_late_is_refused_in_a_sentence(kitchen, entries, at, read):
    then = checkpoint(kitchen, entries, at=at(3, "18:00"))
    late = read(1, "09:30", 6)
    for given in ([late], [*entries, late]):
        with pytest.raises(
            ValueError, match=r"entries before .* differ from those the checkpoint covers: replay"
        ):
            assess(kitchen, given, now=at(4, "09:30"), since=then)


def test_a_covered_entry_that_is_gone_or_changed_is_refused(kitchen, entries, at):
    then = checkpoint(kitchen, entries, at=at(3, "18:00"))
    for given in (entries[1:], [replace(entries[1], tpc_pct=5), *entries[2:], entries[0]]):
        with pytest.raises(ValueError, match="differ from those the checkpoint covers: replay"):
            assess(kitchen, given, now=at(4, "09:30"), since=then)


def test_a_checkpoint_of_another_model_is_refused(kitchen, entries, at):
    then = checkpoint(kitchen, entries, at=at(3, "18:00"))
    then = replace(then, place=replace(then.place, model_version="0"))
    with pytest.raises(ValueError, match=r"the checkpoint is of model 0, this is .*: replay"):
        assess(kitchen, entries, now=at(4, "09:30"), since=then)


def test_a_checkpoint_of_a_later_time_is_refused(kitchen, entries, at):
    """It holds what nobody could know at ``now``."""
    then = checkpoint(kitchen, entries, at=at(3, "18:00"))
    with pytest.raises(ValueError, match="checkpoint"):
        assess(kitchen, entries, now=at(2, "09:30"), since=then)


def test_a_checkpoint_of_another_kitchen_is_refused(kitchen, entries, at):
    then = checkpoint(kitchen, entries, at=at(3, "18:00"))
    only = replace(kitchen, fryers=kitchen.fryers[:1], services=kitchen.services[1:])
    with pytest.raises(ValueError, match="checkpoint"):
        assess(only, [], now=at(4, "09:30"), since=then)


def test_the_zone_in_which_times_are_told_does_not_spoil_a_checkpoint(kitchen, entries, at, tokyo):
    then, now = checkpoint(kitchen, entries, at=at(3, "18:00")), at(4, "09:30")
    elsewhere = [replace(entry, at=entry.at.astimezone(tokyo)) for entry in entries]
    assert assess(kitchen, elsewhere, now=now, since=then) == assess(kitchen, entries, now=now)


def test_a_meter_named_again_after_it_was_removed_is_as_good_from_a_checkpoint(kitchen, entries, at):
    """It is taken out of use amid lunch, a day after the settings no longer had it."""
    lent = replace(kitchen.meters[0], key="lent", name="Lent meter")
    settings = history_of(replace(kitchen, meters=(*kitchen.meters, lent)))
    settings = settings.then(replace(kitchen, meters=(lent,)), at(2, "09:00"))
    book, now = [*entries, MeterOut(at=at(3, "11:15"), meter="hand")], at(3, "12:30")
    then = checkpoint(settings, book, at=at(3, "11:30"))
    rest = [entry for entry in book if entry.at >= then.covers_to]
    assert assess(settings, rest, now=now, since=then) == assess(settings, book, now=now)


@pytest.mark.parametrize("change", [{"usual_load_kg": 40.0}, {"fries": ("fish",)}, {"set_temp_c": 190.0}])
def test_work_done_before_a_change_of_settings_was_done_under_the_old_ones(kitchen, entries, at, change):
    """Amid lunch, half an hour after a reading: the oil is as old as it was."""
    now = at(1, "12:40")
    other = replace(kitchen, fryers=(replace(kitchen.fryers[0], **change), kitchen.fryers[1]))
    was, told = (
        assess(settings, entries, now=now, of=["big"])[0]
        for settings in (kitchen, history_of(kitchen).then(other, now))
    )
    assert told.tpc_mean_pct == pytest.approx(was.tpc_mean_pct, rel=1e-9)
    assert told.rate_pct_per_h > 1.05 * was.rate_pct_per_h


@pytest.mark.parametrize(
    "change", [{"coverage_factor": 3.0}, {"expanded_u_pct": 1.0}, {"tpc_pct": 11.0}, {"name": "Renamed"}]
)
def test_settings_that_a_check_rests_on_make_a_replay(checking, checked, at, change):
    """But not what a thing is called."""
    then = checkpoint(checking, [checked(1, 0.5)], at=at(3, "12:00"))
    lots = tuple(replace(each, **change) for each in checking.reference_lots)
    assert fits(then, replace(checking, reference_lots=lots)) is ("name" in change)
