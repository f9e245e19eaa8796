"""Picture of what batches taught: a number's range after each batch."""

from collections.abc import Sequence

from drystow.messages import Message, msg
from drystow.reports.charts import COLOURS, INK, MUTED, Datasets, Spec, configured, on_rows
from drystow.reports.pictures import Picture

LEARNED_SIZE = {"width": 560, "height": 220}
BAND = 0.18  # opacity


def learning_picture(steps: Sequence[tuple[float, float, float]], what: Message, truth: float | None = None) -> Picture:
    """Return the picture of a number against its published value, before the first batch and after each.

    steps: low, middle and high of its factor, nine in ten between low and high [-]
    what: the number, in words
    truth: its real factor where it is known, as in a test [-]
    """
    first, last = steps[0], steps[-1]
    words = msg(
        "{what}, compared with the usual value: {low:.0%} to {high:.0%} before the first batch, "
        "{middle:.0%} after {count} batches (nine in ten from {least:.0%} to {most:.0%}).",
        what=what, low=first[0], high=first[2], count=len(steps) - 1, middle=last[1], least=last[0], most=last[2],
    )  # fmt: skip
    return Picture("learning", what, words, _chart(steps, truth))


def _chart(steps: Sequence[tuple[float, float, float]], truth: float | None) -> Spec:
    import altair as alt

    data: Datasets = {}
    rows = [
        {
            "batch": number,
            "low": round(100.0 * low, 2),
            "middle": round(100.0 * middle, 2),
            "high": round(100.0 * high, 2),
        }
        for number, (low, middle, high) in enumerate(steps)
    ]
    x = alt.X("batch:Q", title=msg("Finished batches"), axis=alt.Axis(tickMinStep=1, format="d", grid=False))
    title = msg("% of the usual value")
    scale = alt.Scale(zero=False, nice=True)
    base = on_rows(data, rows)
    layers = [
        base.encode(x=x, y=alt.Y("low:Q", title=title, scale=scale), y2="high:Q").mark_area(
            opacity=BAND, color=COLOURS[0]
        ),
        base.encode(x=x, y=alt.Y("middle:Q", title=title, scale=scale)).mark_line(
            color=COLOURS[0], strokeWidth=2, point={"color": COLOURS[0], "size": 30}
        ),
        on_rows(data, [{"at": 100.0}]).encode(y="at:Q").mark_rule(color=MUTED, strokeDash=[4, 3]),
    ]
    if truth is not None:
        layers.append(on_rows(data, [{"at": 100.0 * truth}]).encode(y="at:Q").mark_rule(color=INK, strokeWidth=1.5))
    chart = alt.layer(*layers).properties(**LEARNED_SIZE, background="white")
    return {**configured(chart).to_dict(validate=False), "datasets": data}
