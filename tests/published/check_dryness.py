"""What is left in food that is dried to its target, and how bound it is, against freeze-dried foods on sale."""

from collections.abc import Iterator

from drystow.evidence.dryness.judge import DrynessQuestion, judge
from drystow.evidence.dryness.observed import Evidence
from tests.loads import machine
from tests.published.check import Check

FOODS = {
    "apples": "Apples, raw, without skin",
    "carrots": "Carrots, raw",
    "green beans": "Beans, snap, green, raw",
    "corn": "Corn, sweet, yellow, raw",
    "stew": "Stew, beef",
}
HOUR = 3600.0


def _compare(name: str) -> Iterator[Check]:
    """The middle of what is expected when half of the courses are dry; the study measured food years after drying.

    The water left is near the target of 3% then, so its row checks the target; the activity checks the isotherm.
    """
    load = machine({"food": FOODS[name], "mass": "1 kg", "size": "10 mm", "frozen": True}, shelf=("45 degC until dry",))
    (ahead,) = judge(DrynessQuestion(load, Evidence(), 6 * HOUR, members=200))
    (answer,) = judge(DrynessQuestion(load, Evidence(), 6 * HOUR + ahead.more_time[0], members=200))
    where = "abstract; new and over 50 years old, range of apples, beef, beans, carrots, corn, eggs and stew"
    why = "food as sold, which took up or lost some water since; only the range is known"
    yield Check(
        f"water left in {name} when half of the courses are dry",
        100 * answer.residual_moisture.middle,
        (0.96, 5.26),
        kind="band",
        unit="% of the whole",
        source="byu-thesis",
        where=where,
        why=why,
    )
    yield Check(
        f"water activity of {name} when half of the courses are dry",
        answer.water_activity.middle,
        (0.02, 0.30),
        kind="band",
        unit="-",
        source="byu-thesis",
        where=where,
        why=why,
    )


def compare_apples() -> Iterator[Check]:
    yield from _compare("apples")


def compare_carrots() -> Iterator[Check]:
    yield from _compare("carrots")


def compare_green_beans() -> Iterator[Check]:
    yield from _compare("green beans")


def compare_corn() -> Iterator[Check]:
    yield from _compare("corn")


def compare_stew() -> Iterator[Check]:
    yield from _compare("stew")
