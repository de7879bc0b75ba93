"""The commands about meters: how they stand, the look-back, and two instruments side by side."""

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import click

from kettlewell.book import Entry, Kitchen, MeterCheck, in_order
from kettlewell.book.words import ToldError, message_of
from kettlewell.cli import given
from kettlewell.cli.comparing import compared
from kettlewell.cli.given import as_json_option, at_option, folder_argument
from kettlewell.cli.lookback import NONE_FAILED, is_failed, looked_back
from kettlewell.cli.meter_documents import back_document, compare_document, show_document
from kettlewell.cli.meters import meters_shown
from kettlewell.cli.screen import Line, console, width_of
from kettlewell.cli.speaking import Group, option
from kettlewell.core.metering.pairs import side_by_side
from kettlewell.core.outlook.lookback import LookBack, look_back
from kettlewell.core.outlook.meters import ChartedCheck, MeterReport, charted, meter_reports
from kettlewell.folder import Folder
from kettlewell.folder.cells import moment
from kettlewell.folder.checks import word_of
from kettlewell.folder.words import NotUnderstoodError
from kettlewell.telling import N_, reader


@click.group(
    cls=Group,
    no_args_is_help=True,
    help=N_("The meters: their checks, the look-back, two instruments side by side."),
)
def meter() -> None:
    """Hold the commands about meters."""


@meter.command(
    help=N_(
        "Say of each meter how its last check stood, when to check it next, and what its readings are worth."
    )
)
@folder_argument
@at_option
@as_json_option
def show(folder: Path, at: str | None, *, as_json: bool) -> None:
    """Say of each meter how its last check stood, when to check it next, and what its readings are worth."""
    with given.bad_input():
        kitchen_folder = given.read(folder)
        now = given.time_of(at, kitchen_folder.setup.kitchen)
        kitchen = kitchen_folder.kitchen_at(now)
        reports = reports_of(kitchen_folder, now)
        if as_json:
            given.show_json(show_document(reports, kitchen_folder, at=now))
        else:
            words = reader(kitchen.timezone, now)
            given.show_lines(meters_shown(reports, kitchen, words, width=width_of(console())))
        given.tell_problems(kitchen_folder, now)


@meter.command(help=N_("Say which verdicts may not stand since a meter check failed."))
@folder_argument
@option(
    "--check",
    "of_day",
    help=N_("The failed check of a day, such as '12.11.2026'; the last unless given."),
)
@at_option
@as_json_option
def back(folder: Path, of_day: str | None, at: str | None, *, as_json: bool) -> None:
    """Say which verdicts may not stand since a meter check failed."""
    with given.bad_input():
        kitchen_folder = given.read(folder)
        now = given.time_of(at, kitchen_folder.setup.kitchen)
        kitchen = kitchen_folder.kitchen_at(now)
        words = reader(kitchen.timezone, now)
        failed = failed_check(kitchen_folder, now, of_day)
        found = look_back_at(kitchen_folder, failed) if failed else None
        if as_json:
            given.show_json(back_document(failed, found, kitchen_folder, at=now))
        elif failed and found:
            given.show_lines(looked_back(found, failed, kitchen, words))
        else:
            given.show_lines([Line(text=words.say(NONE_FAILED))])
        given.tell_problems(kitchen_folder, now)


@meter.command(
    help=N_(
        "Hold a meter against the laboratory, or against another meter, by what both said of the same oil."
    )
)
@folder_argument
@option("--meter", "of_meter", help=N_("Key of the meter; needed where there are two."))
@option("--against", help=N_("Key of another meter; the laboratory unless given."))
@option("--oil", "in_oil", help=N_("Key of one oil; every oil in use unless given."))
@at_option
@as_json_option
def compare(
    folder: Path,
    *,
    of_meter: str | None,
    against: str | None,
    in_oil: str | None,
    at: str | None,
    as_json: bool,
) -> None:
    """Hold a meter against the laboratory, or against another meter, by what both said of the same oil."""
    with given.bad_input():
        kitchen_folder = given.read(folder)
        now = given.time_of(at, kitchen_folder.setup.kitchen)
        kitchen = kitchen_folder.kitchen_at(now)
        key, other = instruments(kitchen, of_meter, against)
        entries = until(kitchen_folder, now)
        found = [
            side_by_side(kitchen_folder.history, entries, meter=key, against=other, oil=oil)
            for oil in oils(kitchen, in_oil)
        ]
        if as_json:
            given.show_json(compare_document(found, kitchen_folder, at=now))
        else:
            given.show_lines(compared(found, kitchen, reader(kitchen.timezone, now)))
        given.tell_problems(kitchen_folder, now)


