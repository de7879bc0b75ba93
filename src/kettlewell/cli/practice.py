"""The answer to `practice`: what each rule cost and risked, one row a rule."""

from collections.abc import Iterator, Sequence

from kettlewell.cli.screen import Line, Weight
from kettlewell.practice import RuleKind, RuleScore
from kettlewell.telling import N_, Reader

NAMES = {
    RuleKind.CLAIRVOYANT: N_("knows the future"),
    RuleKind.OURS: N_("verdicts, accepted risk {setting} %"),
    RuleKind.THRESHOLD: N_("change at a reading of {setting} %"),
    RuleKind.CALENDAR: N_("change every {setting} days"),
}
HEADS = (N_("rule"), N_("oil used"), N_("hours past"), N_("far past"), N_("read"))
WIDTHS = (34, 18, 10, 8, 6)
LEGEND = N_(
    "oil used: thrown away, as a multiple of what one who knows the future throws away, with its "
    "95 % range. hours past: of all hot hours, passed the limit. far past: of all services, ended "
    "more than 1 point past it. read: of all services, had a reading before. Only fryers that ever "
    "reach the limit count."
)
INVENTED = N_("Practice kitchens are invented; their truth is known, and no rule sees more than the log.")


def practice_table(scores: Sequence[RuleScore], reader: Reader) -> Iterator[Line]:
    """Yield the table and what its columns mean."""
    yield Line(text=reader.say(INVENTED))
    yield Line(text="")
    yield Line(text=_row([reader.say(head) for head in HEADS]), weight=Weight.BOLD, picture=True)
    for score in scores:
        yield Line(text=_row(_cells(score, reader)), picture=True)
    yield Line(text="")
    yield Line(text=reader.say(LEGEND))


def _cells(score: RuleScore, reader: Reader) -> list[str]:
    setting = score.setting
    if score.rule is RuleKind.OURS and setting is not None:
        setting *= 100
    measured, number = score.measured, reader.number
    used = number(measured.discard_ratio, digits=2)
    if score.rule is not RuleKind.CLAIRVOYANT:
        used += f" ({number(score.low.discard_ratio, digits=2)}–{number(score.high.discard_ratio, digits=2)})"
    return [
        reader.say(NAMES[score.rule], setting=setting),
        used,
        f"{number(100 * measured.past_share, digits=2)} %",
        f"{number(100 * measured.far_past_share, digits=2)} %",
        f"{number(100 * measured.readings_share, digits=0)} %",
    ]


def _row(cells: Sequence[str]) -> str:
    first, *others = (cell.ljust(width) for cell, width in zip(cells, WIDTHS, strict=True))
    return (first + " ".join(others)).rstrip()
