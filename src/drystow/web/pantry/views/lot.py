"""Where a lot went: every package of it, to find them all when something is wrong."""

from django.db.models import Prefetch
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from drystow.web.pantry.models import Movement, Package


def show_lot(request: HttpRequest, lot: str) -> HttpResponse:
    """Show every package of a lot, also those in the bin, and everything that was done with them."""
    moves = Prefetch("movements", Movement.objects.select_related("place"))
    packages = list(
        Package.objects.filter(lot=lot)
        .select_related("place", "batch")
        .prefetch_related(moves)
        .order_by("name", "code")
    )
    if not packages:
        raise Http404
    sums = dict.fromkeys(("used", "given", "discarded", "counted"), 0.0)
    for package in packages:
        for move in package.movements.all():
            if move.kind in sums:
                sums[move.kind] += move.mass_kg or 0.0
    given = [(package, move) for package in packages for move in package.movements.all() if move.kind == "given"]
    return render(
        request,
        "pantry/lot.html",
        {
            "lot": lot,
            "packages": packages,
            "packed": sum(package.net_mass_kg for package in packages),
            "left": sum(package.left_mass_kg for package in packages),
            "sums": sums,
            "given": given,
            "batch": packages[0].batch,
        },
    )
