"""Foods for programs."""

from dataclasses import asdict
from typing import Annotated, Any

from django.http import Http404, HttpRequest
from ninja import Query, Router

from drystow.errors import InputError
from drystow.foods.table import find
from drystow.properties.skin import has_skin
from drystow.reports.plain_data import food_summary
from drystow.web.data.api.access import READ
from drystow.web.foods.models import OwnFood
from drystow.web.foods.spec import food_of, foods_of

router = Router(tags=["foods"])


@router.get("/foods", auth=READ, summary="Search the food table and the own foods")
def search_foods(
    request: HttpRequest,
    q: Annotated[str, Query(min_length=1, max_length=120)],
    limit: Annotated[int, Query(ge=1, le=50)] = 10,
) -> dict[str, Any]:
    """Return the foods that the words most likely mean, best first."""
    own = foods_of(f"own:{pk}" for pk in OwnFood.objects.kept().values_list("pk", flat=True)[:500])
    return {"query": q, "foods": [food_summary(food) for food in find(q, limit, own=own.values())]}


@router.get("/foods/{ref}", auth=READ, summary="One food")
def one_food(request: HttpRequest, ref: str) -> dict[str, Any]:
    """Return one food: f00503 of the table, own:3 or recipe:2."""
    try:
        food = food_of(ref)
    except InputError:
        raise Http404 from None
    details = {"composition": asdict(food.composition), "nutrients_per_100g": food.nutrients}
    return (
        food_summary(food)
        | details
        | {
            "raw_animal": food.raw_animal,
            "allergens": list(food.allergens),
            "skin": has_skin(food),
        }
    )
