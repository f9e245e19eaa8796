"""A week and a garden season that Alder Lane Kitchen plans; all of it invented."""

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from typing import Any

from drystow.messages import msg
from drystow.web.demo.menu import CUTS, PROGRAMS, MenuFood
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.reader import kitchen_zone
from drystow.web.plans.models import Choice, Crop, Lot, Plan, PlanDryer, Season

WORDS = msg("demo")
HOME: dict[str, list[str]] = {"weekdays": ["6:30-8:30", "17-22"], "weekend": ["8-22"]}
TARIFF: dict[str, Any] = {"price": 0.15, "hours": [{"days": "weekdays", "span": "16-21", "price": 0.34}]}
LOTS = ((0, 9, 3.2), (0, 18, 5.4), (1, 10, 4.1), (1, 18, 6.2), (3, 12, 4.8), (3, 18, 5.1), (4, 9, 3.7), (5, 10, 4.4))
"""Day and hour of arrival, and fresh mass [kg]."""
GARDEN = (
    # food, first, peak and last day as (month, day), mass of a season [kg], pickings per week
    ("Strawberries, sliced", (5, 25), (6, 10), (6, 30), 76.0, 3.0),
    ("Peas", (6, 12), (6, 22), (7, 5), 30.0, 2.0),
    ("Raspberries, whole", (6, 28), (7, 10), (7, 30), 26.0, 3.0),
    ("Green beans, cut", (7, 5), (7, 28), (8, 31), 60.0, 2.0),
    ("Zucchini, sliced", (7, 1), (8, 1), (9, 10), 90.0, 2.0),
    ("Sweet corn, kernels", (8, 5), (8, 20), (9, 10), 64.0, 2.0),
    ("Tomatoes, sliced", (8, 1), (8, 25), (9, 25), 140.0, 3.0),
    ("Red peppers, strips", (8, 15), (9, 5), (9, 30), 36.0, 1.0),
    ("Apples, rings", (9, 5), (9, 25), (10, 15), 120.0, 1.0),
)


def save_plans(dryers: list[Dryer], refs: Mapping[str, str], now: datetime) -> None:
    """Save a plan of the week that begins now, and a season of the next summer.

    dryers: of the kitchen
    refs: of own foods and recipes, by the names that `CUTS` has
    now: this moment
    """
    midnight = now.astimezone(kitchen_zone(records.kitchen().time_zone)).replace(hour=0, minute=0, second=0)
    today = midnight.date()
    plan = _save(
        Plan(title="A full week", begin=today, days=7, home=HOME, tariff=TARIFF, freezer_m3=0.045, apart=["smells"])
    )
    for dryer in dryers:
        _save(PlanDryer(plan=plan, dryer=dryer, program=list(PROGRAMS["usual"])))
    for cut, (day, hour, mass) in zip(_of_month(today.month), LOTS, strict=False):
        _save(
            Lot(
                plan=plan,
                name=cut.name,
                food=refs.get(cut.ref, cut.ref),
                mass_kg=mass,
                arrives=midnight + timedelta(days=day, hours=hour),
                shape=cut.shape,
                size_m=cut.size_m,
                tray_kg=cut.tray_kg,
                value_per_kg=round(cut.shop - cut.price, 1),
                frozen=cut.frozen,
            )
        )
    _season(dryers, today)


def _of_month(month: int) -> Iterator[MenuFood]:
    yield from (cut for cut in CUTS if month in cut.months)


def _season(dryers: list[Dryer], today: date) -> None:
    year = today.year + (today.month >= 4)
    season = _save(
        Season(
            title="Next summer's garden", begin=date(year, 5, 20), weeks=22, home=HOME, tariff=TARIFF, freezer_m3=0.09
        )
    )
    cuts = {cut.name: cut for cut in CUTS}
    for name, first, peak, last, mass, pickings in GARDEN:
        cut = cuts[name]
        _save(
            Crop(
                season=season,
                name=name,
                food=cut.ref,
                shape=cut.shape,
                size_m=cut.size_m,
                tray_kg=cut.tray_kg,
                first=date(year, *first),
                peak=date(year, *peak),
                last=date(year, *last),
                mass_kg=mass,
                per_week=pickings,
                value_per_kg=round(cut.shop - cut.price, 1),
            )
        )
    small = [{"dryer": dryers[-1].pk}]
    _save(Choice(season=season, name="Only the small dryer", dryers=small))
    _save(Choice(season=season, name="Both dryers", dryers=[{"dryer": dryer.pk} for dryer in dryers], price=3000.0))
    _save(Choice(season=season, name="A larger one in its place", dryers=[{"profile": "floor-7"}], price=4500.0))


def _save(row: Any) -> Any:
    return records.create(row, words=WORDS)
