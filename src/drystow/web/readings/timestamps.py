"""Times as loggers write them: which way is it written, and which moment was it, also when the clocks change."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from drystow.errors import InputError
from drystow.messages import Message, msg
from drystow.numerics import Array

FORMATS = {
    "ymd": msg("year, month, day (2026-03-04 14:05)"),
    "dmy": msg("day, month, year (4/3/2026 14:05)"),
    "mdy": msg("month, day, year (3/4/2026 2:05 PM)"),
    "epoch": msg("seconds since 1970"),
    "epoch ms": msg("milliseconds since 1970"),
    "serial": msg("days since 1900, as spreadsheets count"),
    "elapsed s": msg("seconds since the start"),
    "elapsed min": msg("minutes since the start"),
    "elapsed h": msg("hours since the start"),
}
ELAPSED = {"elapsed s": 1e3, "elapsed min": 6e4, "elapsed h": 3.6e6}
MONTHS = {name: number for number, name in enumerate(
    ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"], start=1)}  # fmt: skip
DAY = r"\s*(?P<a>\d{1,4}|[A-Za-z]{3,9})[-/. ]\s*(?P<b>\d{1,2}|[A-Za-z]{3,9})[-/., ]\s*(?P<c>\d{1,4})"
HOUR = (
    r"(?P<h>\d{1,2}):(?P<m>\d{2})(?::(?P<s>\d{2})(?:[.,](?P<f>\d{1,9}))?)?\s*(?P<half>[AaPp]\.?[Mm]\.?)?"
    r"\s*(?P<zone>Z|[+-]\d{2}:?\d{2})?\s*"
)
WRITTEN = re.compile(rf"{DAY}(?:,?[T\s]+{HOUR})?\s*")
DAY_ALONE, HOUR_ALONE = re.compile(rf"{DAY}[,T\s]*"), re.compile(HOUR)
SERIAL_START = datetime(1899, 12, 30)
EARLIEST, LATEST = datetime(1990, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC)
HALF_HOUR = 1.8e6  # [ms]
QUARTER = 900_000  # [ms]
EPOCH = datetime(1970, 1, 1)


@dataclass(frozen=True)
class Guess:
    """How times seem to be written.

    format: one of `FORMATS`, empty when nothing fits
    ask: day and month could also be the other way round
    """

    format: str
    ask: bool = False


def guess_format(samples: Sequence[str]) -> Guess:
    """Return how times are written.

    samples: as many as there are

    >>> guess_format(["13/02/2026 10:00"]), guess_format(["03/04/2026 10:00"])
    (Guess(format='dmy', ask=False), Guess(format='dmy', ask=True))
    """
    texts = [text for text in samples if text.strip()]
    matches = [match for text in texts if (match := WRITTEN.fullmatch(text))]
    if matches and len(matches) >= 0.8 * len(texts):
        return _guess_order(matches)
    numbers = [number for text in texts if (number := _number(text)) is not None]
    if not numbers or len(numbers) < 0.8 * len(texts):
        return Guess("")
    low, high = min(numbers), max(numbers)
    if low > 6.3e11 and high < 4.2e12:
        return Guess("epoch ms")
    if low > 6.3e8 and high < 4.2e9:
        return Guess("epoch")
    if low > 32_874 and high < 73_050:  # 1990 to 2100
        return Guess("serial")
    return Guess("elapsed s") if low >= 0 and numbers == sorted(numbers) and high < 1e7 else Guess("")


def _guess_order(matches: Sequence[re.Match[str]]) -> Guess:
    first = matches[0]
    if first["a"].isalpha():
        return Guess("mdy")
    if len(first["a"]) == 4:
        return Guess("ymd")
    if first["b"].isalpha():
        return Guess("dmy")
    if max(int(match["a"]) for match in matches if match["a"].isdigit()) > 12:
        return Guess("dmy")
    if max(int(match["b"]) for match in matches if match["b"].isdigit()) > 12:
        return Guess("mdy")
    return Guess("dmy", ask=True)


def reader_of(format: str, start: datetime | None = None) -> Callable[[str], tuple[datetime, bool]]:
    """Return what makes a moment of a written time: a moment on the logger's own clock, or, when the second value is
    true, one of UTC. It raises `InputError` for what it cannot read.

    format: one of `FORMATS`
    start: moment from which elapsed times count
    """
    if format in ("ymd", "dmy", "mdy"):
        return lambda text: _written(text, format)
    if format in ELAPSED:
        if start is None:
            raise InputError("start", msg("times that count from the start need a start time"))
        return lambda text: (start.astimezone(UTC) + timedelta(milliseconds=_count(text) * ELAPSED[format]), True)
    if format == "serial":
        return lambda text: (SERIAL_START + timedelta(milliseconds=round(_count(text) * 86_400_000)), False)
    if format in ("epoch", "epoch ms"):
        scale = 1000.0 if format == "epoch" else 1.0
        return lambda text: (datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=_count(text) * scale), True)
    raise InputError("format", msg("choose how the times are written"))


def _written(text: str, order: str) -> tuple[datetime, bool]:
    """Return the moment of a date with a time; each day and each time of the day is read once."""
    colon = text.find(":")
    cut = len(text) if colon < 0 else max(colon - 2, 0) if text[max(colon - 2, 0) : colon].isdigit() else colon - 1
    try:
        moment = _day(text[:cut], order)
        if cut == len(text):
            return moment, False
        passed, east = _hour(text[cut:])
    except (ValueError, KeyError, TypeError):
        raise InputError("time", msg("'{text}' is not a date with a time", text=text[:40])) from None
    if east is None:
        return moment + passed, False
    return moment.replace(tzinfo=UTC) + passed - east, True


@lru_cache(maxsize=4096)
def _day(text: str, order: str) -> datetime:
    match = DAY_ALONE.fullmatch(text)
    if match is None:
        raise ValueError
    parts = dict(zip(order, (match["a"], match["b"], match["c"]), strict=True))
    year = int(parts["y"])
    return datetime(year + 2000 if year < 100 else year, _month(parts["m"]), int(parts["d"]))


@lru_cache(maxsize=200_000)
def _hour(text: str) -> tuple[timedelta, timedelta | None]:
    """Return a time of the day, and how far east its zone is when it names one."""
    match = HOUR_ALONE.fullmatch(text)
    if match is None:
        raise ValueError
    hour, minute, second = int(match["h"]), int(match["m"]), int(match["s"] or 0)
    if match["half"]:
        if not 1 <= hour <= 12:
            raise ValueError
        hour = hour % 12 + (12 if match["half"][0] in "pP" else 0)
    if hour > 23 or minute > 59 or second > 59:
        raise ValueError
    micro = int((match["f"] or "0").ljust(6, "0")[:6])
    passed = timedelta(hours=hour, minutes=minute, seconds=second, microseconds=micro)
    if not match["zone"]:
        return passed, None
    if match["zone"] == "Z":
        return passed, timedelta()
    digits = match["zone"][1:].replace(":", "")
    east = timedelta(hours=int(digits[:2]), minutes=int(digits[2:]))
    return passed, -east if match["zone"][0] == "-" else east


def _month(text: str) -> int:
    return int(text) if text.isdigit() else MONTHS[text[:3].lower()]


def _number(text: str) -> float | None:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        return None


def _count(text: str) -> float:
    number = _number(text)
    if number is None or not abs(number) < 1e13:
        raise InputError("time", msg("'{text}' is not a number of this kind", text=text[:40]))
    return number


def check_moment(moment: datetime) -> None:
    """Raise `InputError` for a moment before 1990 or after 2100."""
    if not EARLIEST <= moment.replace(tzinfo=UTC) < LATEST:
        raise InputError(
            "time", msg("{year} can’t be a year of this logger; is the format right?", year=str(moment.year))
        )


def utc_of_local(
    local: Sequence[datetime], zone: ZoneInfo, steady: bool = False
) -> tuple[Array, dict[int, Message], list[Message]]:
    """Return moments [ms since 1970] of times on a logger's own clock, what is wrong with single ones by their
    place, and what was decided where the clock was changed.

    local: in the order in which they were written, oldest or newest first
    zone: of the logger
    steady: its clock is never changed for summer
    """
    if not local:
        return np.zeros(0), {}, []
    if steady:
        standard = _standard_offset(local[0], zone)
        clock = np.array(local, dtype="datetime64[ms]").astype(float)
        return clock - standard.total_seconds() * 1000, {}, []
    backwards = len(local) > 1 and local[0] > local[-1]
    ordered = list(local)[::-1] if backwards else list(local)
    moments, wrong, notes = _in_order(ordered, zone)
    if backwards:
        last = len(ordered) - 1
        return moments[::-1], {last - place: words for place, words in wrong.items()}, notes
    return moments, wrong, notes


def _in_order(local: list[datetime], zone: ZoneInfo) -> tuple[Array, dict[int, Message], list[Message]]:
    early, late = _both(local, zone)
    notes: list[Message] = []
    step = float(np.median(np.abs(np.diff(early)))) if len(local) > 1 else 0.0
    for start, end in _runs(early < late):
        early[start:end], sure = _choose(local, early, late, start, end, step)
        if not sure:
            words = msg(
                "{time} came twice when the clocks went back, and the file does not show which one it "
                "was; we took the first",
                time=local[start].isoformat(" ", "minutes"),
            )
            notes.append(words)
    wrong: dict[int, Message] = {}
    for start, end in _runs(early > late):  # with fold 0 the clock goes on as if it had not been changed
        follows = end == len(local) or early[end - 1] <= early[end]
        words = msg(
            "{time} was skipped when the clocks went forward",
            time=local[start].isoformat(" ", "minutes"),
        )
        if follows:
            notes.append(msg("{words}; we assumed the logger changed its clock late", words=words))
        else:
            advice = msg("{words}; does this logger keep the same time all year? Then tick that", words=words)
            wrong |= dict.fromkeys(range(start, end), advice)
    return early, wrong, notes


def _both(local: list[datetime], zone: ZoneInfo) -> tuple[Array, Array]:
    """Return the moments of local times, taken as the first and as the second of that time [ms since 1970].

    Clocks are changed at quarters of an hour, so that one look at each quarter is enough.
    """
    clock = np.array(local, dtype="datetime64[ms]").astype(np.int64)
    quarters, place = np.unique(clock // QUARTER, return_inverse=True)
    starts = [EPOCH + timedelta(milliseconds=int(quarter) * QUARTER) for quarter in quarters]
    offsets = [
        [(start.replace(tzinfo=zone, fold=fold).utcoffset() or timedelta()).total_seconds() * 1000 for start in starts]
        for fold in (0, 1)
    ]
    early, late = (clock - np.array(offset)[place] for offset in offsets)
    return early, late


def _choose(local: list[datetime], early: Array, late: Array, start: int, end: int, step: float) -> tuple[Array, bool]:
    """Return the moments of a run of hours that came twice, and whether the file shows which they were."""
    back = _step_back(local, start, end, step)
    if back is not None:
        return np.concatenate([early[start:back], late[back:end]]), True
    first, second = (_gaps(moments, early, start, end, step) for moments in (early, late))
    chosen = late if second < first else early
    return chosen[start:end].copy(), abs(first - second) >= max(step, 1.0) * 0.5


def _step_back(local: list[datetime], start: int, end: int, step: float) -> int | None:
    """Return where the clock goes back within a run; with hourly readings the same time twice is a step back too."""
    for place in range(start + 1, end):
        ahead = (local[place] - local[place - 1]).total_seconds()
        if ahead < 0 or (ahead == 0 and step >= HALF_HOUR):
            return place
    return None


def _gaps(moments: Array, others: Array, start: int, end: int, step: float) -> float:
    """Return how far the distances to the readings before and after a run are from the usual step."""
    cost = 0.0
    if start > 0:
        cost += abs(float(moments[start] - others[start - 1]) - step)
    if end < len(others):
        cost += abs(float(others[end] - moments[end - 1]) - step)
    return cost


def _runs(mask: NDArray[np.bool_]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(int), [0]])))
    return [(int(start), int(end)) for start, end in zip(edges[::2], edges[1::2], strict=True)]


def _standard_offset(local: datetime, zone: ZoneInfo) -> timedelta:
    aware = local.replace(tzinfo=zone)
    return (aware.utcoffset() or timedelta()) - (aware.dst() or timedelta())
