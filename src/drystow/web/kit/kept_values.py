"""Values of records as a reader reads them: foods by name, days, programs, and what one column keeps as a table."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from math import inf
from pathlib import PurePath
from typing import Any

from django.apps import apps
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.dates import MONTHS
from django.utils.translation import gettext as _

from drystow.days import day_text
from drystow.errors import InputError
from drystow.figures import formatted
from drystow.foods.nutrition import NAMES as NUTRIENTS
from drystow.foods.table import get
from drystow.machine.load import ProgramStep
from drystow.machine.profile import dryer_profile, profile_names
from drystow.messages import msg, msg_many
from drystow.packing.containers import containers
from drystow.ranges import RANGES
from drystow.reports.sheets import SHEETS
from drystow.reports.text import POUND, duration_text, mass_text
from drystow.reports.timeline import step_words
from drystow.shown import DISPLAY, money, price, quantity, show
from drystow.units import KINDS, kelvin
from drystow.web.kit.display_names import KEY_NAMES, key_words, unit_of
from drystow.web.kit.reader import reader
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import in_words, sentence_again

SMALLEST = 0.15  # g; less is lost between the digits of ounces, so it is told in grams

Shower = Callable[[float, str], str]
"""Makes text of the value of a column for a system of units."""


def _of(kind: str, factor: float = 1.0) -> Shower:
    return lambda value, units: show(value * factor, kind, units)


def _temperature(value: float, units: str) -> str:
    return show(kelvin(value), "temperature", units)


def _days(value: float, _units: str) -> str:
    return msg_many("{count} day", "{count} days", _few(value))


def _few(value: float) -> float:
    return int(value) if float(value).is_integer() else round(value, 1)


def _scale(value: float, units: str) -> str:
    return show(value * 1e-3, "fine mass", units if value == 0.0 or value >= SMALLEST else "si")


BY_UNIT: dict[str, Shower] = {
    # end of a column's name: how its values are shown
    "kg": mass_text,
    "g": _scale,
    "m": _of("length"),
    "m3": _of("room"),
    "c": _temperature,
    "pa": _of("pressure"),
    "kwh": _of("energy", 3.6e6),
    "h": _of("time", 3600.0),
    "min": lambda value, _units: duration_text(60.0 * value),
    "days": _days,
}


def _parts(value: float, _units: str) -> str:
    return quantity(value, "fraction", 1, short=True)


def _money(value: float, _units: str) -> str:
    return money(value, kitchen().currency)


def _worth(value: float, units: str) -> str:
    worth = money(value * (POUND if units == "us" else 1.0), kitchen().currency)
    return msg("{worth} per pound", worth=worth) if units == "us" else msg("{worth} per kilogram", worth=worth)


def _counted(unit: str) -> Shower:
    return lambda value, _units: f"{formatted(value, '.4g', reader().signs)} {unit}"


OTHERWISE: dict[str, Shower] = {
    "altitude_m": _of("altitude"),
    **dict.fromkeys(("target_moisture", "residual_moisture", "moisture_sd", "uncertain", "humidity", "chance"), _parts),
    **dict.fromkeys(("price", "shop_price", "packaging_cost", "cost"), _money),
    "tariff_per_kwh": lambda value, _units: price(value, kitchen().currency),
    "value_per_kg": _worth,
    "value": _of("leak"),
    "minutes": lambda value, _units: duration_text(60.0 * value),
    "seconds": _counted("s"),
    "oil_hours_limit": _counted("h"),
    "energy_kcal": _counted("kcal"),
    "energy_kcal_day": _counted("kcal"),
    "protein_g": _counted("g"),  # nutrition: laws want it in grams everywhere
    "protein_g_day": _counted("g"),
    "days": _days,
    "weeks": lambda value, _units: msg_many("{count} week", "{count} weeks", int(value)),
    "years": lambda value, _units: msg_many("{count} year", "{count} years", _few(value)),
    "coldest_month": lambda value, _units: str(MONTHS[int(value)]),
}
"""Columns that are shown in another way than others with their unit, or whose name has none."""


def column_value(name: str, value: float, units: str) -> str:
    """Return the value of a column with its unit as pages show it, nothing where the column has none."""
    shower = OTHERWISE.get(name) or BY_UNIT.get(unit_of(name))
    return in_words(shower(value, units)) if shower is not None else ""


LONGEST = 120
NOTHING = "–"
Names = Mapping[tuple[Any, Any], str]
"""Model and number -> what the record is called."""

REFERENCES = {"own": "foods.OwnFood", "recipe": "foods.Recipe"}
"""Beginning of a food's reference -> the records it names by their number."""
NUMBERED = {"dryer": "dryers.Dryer", "lot": "plans.Lot", "item": "batches.Item"}
"""Key inside a value -> the records it names by their number."""
BARE = (*NUMBERED, "profile")
"""Keys inside a value whose own values say enough."""
IN_PLACE_OF = {"item": "lot"}
"""Key inside a value -> the one beside it that says the same."""

