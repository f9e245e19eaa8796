"""Addresses of the data app."""

from django.urls import path

from drystow.web.data.api import urls as api_urls
from drystow.web.data.views import (
    load_in,
    load_out,
    one_csv,
    one_xlsx,
    restore,
    revoke_token,
    show_data,
    take_everything,
    tokens,
    workbook,
)

urlpatterns = [
    path("data/", show_data, name="data"),
    path("data/tables/all.xlsx", workbook, name="data-workbook"),
    path("data/tables/<slug:name>.csv", one_csv, name="data-csv"),
    path("data/tables/<slug:name>.xlsx", one_xlsx, name="data-xlsx"),
    path("data/everything.zip", take_everything, name="data-everything"),
    path("data/restore/", restore, name="data-restore"),
    path("data/batches/<int:pk>.toml", load_out, name="data-load-out"),
    path("data/load/", load_in, name="data-load-in"),
    path("data/tokens/", tokens, name="data-tokens"),
    path("data/tokens/<int:pk>/revoke/", revoke_token, name="data-token-revoke"),
    path("api/v1/", api_urls),
]
