"""From the rows of a batch to what the engine searches for, and what a search rests on."""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from typing import Any

from drystow.foods.model import Food
from drystow.machine.load import AreaSpec, HeatSpec, Load
from drystow.machine.sampling import Calibration
from drystow.planning.load.basket import WHOLE, BasketSpec, LoadRequest, WishSpec, request_of, sizes_between
from drystow.web.batches.adapters import batch_rig, load_of, tray_loads, tray_spec_of
from drystow.web.batches.extra import FOR_ITS_AMOUNT
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.models import Load as TrayLoad
from drystow.web.dryers.lessons import calibration_for
from drystow.web.foods.spec import foods_of
from drystow.web.kit.answers import fingerprint

GERMS = "germs"  # raw food apart from what is eaten as it is; always asked for


@dataclass(frozen=True)
class LoadQuestion:
    """What the search for a load is asked.

    items: food in the basket, in the order of the counter
    counter: for the engine
    known: what the dryer has learned
    fingerprint: hash of all this
    """

    items: tuple[Item, ...]
    counter: LoadRequest
    known: Calibration
    fingerprint: str


@dataclass(frozen=True)
class ProgramQuestion:
    """What the search for a program is asked.

    loads: food on the trays, in the order of the engine's items
    load: for the engine
    asked: the wishes
    known: what the dryer has learned
    fingerprint: hash of all this
    """

    loads: tuple[TrayLoad, ...]
    load: Load
    asked: Mapping[str, Any]
    known: Calibration
    fingerprint: str


def basket_of(batch: Batch) -> list[Item]:
    """Return the food in the basket."""
    return list(Item.objects.kept().filter(batch=batch))


def load_question(
    batch: Batch, asked: Mapping[str, Any], items: Sequence[Item], foods: Mapping[str, Food] | None = None
) -> LoadQuestion:
    """Return what the search for a load is asked; raises `InputErrors` with all that the engine refuses.

    asked: the wishes, as `forms_batch` keeps them
    items: from `basket_of`
    foods: by reference, saves reading them again
    """
    foods = foods_of(item.food for item in items) if foods is None else foods
    spec = BasketSpec(
        time=3600.0 * asked["time_h"],
        rig=batch_rig(batch),
        wishes=tuple(_wish(item, foods[item.food], asked["foods"].get(str(item.pk), {})) for item in items),
        rules=(GERMS, *asked["apart"]),
        share=asked["share"],
    )
    counter, known = request_of(spec), calibration_for(batch.dryer)
    wished = [_as_wished(item, asked["foods"].get(str(item.pk), {})) for item in items]
    return LoadQuestion(tuple(items), counter, known, fingerprint(batch, batch.dryer, wished, foods, known, asked))


def program_question(batch: Batch, asked: Mapping[str, Any]) -> ProgramQuestion:
    """Return what the search for a program is asked; raises `InputErrors` with all that the engine refuses.

    asked: the wishes, as `forms_batch` keeps them
    """
    loads = tray_loads(batch)
    load, known = load_of(batch, loads), calibration_for(batch.dryer)
    rows = (batch, batch.dryer, loads, [row.item for row in loads])
    return ProgramQuestion(
        tuple(loads), load, asked, known, fingerprint(*rows, [item.food for item in load.items], known, asked)
    )


def _wish(item: Item, food: Food, wish: Mapping[str, Any]) -> WishSpec:
    sizes = sizes_between(*wish["cut_m"]) if wish.get("cut_m") else (item.size_m,)
    # how it is cut now, and what holds for that cut and that amount only, does not count
    tray = replace(
        tray_spec_of(item, food, WHOLE, None), size=sizes[0], ice_mass=None, heat=HeatSpec(), areas=AreaSpec()
    )
    return WishSpec(tray, item.mass_kg, sizes, wish.get("value", 1.0), wish.get("must", False))


def _as_wished(item: Item, wish: Mapping[str, Any]) -> Item:
    """Return a food without what the search finds itself: its cut where that is open, and what holds for its amount."""
    item = copy(item)
    item.extra = {name: value for name, value in item.extra.items() if name not in FOR_ITS_AMOUNT}
    if wish.get("cut_m"):
        item.size_m = 0.0
    return item
