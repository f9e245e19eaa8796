"""Hours of the week as a person writes them: when somebody is home, what electricity costs."""

import re
from datetime import date, datetime, time

from drystow.fields import Fields, Problems
from drystow.messages import msg
from drystow.ranges import RANGES
from drystow.units import as_written

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
HOME_KEYS = ("daily", "weekdays", "weekend", *WEEKDAYS)
TARIFF_KEYS = ("price", "hours")
HOURS_KEYS = ("days", "span", "price")
SPAN = re.compile(r"^\s*(\d{1,2})(?::(\d{2}))?\s*-\s*(\d{1,2})(?::(\d{2}))?\s*$")
DAYTIME = ((7.0, 22.0),)  # when nothing is written; drystow-default

Spans = tuple[tuple[float, float], ...]
"""Parts of a day, from and to [h]."""


def read_home(raw: object, problems: Problems) -> tuple[Spans, ...]:
    """Return the hours in which somebody is there, per weekday from Monday.

    raw: the table as read from TOML
    problems: list to which every problem is added
    """
    fields = Fields(raw, "home", HOME_KEYS, problems)
    days: list[Spans] = [DAYTIME] * 7
    for key in HOME_KEYS:
        if fields.has(key):
            spans = tuple(span for text in fields.texts(key, 12) if (span := _span(fields, key, text)) is not None)
            for number in _numbers(key):
                days[number] = spans
    return tuple(days)


def read_tariff(raw: object, problems: Problems) -> tuple[tuple[float, ...], ...]:
    """Return the price of a kilowatt-hour in each hour, per weekday from Monday [currency/kWh].

    raw: the table as read from TOML
    problems: list to which every problem is added
    """
    fields = Fields(raw, "tariff", TARIFF_KEYS, problems, RANGES["tariff"])
    usual = fields.number("price", 0.0)
    prices = [[usual] * 24 for _ in range(7)]
    rows = fields.table.get("hours", [])
    if not isinstance(rows, list) or len(rows) > 50:
        fields.problem("hours", msg("write [[tariff.hours]] tables with span and price"))
        rows = []
    for place, row in enumerate(rows, start=1):
        part = Fields(row, f"tariff.hours[{place}]", HOURS_KEYS, problems, RANGES["tariff"])
        days = part.choice("days", HOME_KEYS, "daily", msg("kind of day"))
        span = _span(part, "span", part.text("span"))
        price = part.number("price", usual)
        if span is None:
            continue
        for day in _numbers(days):
            for hour in range(24):
                if span[0] <= hour < span[1]:
                    prices[day][hour] = price
    return tuple(tuple(day) for day in prices)


def moment(fields: Fields, key: str) -> datetime | None:
    """Return a date with its time, a bare date as its first moment; None when it is missing or wrong.

    fields: table that it stands in
    key: its name
    """
    value = fields.table.get(key)
    if value is None:
        return None
    if isinstance(value, datetime) and value.tzinfo is None and 1950 <= value.year <= 2200:
        return value.replace(microsecond=0)
    if isinstance(value, date) and not isinstance(value, datetime) and 1950 <= value.year <= 2200:
        return datetime.combine(value, time())
    written = as_written(value)
    words = msg(
        "{value} is not a date with a time; write it without quotes, such as 2026-09-07T18:00:00", value=written
    )
    fields.problem(key, words)
    return None


def _numbers(key: str) -> range:
    groups = {"daily": range(7), "weekdays": range(5), "weekend": range(5, 7)}
    return groups.get(key) or range(WEEKDAYS.index(key), WEEKDAYS.index(key) + 1)


def _span(fields: Fields, key: str, text: str) -> tuple[float, float] | None:
    match = SPAN.match(text)
    if match is not None:
        begin = int(match[1]) + int(match[2] or 0) / 60
        end = int(match[3]) + int(match[4] or 0) / 60
        if begin < end <= 24 and int(match[2] or 0) < 60 and int(match[4] or 0) < 60:
            return begin, end
    fields.problem(key, msg("'{text}' is not a part of a day; write it like '6:30-8' or '17-22'", text=text))
    return None
