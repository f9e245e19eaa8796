"""The interface for programs: JSON under ``/api/v1/``, every request with a token."""

from collections.abc import Iterator
from typing import Any

from ninja import NinjaAPI
from ninja.openapi.schema import OpenAPISchema

from drystow import __version__
from drystow.web.accounts.rights import right
from drystow.web.data.api import batches, foods, pantry, readings
from drystow.web.data.api.access import for_the_known, tell_errors, undeclared
from drystow.web.once.answers import HEADER, LONGEST

WRITES = ("post", "put", "patch", "delete")


class KitchenApi(NinjaAPI):
    """The interface; its description says that every write takes a key."""

    def get_openapi_schema(self, *arguments: Any, **options: Any) -> OpenAPISchema:
        """Return the description."""
        schema = super().get_openapi_schema(*arguments, **options)
        key = {"type": "string", "minLength": 1, "maxLength": LONGEST}
        words = "New for every write. Sent again with the same key and content, a write counts once."
        header = {"name": HEADER, "in": "header", "required": False, "schema": key, "description": words}
        for operations in schema["paths"].values():
            for method, operation in operations.items():
                if method in WRITES:
                    operation["parameters"] = [*operation.get("parameters", ()), header]
        return schema


api = KitchenApi(
    title="Drystow",
    version="1",
    description=f"Drystow {__version__}. kg, °C, times with their zone; send a token as Bearer.",
    docs_url=None,
    openapi_url="/openapi.json",
    docs_decorator=for_the_known,
    auth=undeclared,
)
ROUTERS = (foods.router, batches.router, pantry.router, readings.router)
for router in ROUTERS:
    api.add_router("", router)
tell_errors(api)

urls = api.urls
for pattern in urls[0]:
    assert pattern.callback is not None
    right(reads="viewer", writes="owner", programs=True)(pattern.callback)


def operations() -> Iterator[tuple[str, str, str]]:
    """Yield method, path and needed token of every operation; none for one that declares none."""
    for router in ROUTERS:
        for path, view in router.path_operations.items():
            for one in view.operations:
                for method in one.methods:
                    yield method, path, getattr(one.auth_param, "scope", "none")
