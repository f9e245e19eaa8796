"""Pictures of the trial: the place of the truth in the forecasts, and what became of each probability."""

from collections.abc import Sequence
from typing import Any

import altair as alt
import numpy as np
from scipy.stats import binom

from drystow.reports.charts import COLOURS, GRID, INK, MUTED, Spec
from tools.evidence.batch import Row
from tools.evidence.scores import Band

BINS = 10
WIDTH, HEIGHT = 300, 180


def ranks_chart(rows: Sequence[Row]) -> Spec:
    """Return how often the truth lies in each tenth of the forecast, beside what chance allows.

    rows: of trays
    """
    parts = [
        _ranks([row[f"{name}_place"] for row in rows], title)
        for name, title in (("moisture", "Residual moisture"), ("activity", "Water activity"))
    ]
    return _bare(alt.hconcat(*parts))


def _ranks(places: Sequence[float], title: str) -> Any:
    counts = np.histogram(places, BINS, (0.0, 1.0))[0]
    low, high = binom.interval(0.99, len(places), 1.0 / BINS)
    values = [
        {"from": at / BINS, "to": (at + 1) / BINS, "count": int(count), "low": int(low), "high": int(high)}
        for at, count in enumerate(counts)
    ]
    base = alt.Chart(alt.InlineData(values=values), width=WIDTH, height=HEIGHT, title=title)
    x = alt.X("from:Q", title="Place of the truth in the forecast", scale=alt.Scale(domain=[0, 1]))
    band = base.mark_rect(color=GRID).encode(x=x, x2="to:Q", y=alt.Y("low:Q", title="Trays"), y2="high:Q")
    bars = base.mark_rect(color=COLOURS[0], opacity=0.75, stroke="white").encode(
        x=x, x2="to:Q", y=alt.Y("count:Q"), y2=alt.datum(0)
    )
    return band + bars


def reliability_chart(bands: Sequence[Band]) -> Spec:
    """Return how often trays were dry against the probability that was said.

    bands: classes of probability
    """
    values = [
        {
            "said": band.mean,
            "dry": band.dry.value,
            "low": band.dry.low,
            "high": band.dry.high,
            "count": str(band.dry.of),
        }
        for band in bands
    ]
    line = alt.Chart(alt.InlineData(values=[{"x": 0, "y": 0}, {"x": 1, "y": 1}])).mark_line(
        color=MUTED, strokeDash=[4, 3]
    )
    base = alt.Chart(alt.InlineData(values=values), width=WIDTH, height=WIDTH)
    x = alt.X("said:Q", title="Probability of dry that was said", scale=alt.Scale(domain=[0, 1]))
    y = alt.Y("dry:Q", title="Share that was dry", scale=alt.Scale(domain=[0, 1]))
    chart = (
        line.encode(x="x:Q", y="y:Q")
        + base.mark_rule(color=INK).encode(x=x, y=alt.Y("low:Q"), y2="high:Q")
        + base.mark_point(filled=True, size=70, color=COLOURS[1], opacity=1).encode(x=x, y=y)
        + base.mark_text(align="left", dx=7, dy=9, color=INK).encode(x=x, y=y, text="count:N")
    )
    return _bare(chart)


def delays_chart(delays: Sequence[float]) -> Spec:
    """Return how long after true dryness trays were called dry.

    delays: from true dryness to the verdict [h]
    """
    counts, edges = np.histogram(np.clip(delays, -4.0, 20.0), 12, (-4.0, 20.0))
    values = [
        {"from": float(start), "to": float(end), "count": int(count)}
        for start, end, count in zip(edges[:-1], edges[1:], counts, strict=True)
    ]
    chart = (
        alt.Chart(alt.InlineData(values=values), width=2 * WIDTH, height=HEIGHT)
        .mark_rect(color=COLOURS[0], opacity=0.75, stroke="white")
        .encode(
            x=alt.X("from:Q", title="Hours from true dryness to the verdict dry"),
            x2="to:Q",
            y=alt.Y("count:Q", title="Trays"),
            y2=alt.datum(0),
        )
    )
    return _bare(chart)


def _bare(chart: Any) -> Spec:
    spec: Spec = chart.to_dict()
    return spec
