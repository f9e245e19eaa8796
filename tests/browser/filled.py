"""A small filled kitchen on a server: the demo's first batches in every stage, two accounts, and pages that fail."""

import json
from typing import Any

from tests.web.lan import PASSWORD

BATCHES = 10


def main() -> None:
    """Serve it and print where everything is, as one line of JSON."""
    from drystow.web.server import make_server, start_django

    start_django(demo=True, lan=True)
    from django.db import connection

    from drystow.web.accounts import people
    from drystow.web.demo.fill import fill

    fill(BATCHES)
    people.add("Ana", people.OWNER, PASSWORD)
    people.add("Ben", people.VIEWER, PASSWORD)
    _failing_pages()
    places = _places()
    connection.close()
    server = make_server(demo=True, lan=True, port=0)
    print(json.dumps({"address": f"http://127.0.0.1:{server.effective_port}", "places": places}), flush=True)
    server.run()


def _places() -> dict[str, str]:
    """Return the addresses of one of everything."""
    from drystow.foods import table
    from drystow.web.batches.models import Batch
    from drystow.web.dryers.models import Dryer
    from drystow.web.foods.models import OwnFood, Recipe
    from drystow.web.pantry.models import Package, Place
    from drystow.web.plans.models import Plan, Season

    _supper()
    one = {
        "dry": Recipe.objects.filter(use="dry"),
        "cook": Recipe.objects.filter(use="cook"),
        "own": OwnFood.objects.all(),
        "dryer": Dryer.objects.all(),
        "place": Place.objects.all(),
        "package": Package.objects.filter(state="stored"),
        "used": Package.objects.exclude(state="stored"),
        "plan": Plan.objects.exclude(lots=None),
        "season": Season.objects.exclude(crops=None),
    }
    got = {name: rows.first() for name, rows in one.items()}
    assert None not in got.values(), got
    berries = table.get("Strawberries, raw").id
    found = {
        "berries": berries,
        "own-food": f"/foods/own/{got['own'].pk}/",
        "own-food-edit": f"/foods/own/{got['own'].pk}/edit/",
        "table-food": f"/foods/t/{berries}/",
        "recipe-dry": f"/foods/recipes/{got['dry'].pk}/",
        "recipe-cook": f"/foods/recipes/{got['cook'].pk}/",
        "recipe-edit": f"/foods/recipes/{got['cook'].pk}/edit/",
        "dryer": f"/dryers/{got['dryer'].pk}/",
        "dryer-edit": f"/dryers/{got['dryer'].pk}/edit/",
        "place": f"/pantry/places/{got['place'].pk}/",
        "package": f"/pantry/p/{got['package'].code}/",
        "package-used": f"/pantry/p/{got['used'].code}/",
        "lot": f"/pantry/lot/{got['package'].lot}/",
        "plan": f"/plans/{got['plan'].pk}/",
        "plan-lot": f"/plans/{got['plan'].pk}/lots/{got['plan'].lots.first().pk}/",
        "plan-dryer": f"/plans/{got['plan'].pk}/dryers/{got['plan'].dryers.first().pk}/",
    }
    season = got["season"]
    found["season"] = f"/plans/seasons/{season.pk}/"
    found["season-crop"] = f"/plans/seasons/{season.pk}/crops/{season.crops.first().pk}/"
    found["season-choice"] = f"/plans/seasons/{season.pk}/dryers/{season.choices.first().pk}/"
    _try(season)
    for stage, _words in Batch.STAGES:
        batch = Batch.objects.filter(stage=stage).first()
        assert batch is not None, stage
        found[f"batch-{stage}"] = f"/batches/{batch.pk}/{stage}/"
        found[f"batch-{stage}-at"] = f"/batches/{batch.pk}/"
        if stage == "trays":
            _search(batch, "load", {"time_h": 30.0, "share": 1, "apart": ["smells"], "foods": {}})
        if stage == "program":
            _search(batch, "program", {"confidence": 0.8, "steps": 1, "highest_c": None})
    return found


def _try(season: Any) -> None:
    """What a season comes to, in two rounds, tried out now and here."""
    from drystow.web.kit import records
    from drystow.web.season import trying

    records.change(season, {"rounds": 2}, expected=season.version)
    row = trying.SEASON.work_out(season.pk)
    assert row is not None
    assert row.result is not None


def _search(batch: Any, kind: str, asked: dict[str, Any]) -> None:
    """What a batch's best load or program is, searched for now and here."""
    from drystow.web.plans.found import BEST_LOAD, BEST_PROGRAM

    best = BEST_LOAD if kind == "load" else BEST_PROGRAM
    best.wish(batch.pk, asked)
    assert best.work_out(batch.pk) is not None


def _supper() -> None:
    """A dish to cook from the pantry, with the food of some package in it."""
    from drystow.web.foods.models import Recipe, RecipeLine
    from drystow.web.kit import records
    from drystow.web.pantry.models import Package

    dish = records.create(Recipe(name="Supper from the shelf", use="cook", method="Soak, then warm it up."))
    for package in Package.objects.filter(state="stored")[:2]:
        RecipeLine.objects.create(recipe=dish, food=package.food, name=package.name, mass_kg=0.6)


def _failing_pages() -> None:
    from django.core.exceptions import BadRequest
    from django.http import HttpRequest, HttpResponse
    from django.urls import path

    from drystow.web import urls
    from drystow.web.accounts.rights import right

    @right(reads="viewer")
    def refuse(request: HttpRequest) -> HttpResponse:
        raise BadRequest("a request that nobody can answer")

    @right(reads="viewer")
    def fail(request: HttpRequest) -> HttpResponse:
        raise RuntimeError("a fault of the program")

    urls.urlpatterns += [path("refused/", refuse), path("broken/", fail)]


if __name__ == "__main__":
    main()
