"""Addresses of the batches: the basket to the proof here; pages of dryers and readings that tell of batches too."""

from django.urls import URLPattern, path

from drystow.web.batches.views import trays
from drystow.web.batches.views.about import bin_batch, edit_batch, move_on, new_batch
from drystow.web.batches.views.basket import edit_item, remove_item, show_basket
from drystow.web.batches.views.corrected import count_again, strike
from drystow.web.batches.views.curves import show_curves, show_photo, show_picture
from drystow.web.batches.views.dryer import (
    add_service,
    bin_dryer,
    bin_service,
    learn_again,
    show_dryer,
    show_dryers,
    use_taught,
)
from drystow.web.batches.views.overview import open_batch, show_batches
from drystow.web.batches.views.program import leave_out, show_program, start_run
from drystow.web.batches.views.proof import add_rise, add_sample, dry_on, set_began, show_proof
from drystow.web.batches.views.readings import readings_csv, show_readings
from drystow.web.batches.views.running import (
    add_happening,
    add_weighing,
    end_run,
    remove_happening,
    show_outage,
    show_running,
)

urlpatterns: list[URLPattern] = [
    path("batches/", show_batches, name="batches"),
    path("batches/new/", new_batch, name="batch-new"),
    path("batches/<int:pk>/", open_batch, name="batch"),
    path("batches/<int:pk>/about/", edit_batch, name="batch-edit"),
    path("batches/<int:pk>/bin/", bin_batch, name="batch-bin"),
    path("batches/<int:pk>/move/", move_on, name="batch-move"),
    path("batches/<int:pk>/basket/", show_basket, name="batch-basket"),
    path("batches/<int:pk>/basket/<int:item_pk>/", edit_item, name="batch-item"),
    path("batches/<int:pk>/basket/<int:item_pk>/remove/", remove_item, name="batch-item-remove"),
    path("batches/<int:pk>/trays/", trays.show_trays, name="batch-trays"),
    path("batches/<int:pk>/trays/put/", trays.put_on, name="tray-put"),
    path("batches/<int:pk>/trays/take/", trays.take_off, name="tray-take"),
    path("batches/<int:pk>/trays/move/", trays.move, name="tray-move"),
    path("batches/<int:pk>/trays/spread/", trays.spread, name="tray-spread"),
    path("batches/<int:pk>/trays/stop/", trays.plan_stop, name="tray-stop"),
    path("batches/<int:pk>/trays/forget/", trays.forget, name="tray-forget"),
    path("batches/<int:pk>/program/", show_program, name="batch-program"),
    path("batches/<int:pk>/program/without/<int:step>/", leave_out, name="batch-program-without"),
    path("batches/<int:pk>/curves/", show_curves, name="batch-curves"),
    path("batches/<int:pk>/start/", start_run, name="batch-start"),
    path("batches/<int:pk>/running/", show_running, name="batch-running"),
    path("batches/<int:pk>/running/weighing/", add_weighing, name="batch-weighing"),
    path("batches/<int:pk>/running/note/", add_happening, name="batch-happening"),
    path("batches/<int:pk>/running/note/<int:row_pk>/remove/", remove_happening, name="batch-happening-remove"),
    path("batches/<int:pk>/running/power/<int:row_pk>/", show_outage, name="batch-outage"),
    path("batches/<int:pk>/running/end/", end_run, name="batch-end"),
    path("batches/<int:pk>/proof/", show_proof, name="batch-proof"),
    path("batches/<int:pk>/proof/picture/<int:tray>/", show_picture, name="batch-picture"),
    path("batches/<int:pk>/proof/sample/", add_sample, name="batch-sample"),
    path("batches/<int:pk>/proof/rise/", add_rise, name="batch-rise"),
    path("batches/<int:pk>/seen/<slug:name>/<int:row_pk>/strike/", strike, name="batch-strike"),
    path("batches/<int:pk>/seen/<slug:name>/<int:row_pk>/count/", count_again, name="batch-count-again"),
    path("batches/<int:pk>/proof/began/", set_began, name="batch-began"),
    path("batches/<int:pk>/proof/dry-on/", dry_on, name="batch-dry-on"),
    path("batches/photos/<int:pk>/", show_photo, name="batch-photo"),
    path("dryers/", show_dryers, name="dryers"),
    path("dryers/<int:pk>/", show_dryer, name="dryer"),
    path("dryers/<int:pk>/bin/", bin_dryer, name="dryer-bin"),
    path("dryers/<int:pk>/learn/", learn_again, name="dryer-learn"),
    path("dryers/<int:pk>/taught/use/", use_taught, {"wished": True}, name="dryer-use-taught"),
    path("dryers/<int:pk>/taught/leave/", use_taught, {"wished": False}, name="dryer-leave-taught"),
    path("dryers/<int:pk>/service/", add_service, name="service-new"),
    path("dryers/service/<int:pk>/bin/", bin_service, name="service-bin"),
    path("dryers/<int:pk>/readings/", show_readings, name="dryer-readings"),
    path("dryers/<int:pk>/readings.csv", readings_csv, name="readings-csv"),
]
