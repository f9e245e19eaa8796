"""Long lists come page by page."""

from collections.abc import Callable
from typing import Annotated, Any

from django.db.models import QuerySet
from ninja import Query

PAGE = 50
PageNumber = Annotated[int, Query(ge=1, le=100_000)]


def page_of(rows: "QuerySet[Any]", page: int, shown: Callable[[Any], dict[str, Any]]) -> dict[str, Any]:
    """Return one page of rows with how many there are.

    rows: in their order
    page: from 1
    shown: row -> plain data
    """
    count = rows.count()
    numbers = list(rows.values_list("pk", flat=True)[(page - 1) * PAGE : page * PAGE])  # found by an index alone
    found = rows.order_by().in_bulk(numbers)
    results = [shown(found[number]) for number in numbers if number in found]
    return {"count": count, "page": page, "pages": max(-(-count // PAGE), 1), "results": results}
