"""The stock over time: what is there now, less what came in since, plus what went out since."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from django.db.models import Count, Exists, F, Func, OuterRef, Sum, TextField
from django.utils import timezone

from drystow.numerics.remembered import remembered
from drystow.web.kit.models import Change
from drystow.web.pantry import stock
from drystow.web.pantry.books import OUT
from drystow.web.pantry.models import Movement, Package

SPANS = {"weeks": 26, "months": 24, "years": 120}
"""Points of the choices: half a year of weeks, two and ten years of months."""
KEPT = 32  # courses remembered
POSTGRESQL = "to_char(%(expressions)s + interval '%(minutes)d minutes', 'YYYY-MM-DD')"


class Day(Func):
    """Day of a moment in the kitchen as text, by a function of the database's own: a hundred thousand rows in no time.

    The clock of now counts for all moments: where it changes in summer, an hour at midnight may go to the day beside.
    """

    template = "date(%(expressions)s, '%(minutes)+d minutes')"
    output_field = TextField()

    def as_postgresql(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        """Write it for PostgreSQL, which keeps no text."""
        return self.as_sql(compiler, connection, template=POSTGRESQL, **extra)


@dataclass(frozen=True)
class StockPoint:
    """The stock at the end of a day.

    day: the last of a week or month, or today
    packages: in stock
    mass_kg: dried food in them
    """

    day: date
    packages: int
    mass_kg: float


def course(today: date, span: str = "months", food: str = "") -> list[StockPoint]:
    """Return the stock at the ends of weeks or months up to today, from the first package on.

    Remembered until anything is changed: ten years of packages take a quarter of a second to add up.

    today: the last point
    span: one of `SPANS`
    food: name on the packages; all food when empty
    """
    ahead = timezone.localtime().utcoffset() or timedelta()
    return _added_up(today, span, food, ahead, Change.objects.order_by("-pk").values_list("pk", "at").first())


@remembered(KEPT)
def _added_up(today: date, span: str, food: str, ahead: timedelta, _last_change: object) -> list[StockPoint]:
    packages, movements = stock.kept(), _without(Package.objects.binned())
    if food:
        packages = packages.filter(name=food)
        movements = movements.filter(package__in=Package.objects.filter(name=food).order_by())
    ends = list(ends_of(today, span))
    count, mass = (
        stock.in_state(packages, "stock")
        .order_by()
        .aggregate(count=Count("pk"), mass=Sum("left_mass_kg", default=0.0))
        .values()
    )
    came = _by_day(_packed(packages, ends[-1]))
    took = _by_day(_taken(movements, ends[-1], ahead))
    closed = _by_day(_closed(movements, ends[-1], ahead))
    later = [*sorted({*came, *took, *closed})]
    points = []
    for end in ends:
        while later and later[-1] > end.isoformat():
            day = later.pop()
            count += int(closed[day][0]) - int(came[day][0])
            mass += took[day][1] - came[day][1]
        points.append(StockPoint(end, max(count, 0), max(round(mass, 6), 0.0)))
    first = packages.order_by("packed_on").values_list("packed_on", flat=True).first()
    points = [point for point in points if first is not None and point.day >= first]
    return points[::-1]


def foods(limit: int = 200) -> list[str]:
    """Return the names on the packages, in the order of the alphabet."""
    return sorted(stock.distinct("name"), key=str.casefold)[:limit]


def ends_of(today: date, span: str) -> Iterable[date]:
    """Return today, then the last days of the weeks or months before, backwards."""
    day = today
    for _number in range(SPANS[span]):
        yield day
        day -= timedelta(days=day.isoweekday() if span == "weeks" else day.day)


def _without(packages: Any) -> Any:
    """Return the movements of all other packages; asked so, only an index of the packages is read, not their rows."""
    return Movement.objects.exclude(package__in=packages.order_by())


def _packed(packages: Any, since: date) -> Any:
    days = packages.filter(packed_on__gt=since).order_by().values_list("packed_on")
    return days.annotate(count=Count("pk"), mass=Sum("net_mass_kg"))


def _taken(movements: Any, since: date, ahead: timedelta) -> Any:
    days = (
        movements.filter(at__gte=_midnight_after(since, ahead)).order_by().annotate(day=_day(ahead)).values_list("day")
    )
    out = days.filter(kind__in=OUT).annotate(count=Count("pk"), mass=Sum("mass_kg", default=0.0))
    put_right = days.filter(kind="counted").annotate(count=Count("pk"), mass=-Sum("mass_kg", default=0.0))
    return [*out, *put_right]


def _closed(movements: Any, since: date, ahead: timedelta) -> Any:
    """Return when packages were emptied: their last movement that took something."""
    later = Movement.objects.filter(package=OuterRef("package"), kind__in=(*OUT, "counted"), pk__gt=OuterRef("pk"))
    last = movements.filter(~Exists(later), at__gte=_midnight_after(since, ahead), kind__in=(*OUT, "counted")).exclude(
        package__in=Package.objects.filter(state__in=stock.IN_STOCK).order_by()
    )
    return last.order_by().annotate(day=_day(ahead)).values_list("day").annotate(count=Count("pk"), mass=Sum("mass_kg"))


def _day(ahead: timedelta) -> Day:
    return Day(F("at"), minutes=int(ahead.total_seconds() // 60))


def _midnight_after(day: date, ahead: timedelta) -> datetime:
    return datetime.combine(day + timedelta(days=1), time(), UTC) - ahead


def _by_day(rows: Any) -> defaultdict[str, list[float]]:
    sums: defaultdict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
    for day, count, mass in rows:
        sums[str(day)][0] += count
        sums[str(day)][1] += mass or 0.0
    return sums
