"""The interface for programs: JSON under ``/api/v1/``, every request with a token."""

from ninja import NinjaAPI

from drystow import __version__
from drystow.web.data.api import batches, foods, pantry, readings
from drystow.web.data.api.access import Bearer
from drystow.web.data.api.errors import tell_errors

api = NinjaAPI(
    title="Drystow",
    version="1",
    description=f"Drystow {__version__}. kg, °C, times with their zone; send a token as Bearer.",
    docs_url=None,
    openapi_url="/openapi.json",
    auth=Bearer("read"),
)
api.add_router("", foods.router)
api.add_router("", batches.router)
api.add_router("", pantry.router)
api.add_router("", readings.router)
tell_errors(api)