DAY, MOMENT = re.compile(r"\d{4}-\d\d-\d\d"), re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d.*")
SPAN = re.compile(r"(\d{1,2})(?::(\d\d))?-(\d{1,2})(?::(\d\d))?")
QUANTITIES = {
    **{
        name: one.kind
        for part in ("dryer", "program", "tray", "tray.dried_layer")
        for name, one in RANGES[part].items()
    },
    **{f"{part}.{name}": one.kind for part in ("heat", "areas") for name, one in RANGES[f"tray.{part}"].items()},
    "step": "time",
}  # fmt: skip
"""Key inside a value, with the one around it where that makes it another thing -> kind of its quantity in SI."""
TEST_KINDS = {
    "leak": "leak", "vapour": "leak", "speed": "pumping speed", "level": "pressure", "end": "pressure",
    "start": "pressure", "pressure": "pressure", "gauge": "pressure", "scale": "fine mass", "compressor": "power",
    "pump": "power", "idle": "power", "cooling": "power", "running": "power", "trap": "temperature",
    "shelf": "temperature", "ice": "temperature",
}  # fmt: skip
"""Kinds of what a test of a dryer read or gave; every other value of one is a heat transfer."""


def references(name: str, value: Any) -> Iterator[tuple[Any, int]]:
    """Yield the records that a value names by a reference or a number inside it.

    name: of its column, or of its key inside another value
    """
    if isinstance(value, Mapping):
        for key, inner in value.items():
            yield from references(key, inner)
    elif isinstance(value, list):
        for inner in value:
            yield from references("", inner)
    elif name in NUMBERED and isinstance(value, int) and not isinstance(value, bool):
        yield apps.get_model(NUMBERED[name]), value
    elif name == "food" and isinstance(value, str):
        kind, _colon, number = value.partition(":")
        if kind in REFERENCES and number.isdecimal():
            yield apps.get_model(REFERENCES[kind]), int(number)


