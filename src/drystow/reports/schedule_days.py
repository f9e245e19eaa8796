"""A plan of batches as its pictures draw it."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class BatchBar:
    """One batch.

    number: in the list of batches
    dryer: number of the lane
    start: when it is loaded
    dry: when it is dry
    end: when somebody unloads it
    foods: names of what is in it
    made: it is a batch of the kitchen already
    """

    number: int
    dryer: int
    start: datetime
    dry: datetime
    end: datetime
    foods: tuple[str, ...]
    made: bool = False


@dataclass(frozen=True)
class WaitingBar:
    """Food that waits in the freezer.

    food: its name
    start: when it is frozen
    end: when it is loaded
    """

    food: str
    start: datetime
    end: datetime


@dataclass(frozen=True)
class Days:
    """A plan as it is drawn; all times by the clock of the kitchen.

    begin, end: first and last moment
    dryers: names of the lanes
    bars: batches
    frozen: what waits in the freezer
    away: when nobody is there
    stops: lane, begin, end and reason of times in which a dryer is not to be had
    now: the moment, None when it is not to be drawn
    """

    begin: datetime
    end: datetime
    dryers: tuple[str, ...]
    bars: tuple[BatchBar, ...]
    frozen: tuple[WaitingBar, ...] = ()
    away: tuple[tuple[datetime, datetime], ...] = ()
    stops: tuple[tuple[int, datetime, datetime, str], ...] = ()
    now: datetime | None = None
