"""The list of accounts; owners only."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import get_user_model
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters

from drystow.errors import InputError
from drystow.web.accounts import people
from drystow.web.accounts.forms import AccountForm, RoleForm
from drystow.web.accounts.rights import right


@right(reads="owner")
def show_accounts(request: HttpRequest) -> HttpResponse:
    """Show all accounts and the form for a new one."""
    return _page(request, AccountForm())


@right(writes="owner")
@sensitive_post_parameters("password")
def add_account(request: HttpRequest) -> HttpResponse:
    """Make an account."""
    form = AccountForm(request.POST)
    if form.is_valid():
        try:
            person = people.add(**form.cleaned_data)
        except InputError as problem:
            form.add_error(problem.field if problem.field in form.fields else None, problem.message)
        else:
            messages.success(request, _("{name} can sign in now.").format(name=person.name))
            return redirect("accounts")
    return _page(request, form)


@right(writes="owner")
def change_account(request: HttpRequest, pk: int) -> HttpResponse:
    """Give an account another role."""
    form = RoleForm(request.POST)
    if not form.is_valid():
        raise Http404
    name = _name(pk)
    try:
        people.give_role(name, form.cleaned_data["role"])
    except InputError as problem:
        messages.error(request, problem.message)
    else:
        messages.success(request, _("Role of {name} changed.").format(name=name))
    return redirect("accounts")


@right(writes="owner")
def remove_account(request: HttpRequest, pk: int) -> HttpResponse:
    """Remove an account; what it did stays in the history."""
    name = _name(pk)
    try:
        people.remove(name)
    except InputError as problem:
        messages.error(request, problem.message)
    else:
        messages.success(request, _("Account of {name} removed.").format(name=name))
    return redirect("accounts")


def _name(pk: int) -> str:
    return str(get_object_or_404(get_user_model(), pk=pk).get_username())


def _page(request: HttpRequest, form: AccountForm) -> HttpResponse:
    rows: list[dict[str, Any]] = []
    for user in get_user_model().objects.prefetch_related("groups").order_by("username"):
        name, role = user.get_username(), people.group_role(user)
        role_form = RoleForm(initial={"role": role}, auto_id=f"id_%s_{user.pk}")
        rows.append({"pk": user.pk, "name": name, "role": role, "last": user.last_login, "form": role_form})
    return render(request, "accounts/accounts.html", {"form": form, "rows": rows})
