"""A life line and a chart of invented figures, and a look into what was drawn."""

from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import pytest

from kettlewell.marks.lifeline import Labels, LifeLine
from kettlewell.marks.svg import Caption
from kettlewell.marks.values import (
    ActKind,
    Chart,
    ChartLabels,
    DrawnAct,
    DrawnLevel,
    LimitLine,
    Measured,
    MeasuredKind,
)

HERE = datetime(2026, 11, 15, 21, 30, tzinfo=UTC)


class Drawn:
    """A picture as read back from its text."""

    def __init__(self, svg):
        self.text = svg
        self.root = ET.fromstring(svg)  # noqa: S314 - our own

    def all(self, part, tag=None):
        """Return what is dressed as ``part``, without the legend's samples."""
        samples = {id(shape) for group in self.root if group.get("transform") for shape in group.iter()}
        return [
            shape
            for shape in self.root.iter()
            if f"mark-{part}" in (shape.get("class") or "").split()
            and id(shape) not in samples
            and tag in (None, shape.tag.rpartition("}")[2])
        ]

    def points(self, part):
        """Return the points of each path dressed as ``part``."""
        return [
            [tuple(map(float, pair.split())) for pair in shape.get("d").strip("MZ").split("L")]
            for shape in self.all(part)
        ]

    def words(self):
        return [shape.text for shape in self.root.iter() if shape.tag.endswith("text")]


@pytest.fixture
def drawn():
    return Drawn


@pytest.fixture
def caption():
    return Caption(name="F1", title="Fries", desc="Polar compounds about 14 % now.")


@pytest.fixture
def life(fry_on):
    return LifeLine(fresh_pct=4.0, limit_pct=24.0, mean_pct=14.0, sd_pct=1.0, coming=fry_on.forecast)


@pytest.fixture
def labels():
    return Labels(fresh="fresh 4", now="now 14", limit="limit 24")


@pytest.fixture
def chart():
    """Ten days with a change on the sixth, and five days to come."""
    day = timedelta(days=1)
    past = [(n, 14.0 + n) for n in range(6)] + [(n, n - 2.0) for n in range(6, 10)]
    return Chart(
        zone=ZoneInfo("Europe/London"),
        here=DrawnLevel(at=HERE, tpc_mean_pct=8.0, tpc_sd_pct=0.8),
        past=tuple(DrawnLevel(at=HERE - (10 - n) * day, tpc_mean_pct=tpc, tpc_sd_pct=0.6) for n, tpc in past),
        coming=tuple(
            DrawnLevel(at=HERE + n * day, tpc_mean_pct=8.0 + n, tpc_sd_pct=1.0) for n in range(1, 6)
        ),
        measured=(
            Measured(at=HERE - 7 * day, tpc_pct=17.5, u_pct=1.0),
            Measured(at=HERE - 2 * day, tpc_pct=12.0, u_pct=1.0, kind=MeasuredKind.UNSOUND),
            Measured(at=HERE - 1 * day, tpc_pct=7.0, u_pct=0.3, kind=MeasuredKind.LABORATORY),
        ),
        acts=(
            DrawnAct(at=HERE - 8 * day, kind=ActKind.TOP_UP),
            DrawnAct(at=HERE - 4.5 * day, kind=ActKind.CHANGE),
            DrawnAct(at=HERE - 3 * day, kind=ActKind.TOP_UP),
        ),
        limits=(LimitLine(tpc_pct=24.0, label="house limit 24 %"),),
    )


@pytest.fixture
def chart_labels():
    return ChartLabels(
        tpc_pct="% polar compounds",
        now="now",
        past="believed",
        forecast="expected",
        measured=dict(zip(MeasuredKind, ("reading", "reading, not sound", "laboratory"), strict=True)),
        acts=dict(zip(ActKind, ("topped up", "moved", "changed"), strict=True)),
        beyond="above the chart",
        figure="{:g}".format,
        day=lambda at: f"{at:%d.%m.}",
    )