@dataclass(frozen=True)
class Teller:
    """Tells values of records.

    units: of the reader
    names: of the records that values name
    """

    units: str
    names: Names

    def told(self, name: str, value: Any) -> str:
        """Return the value of a column, as a snapshot has it, in readable words.

        name: of the column
        """
        if name in WHOLE and value not in (None, "", [], {}):
            with suppress(KeyError, TypeError, ValueError, AttributeError):  # kept by another version: told key by key
                return _short(WHOLE[name](self, value))
        return _short(self.part(name, value))

    def part(self, name: str, value: Any) -> str:
        """Return a value, alone or inside another one, in readable words."""
        if value is None or value == "" or value == [] or value == {}:
            return NOTHING
        if isinstance(value, bool):
            return _("yes") if value else _("no")
        if named := [self.names[one] for one in references(name, value) if one in self.names]:
            if not isinstance(value, Mapping | list):
                return named[0]
        elif name in NUMBERED and isinstance(value, int):
            return _("number {number}").format(number=value)
        if isinstance(value, int | float):
            shown = column_value(name, value, self.units)
            return shown or (self._shown(value, kind) if (kind := QUANTITIES.get(name)) else _number(value))
        if isinstance(value, Mapping):
            return self._table(value, name)
        if isinstance(value, list):
            return _beginning("; ", (self.part(name, one) for one in value))
        return _text(name, str(value))

    def _table(self, value: Mapping[str, Any], name: str = "") -> str:
        if value.keys() == {"from", "to"}:
            return _between(*(self.part("", value[side]) for side in ("from", "to")))
        shown = {key: inner for key, inner in value.items() if IN_PLACE_OF.get(key) not in value}
        return _beginning(", ", (self._pair(key, inner, name) for key, inner in shown.items()))

    def _pair(self, key: str, inner: Any, around: str) -> str:
        words = self.part(f"{around}.{key}" if f"{around}.{key}" in QUANTITIES else key, inner)
        return words if key in BARE else f"{_key(key)} {words}"

    def program(self, steps: list[Mapping[str, Any]]) -> str:
        """Return the steps of a shelf program in a row."""
        told = ""
        for step in steps:
            hours = step.get("hours")
            one = step_words(ProgramStep(kelvin(step["shelf_c"]), inf if hours is None else 3600.0 * hours), self.units)
            told = in_words(msg("{first}, then {next}", first=told, next=one) if told else one)
        return told

    def shares(self, parts: Mapping[str, float]) -> str:
        """Return the parts that a food is made of."""
        return _beginning(", ", (f"{_key(key)} {_share(value)}" for key, value in parts.items()))

    def nutrients(self, amounts: Mapping[str, float]) -> str:
        """Return the nutrients of a food, each with the unit that its key ends in."""
        return _beginning(", ", (self._nutrient(key, value) for key, value in amounts.items()))

    def _nutrient(self, key: str, value: float) -> str:
        unit = key.rpartition("_")[2].replace("ug", "µg")
        return f"{in_words(NUTRIENTS[key])} {formatted(value, '.3g', reader().signs)} {unit}"

    def tariff(self, tariff: Mapping[str, Any]) -> str:
        """Return what electricity costs, and in which hours it costs something else."""
        parts = [self._price(tariff["price"])] if "price" in tariff else []
        for row in tariff.get("hours", []):
            days, span = _key(row.get("days", "daily")), _text("", row["span"])
            parts.append(f"{days} {span} {self._price(row['price'])}" if "price" in row else f"{days} {span}")
        return "; ".join(parts)

    def _price(self, value: float) -> str:
        return in_words(price(float(value), kitchen().currency))

    def numbers(self, numbers: Mapping[str, Any]) -> str:
        """Return the numbers of a dryer in the reader's units."""
        return _beginning("; ", (f"{_key(key)} {self.part(key, value)}" for key, value in numbers.items()))

    def _shown(self, value: float, kind: str) -> str:
        if kind == "volume":
            return in_words(show(value, "large volume", self.units))
        if kind not in DISPLAY:
            return f"{_number(value)} {KINDS[kind][0]}"
        return in_words(show(value, kind, self.units))

    def test(self, read: Mapping[str, Any]) -> str:
        """Return what was read in a test of a dryer, or what it gave."""
        parts = []
        if "times" in read:
            pairs = zip(read["times"], read["pressures"], strict=True)
            parts.append(", ".join(f"{duration_text(time)} {self._shown(one, 'pressure')}" for time, one in pairs))
        for key, value in read.items():
            if key == "trays":
                weights = ((number, " → ".join(mass_text(one, self.units) for one in of)) for number, *of in value)
                parts += [f"{_key('tray')} {number}: {of}" for number, of in weights]
            elif key not in ("times", "pressures") and value is not None:
                name, _space, number = key.partition(" ")
                name = ("gauge" if "pressures" in read else "scale") if key == "resolution" else name
                told = self._of_test(key, value, TEST_KINDS.get(name, "heat transfer"))
                parts.append(" ".join(word for word in (_key(name), number, told) if word))
        return "; ".join(parts)

    def _of_test(self, key: str, value: Any, kind: str) -> str:
        if key == "duration":
            return duration_text(value)
        if not isinstance(value, list):
            return self._shown(value, kind)
        low, middle, high = (self._shown(one, kind) for one in value)
        return f"{middle} ({_between(low, high)})"

    def sheet(self, sizes: Mapping[str, Any]) -> str:
        """Return the sizes of a label sheet."""
        return _beginning(", ", (f"{_key(key)} {self._size(value)}" for key, value in sizes.items()))

    def _size(self, value: Any) -> str:
        return self._shown(value, "length") if isinstance(value, float) else _(str(value).capitalize())

    def forecast(self, kept: Mapping[str, Any]) -> str:
        """Return what was forecast for a run as a whole."""
        total = kept["total_h"]
        hours = {part: duration_text(3600.0 * total[part]) for part in ("p10", "p50", "p90") if total.get(part)}
        parts = [hours["p50"]] if "p50" in hours else []
        if parts and len(hours) == 3:
            parts = [f"{parts[0]} ({_between(hours['p10'], hours['p90'])})"]
        if kept.get("energy_kwh") is not None:
            parts.append(column_value("energy_kwh", kept["energy_kwh"], self.units))
        return "; ".join(parts)


