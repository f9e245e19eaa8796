"""The picture: each published time beside its predicted ranges."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import altair as alt

from drystow.reports.charts import COLOURS, INK, MUTED, Spec
from tools.measured_runs.published import Run
from tools.measured_runs.records import HOUR
from tools.measured_runs.scores import inside
from tools.measured_runs.summary import Prediction

WIDTH = 380
FURTHEST = 200.0  # hours; what never gets dry ends here
ROW = 18  # height of a run


def times_chart(runs: Sequence[Run], untaught: Mapping[str, Prediction], left_out: Mapping[str, Prediction]) -> Spec:
    """Return the picture of all runs with a time.

    runs: published
    untaught: predictions with the program's own numbers, by the name of the run
    left_out: those that the other studies taught
    """
    timed = [run for run in runs if run.timed]
    names = [run.name for run in timed]
    y = alt.Y("name:N", title=None, sort=names, axis=alt.Axis(labelLimit=420))
    scale = alt.Scale(type="log", domain=[1, FURTHEST])
    axis = alt.Axis(values=[1, 2, 5, 10, 20, 50, 100, 200])
    layers = []
    for said, offset, color in ((untaught, -4, MUTED), (left_out, 4, INK)):
        base = alt.Chart(alt.InlineData(values=[_values(run, said[run.name]) for run in timed]))
        x = alt.X("p10:Q", title="Hours", scale=scale, axis=axis)
        layers += [
            base.mark_rule(color=color, strokeWidth=2, yOffset=offset).encode(y=y, x=x, x2="p90:Q"),
            base.mark_tick(color=color, thickness=2, height=7, yOffset=offset).encode(
                y=y, x=alt.X("p50:Q", scale=scale)
            ),
        ]
    points = alt.Chart(
        alt.InlineData(
            values=[
                {"name": run.name, "published": run.published / HOUR, "inside": inside(run, left_out[run.name])}
                for run in timed
            ]
        )
    )
    at = alt.X("published:Q", scale=scale)
    layers += [
        points.mark_point(size=45, color=COLOURS[1], opacity=1).encode(y=y, x=at),
        points.transform_filter("datum.inside")
        .mark_point(size=45, color=COLOURS[1], filled=True, opacity=1)
        .encode(y=y, x=at),
    ]
    spec: Spec = alt.layer(*layers).properties(width=WIDTH, height=ROW * len(timed)).to_dict()
    return spec


def _values(run: Run, said: Prediction) -> dict[str, Any]:
    return {
        "name": run.name,
        **{
            key: min(value / HOUR, FURTHEST) if math.isfinite(value) else FURTHEST
            for key, value in zip(("p10", "p50", "p90"), said.ranges, strict=True)
        },
    }
