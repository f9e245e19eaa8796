"""The data page: everything to take along, and the ways in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache

from drystow.web.accounts.models import ApiToken
from drystow.web.accounts.rights import right
from drystow.web.accounts.tokens import new_token
from drystow.web.batches.models import Batch
from drystow.web.data.forms import LoadFileForm, RestoreForm, TokenForm
from drystow.web.data.tables import TABLES
from drystow.web.kit.forms import sent
from drystow.web.once.answers import shown_once

NEWEST = 20


@right(reads="owner")
def show_data(request: HttpRequest) -> HttpResponse:
    """Show what can be taken along and what can be read in."""
    return data_page(request, LoadFileForm(), RestoreForm())


def data_page(request: HttpRequest, load_form: LoadFileForm, restore_form: RestoreForm) -> HttpResponse:
    """Return the page with its two forms, 422 when one of them came back."""
    context = {
        "tables": [{"name": table.name, "words": _(table.words), "count": table.count()} for table in TABLES],
        "batches": Batch.objects.kept().filter(items__loads__isnull=False).distinct()[:NEWEST],
        "load_form": load_form,
        "restore_form": restore_form,
    }
    return render(
        request, "data/overview.html", context, status=422 if load_form.errors or restore_form.errors else 200
    )


@right(reads="owner", writes="owner")
@never_cache
def tokens(request: HttpRequest) -> HttpResponse:
    """Show the tokens; make a new one and show its secret this one time."""
    form, secret = TokenForm(**sent(request)), ""
    if form.is_valid():
        _token, secret = new_token(form.cleaned_data["name"], form.cleaned_data["scope"])
        form = TokenForm()
    context = {"form": form, "secret": secret, "tokens": ApiToken.objects.all()}
    response = render(request, "data/tokens.html", context, status=422 if form.errors else 200)
    return shown_once(response) if secret else response


@right(writes="owner")
def revoke_token(request: HttpRequest, pk: int) -> HttpResponse:
    """Shut a token out for good."""
    token = get_object_or_404(ApiToken, pk=pk)
    if token.revoked is None:
        token.revoked = timezone.now()
        token.save(update_fields=["revoked"])
    messages.success(request, _("The token {name} is revoked and no longer works.").format(name=token.name))
    return redirect("data-tokens")