def until(kitchen_folder: Folder, now: datetime) -> list[Entry]:
    """Return the entries up to a time, in order."""
    return in_order(entry for entry in kitchen_folder.log.entries if entry.at <= now)


def reports_of(kitchen_folder: Folder, now: datetime) -> tuple[MeterReport, ...]:
    """Return what is to be said of the kitchen's meters."""
    entries = until(kitchen_folder, now)
    return meter_reports(kitchen_folder.history, entries, now=now, lately=entries)


def failed_check(kitchen_folder: Folder, now: datetime, of_day: str | None) -> ChartedCheck | None:
    """Return the last check that failed, or the last of a day; None where none failed.

    Raises ValueError for a text that is no day, and for a day without a failed check.
    """
    failed = sorted(failed_checks(kitchen_folder, now), key=lambda found: found.check.at)
    if of_day is None:
        return failed[-1] if failed else None
    zone = ZoneInfo(kitchen_folder.setup.kitchen.timezone)
    day = day_of(of_day, zone)
    on_it = [found for found in failed if found.check.at.astimezone(zone).date() == day]
    if not on_it:
        raise ToldError(N_("--check: no check of {day} failed"), day=day)
    return on_it[-1]


def failed_checks(kitchen_folder: Folder, now: datetime) -> Iterator[ChartedCheck]:
    """Yield every check that found a meter off as it was in use, meter by meter."""
    kitchen = kitchen_folder.kitchen_at(now)
    checks = [entry for entry in until(kitchen_folder, now) if isinstance(entry, MeterCheck)]
    for meter in kitchen.meters:
        yield from filter(
            is_failed, charted(kitchen, [check for check in checks if check.meter == meter.key])
        )


def day_of(text: str, zone: ZoneInfo) -> date:
    """Return a typed day of the kitchen."""
    try:
        return moment(f"{text.strip()} 12:00", zone).astimezone(zone).date()
    except NotUnderstoodError:
        no_day = N_("--check: {written!r} is not a day; write it like 31.12.2026 or 2026-12-31")
        raise ToldError(no_day, written=text) from None


def look_back_at(kitchen_folder: Folder, failed: ChartedCheck) -> LookBack:
    """Return what a failed check says of the verdicts since the last good one."""
    check = failed.check
    reports = reports_of(kitchen_folder, check.at)
    report = next(each for each in reports if each.meter.key == check.meter)
    return look_back(kitchen_folder.history, until(kitchen_folder, check.at), check, report=report)


def instruments(kitchen: Kitchen, of_meter: str | None, against: str | None) -> tuple[str, str | None]:
    """Return the keys of a meter and of what it is held against; raises ValueError where they are unclear."""
    keys = [meter.key for meter in kitchen.meters]
    if not keys:
        raise ToldError(N_("kitchen.toml: there is no meter in it; set one up under [[meters]]"))
    if of_meter is None and len(keys) > 1:
        raise ToldError(N_("--meter: say which one: {keys}"), keys=", ".join(keys))
    key = known("--meter", of_meter or keys[0], keys)
    if against is None:
        return key, None
    if key == against:
        itself = N_("--against: {key!r} is the meter itself; name another one, or leave it out")
        raise ToldError(itself, key=against)
    return key, known("--against", against, keys)


def oils(kitchen: Kitchen, in_oil: str | None) -> list[str]:
    """Return the keys of the oils to compare in."""
    if in_oil is not None:
        return [known("--oil", in_oil, [oil.key for oil in kitchen.oils])]
    return list(dict.fromkeys(fryer.oil for fryer in kitchen.fryers))


def known(option: str, key: str, keys: list[str]) -> str:
    """Return a key that there is; raises ValueError with the nearest one."""
    try:
        return word_of(keys)(key)
    except ValueError as error:
        raise ToldError("{option}: {why}", option=option, why=message_of(error)) from None