WHOLE: Mapping[str, Callable[[Teller, Any], str]] = {
    "program": Teller.program,
    "composition": Teller.shares,
    "nutrients": Teller.nutrients,
    "tariff": Teller.tariff,
    "numbers": Teller.numbers,
    "readings": Teller.test,
    "values": Teller.test,
    "own_sheet": Teller.sheet,
    "prediction": Teller.forecast,
    "found": lambda _teller, value: in_words(sentence_again(value)),
}
"""Column -> how its values are told as a whole."""


def _key(key: str) -> str:
    return key_words(key, in_words)


def _text(name: str, text: str) -> str:
    if name == "food":
        with suppress(InputError):
            return get(text).name
        return _("a food that is gone") if text.partition(":")[0] in REFERENCES else text
    if name == "container" and text in containers():
        return in_words(containers()[text].name)
    if name == "label_sheet":
        return in_words(SHEETS[text].words) if text in SHEETS else _("Your own sheet")
    if name == "profile" and text in profile_names():
        return in_words(dryer_profile(text).words)
    if name in ("photo", "time_zone"):
        return PurePath(text).name if name == "photo" else text.replace("_", " ")
    if MOMENT.fullmatch(text) and (moment := parse_datetime(text)):
        return in_words(day_text(timezone.localtime(moment) if moment.tzinfo else moment, "moment"))
    if DAY.fullmatch(text):
        return in_words(day_text(text))
    if part := SPAN.fullmatch(text):
        return _between(*(_clock(part[hour], part[hour + 1]) for hour in (1, 3)))
    return in_words(KEY_NAMES[text]) if text in KEY_NAMES else _(text)


def _clock(hour: str, minute: str | None) -> str:
    return in_words(day_text(f"2001-01-01T{int(hour) % 24:02d}:{minute or '00'}", "clock"))


def _between(low: str, high: str) -> str:
    return _("{low} to {high}").format(low=low, high=high)


def _share(value: float) -> str:
    return column_value("humidity", value, "")


def _number(value: float) -> str:
    return formatted(value, ".6g", reader().signs) if isinstance(value, float) else str(value)


def _beginning(between: str, parts: Iterable[str]) -> str:
    """Return words in a row, no more of them than are shown: a forecast has hundreds of numbers."""
    text = ""
    for part in parts:
        text = f"{text}{between}{part}" if text else part
        if len(text) > LONGEST:
            break
    return text


def _short(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
