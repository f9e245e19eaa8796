"""The ``[[fixed]]`` tables of a plan file: batches that are kept as they are."""

from datetime import timedelta

from drystow.errors import InputError
from drystow.fields import Fields, Problems
from drystow.messages import Message, msg
from drystow.planning.hours import moment
from drystow.planning.schedule.arrivals import ArrivingLot, FixedBatch, PlannedDryer
from drystow.ranges import LONGEST, RANGES
from drystow.units import parse

FIXED = ("dryer", "start", "end", "trays", "mass", "begun")
MOST_FIXED = 200
MOST_TRAYS = 100  # of one lot in one batch


def read_fixed(
    raw: object, prefix: str, dryers: list[PlannedDryer], lots: list[ArrivingLot], problems: Problems
) -> FixedBatch | None:
    """Return one batch that is kept as it is, or None after noting every problem.

    raw: the table as read from TOML
    prefix: name of the table in error messages
    dryers: of the plan
    lots: of the plan
    problems: list to which every problem is added
    """
    before = len(problems)
    fields = Fields(raw, prefix, FIXED, problems)
    if not fields.readable:
        return None
    names = [dryer.name for dryer in dryers]
    dryer = fields.choice("dryer", names, names[0] if len(names) == 1 else "", msg("dryer"))
    start, end = (moment(fields, key) for key in ("start", "end"))
    if start is None or end is None or not timedelta() < end - start < timedelta(seconds=LONGEST):
        fields.problem("end", msg("write start and end, with the end after the start and within 20 days"))
    trays = _trays(fields, [lot.name for lot in lots])
    masses = _masses(fields, [name for name, _count in trays])
    begun = fields.flag("begun") if fields.has("begun") else True
    if len(problems) > before or start is None or end is None:
        return None
    return FixedBatch(names.index(dryer), start, end, trays, masses, begun)


def _trays(fields: Fields, known: list[str]) -> tuple[tuple[str, int], ...]:
    inside = fields.table.get("trays", {})
    found = []
    if not isinstance(inside, dict):
        fields.problem("trays", _such_as(known))
        return ()
    for name, count in inside.items():
        whole = isinstance(count, int) and not isinstance(count, bool) and 1 <= count <= MOST_TRAYS
        if name not in known or not whole:
            fields.problem("trays", _such_as(known))
        else:
            found.append((name, count))
    return tuple(found)


def _such_as(known: list[str]) -> Message:
    name = known[0] if known else "Tomatoes"
    return msg('write names of arrivals with whole trays, such as trays = {{ "{name}" = 2 }}', name=name)


def _masses(fields: Fields, inside: list[str]) -> tuple[tuple[str, float], ...]:
    raw = fields.table.get("mass", {})
    if not isinstance(raw, dict):
        fields.problem("mass", msg('write names of arrivals with weights, such as mass = {{ "Tomatoes" = "3 kg" }}'))
        return ()
    weighed = Fields(raw, f"{fields.prefix}.mass", inside, fields.problems)
    allowed = RANGES["fixed"]["mass"]
    found = []
    for name in raw:
        if name not in inside:
            continue  # already told of
        try:
            mass = parse(raw[name], "mass", f"{weighed.prefix}.{name}")
        except InputError as problem:
            fields.problems.append(problem)
            continue
        if not allowed.holds(mass):
            fields.problems.append(allowed.problem(weighed.name(name), str(raw[name])))
        found.append((name, mass))
    return tuple(found)
