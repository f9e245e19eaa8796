"""What the engine says of one lot or one dryer of a plan before it is kept."""

from collections.abc import Sequence

from drystow.errors import InputError, InputErrors
from drystow.foods.model import Food
from drystow.machine.loadfile import parse_load
from drystow.planning.load.basket import STAND_IN
from drystow.planning.schedule.plan_file import parse_lots
from drystow.web.kit import records
from drystow.web.kit.reader import kitchen_zone
from drystow.web.plans.lots_table import dryer_table, lots_table
from drystow.web.plans.models import Lot, PlanDryer

ENGINE = {"tray_mass": "tray", "drying_time": "drying", "needed_by": "ready_by"}
"""Field of a plan file -> of the form, where they differ."""


def lot_problems(lot: Lot, dryers: Sequence[PlanDryer], food: Food) -> list[InputError]:
    """Return what the engine refuses of a lot, by the fields of its form; nothing when the plan has no dryer yet.

    lot: not kept yet, with its plan
    dryers: of the plan
    food: what it is
    """
    if not dryers:
        return []
    kitchen = records.kitchen()
    zone = kitchen_zone(kitchen.time_zone)
    try:
        table = lots_table(lot.plan, dryers, [lot], {lot.food: food}, kitchen=kitchen, zone=zone)
        parse_lots(table)
    except (InputError, InputErrors) as error:
        return [_beside(problem) for problem in error.problems]
    return []


def dryer_problems(row: PlanDryer) -> list[InputError]:
    """Return what the engine refuses of the program of a dryer.

    row: not kept yet, with its dryer
    """
    table = dryer_table(row)
    machine = {"profile": table["profile"], **table.get("numbers", {})}
    try:
        parse_load({"dryer": machine, "program": table["program"], "tray": [STAND_IN]})
    except InputErrors as error:
        return list(error.problems)
    return []


def _beside(problem: InputError) -> InputError:
    name = problem.field.removeprefix("arrival[1].")
    return InputError(ENGINE.get(name, name), problem.message)
