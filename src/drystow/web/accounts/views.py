"""Sign in and out, change the own password; the list of accounts, for owners only."""

from datetime import timedelta
from math import ceil
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import authenticate, get_user_model, login, logout, update_session_auth_hash
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from drystow.errors import InputError
from drystow.web.accounts import people, tokens
from drystow.web.accounts.forms import AccountForm, PasswordForm, RoleForm, SignInForm
from drystow.web.accounts.people import role_of
from drystow.web.accounts.rights import right
from drystow.web.kit.forms import sent


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


TOO_MANY = 429


@right(reads="anyone", writes="anyone")
@never_cache
@sensitive_post_parameters("password")
def sign_in(request: HttpRequest) -> HttpResponse:
    """Show the form, or sign in and go back to the page that was asked for."""
    back = _safe(request, request.POST.get("next") or request.GET.get("next") or "/")
    if not settings.LAN or request.user.is_authenticated:
        return redirect(back)
    form = SignInForm(**sent(request))
    status, wait = 200, timedelta(0)
    if form.is_valid():
        name = form.cleaned_data["name"].strip()
        counted = tokens.keys(name, request.META.get("REMOTE_ADDR", ""))
        wait = tokens.begin_try(counted)
        if wait > timedelta(0):
            form.add_error(None, _wait_words(wait))
            status = TOO_MANY
        else:
            known = people.find(name)
            user = authenticate(
                request,
                username=known.get_username() if known else name,
                password=form.cleaned_data["password"],
            )
            if user is not None:
                tokens.succeeded(counted)
                login(request, user)
                return redirect(back)
            form.add_error(None, _("Name and password don’t match. Check both and try again."))
    response = render(request, "accounts/sign_in.html", {"form": form, "next": back}, status=status)
    if status == TOO_MANY:
        response.headers["Retry-After"] = str(ceil(wait.total_seconds()))
    return response


@right(writes="viewer")
def sign_out(request: HttpRequest) -> HttpResponse:
    """End the session."""
    logout(request)
    return redirect("sign-in" if settings.LAN else "/")


def _safe(request: HttpRequest, address: str) -> str:
    """Return an address of this server, else the first page."""
    own = url_has_allowed_host_and_scheme(address, {request.get_host()}, require_https=request.is_secure())
    return address if own else "/"


def _wait_words(wait: timedelta) -> str:
    seconds = ceil(wait.total_seconds())
    if seconds < 90:
        told = ngettext("{count} second", "{count} seconds", seconds).format(count=seconds)
    else:
        minutes = ceil(seconds / 60)
        told = ngettext("{count} minute", "{count} minutes", minutes).format(count=minutes)
    return _("Too many failed attempts. Wait {time}, then try again.").format(time=told)


@right(reads="viewer", writes="viewer")
@sensitive_post_parameters("old", "password")
def change_password(request: HttpRequest) -> HttpResponse:
    """Show the form, or change the password; other devices with this account are signed out."""
    if not settings.LAN:
        return redirect("/")
    form = PasswordForm(**sent(request))
    if form.is_valid():
        name = request.user.get_username()
        counted = tokens.keys(name, request.META.get("REMOTE_ADDR", ""))
        if tokens.begin_try(counted):
            form.add_error("old", _("Too many failed attempts. Wait a few minutes, then try again."))
        elif not request.user.check_password(form.cleaned_data["old"]):
            form.add_error("old", _("That is not this account’s password."))
        else:
            tokens.succeeded(counted)
            try:
                people.give_password(name, form.cleaned_data["password"])
            except InputError as problem:
                form.add_error("password", problem.message)
            else:
                update_session_auth_hash(request, people.find(name))
                messages.success(request, _("Password changed."))
                return redirect("password")
    return render(request, "accounts/password.html", {"form": form, "role": role_of(request.user)})
