"""The picture: each published time beside its predicted range."""

import math
from collections.abc import Sequence

import altair as alt

from drystow.reports.charts import COLOURS, INK, MUTED, Spec
from tools.measured_runs.blind import HOUR
from tools.measured_runs.scores import Pair, inside

WIDTH = 380
FURTHEST = 200.0  # hours; what never gets dry ends here


def times_chart(pairs: Sequence[Pair]) -> Spec:
    """Return the picture of all runs with a time.

    pairs: runs with predictions
    """
    timed = [(run, said) for run, said in pairs if run.timed]
    values = [
        {
            "name": run.name,
            "published": run.published / HOUR,
            "inside": inside(run, said),
            **{
                key: min(value / HOUR, FURTHEST) if math.isfinite(value) else FURTHEST
                for key, value in zip(("p10", "p50", "p90"), said.ranges, strict=True)
            },
        }
        for run, said in timed
    ]
    base = alt.Chart(alt.InlineData(values=values), width=WIDTH, height=17 * len(values))
    y = alt.Y("name:N", title=None, sort=[run.name for run, _said in timed], axis=alt.Axis(labelLimit=420))
    scale = alt.Scale(type="log", domain=[1, FURTHEST])
    x = alt.X("p10:Q", title="Hours", scale=scale, axis=alt.Axis(values=[1, 2, 5, 10, 20, 50, 100, 200]))
    chart = (
        base.mark_rule(color=MUTED, strokeWidth=3).encode(y=y, x=x, x2="p90:Q")
        + base.mark_tick(color=INK, thickness=2, height=10).encode(y=y, x=alt.X("p50:Q", scale=scale))
        + base.mark_point(size=45, color=COLOURS[1], opacity=1).encode(y=y, x=alt.X("published:Q", scale=scale))
        + base.transform_filter("datum.inside")
        .mark_point(size=45, color=COLOURS[1], filled=True, opacity=1)
        .encode(y=y, x=alt.X("published:Q", scale=scale))
    )
    spec: Spec = chart.to_dict()
    return spec
