"""Change the own password."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from drystow.errors import InputError
from drystow.web.accounts import limits, people
from drystow.web.accounts.forms import PasswordForm
from drystow.web.accounts.people import role_of


@sensitive_post_parameters("old", "password")
@require_http_methods(["GET", "HEAD", "POST"])
def change_password(request: HttpRequest) -> HttpResponse:
    """Show the form, or change the password; other devices with this account are signed out."""
    if not settings.LAN:
        return redirect("/")
    form = PasswordForm(request.POST or None)
    if form.is_valid():
        name = request.user.get_username()
        counted = limits.keys(name, request.META.get("REMOTE_ADDR", ""))
        if limits.begin_try(counted):
            form.add_error("old", _("Too many failed attempts. Wait a few minutes, then try again."))
        elif not request.user.check_password(form.cleaned_data["old"]):
            form.add_error("old", _("That is not this account’s password."))
        else:
            limits.succeeded(counted)
            try:
                people.give_password(name, form.cleaned_data["password"])
            except InputError as problem:
                form.add_error("password", problem.message)
            else:
                update_session_auth_hash(request, people.find(name))
                messages.success(request, _("Password changed."))
                return redirect("password")
    return render(request, "accounts/password.html", {"form": form, "role": role_of(request.user)})
