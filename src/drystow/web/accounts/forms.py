"""Forms of the accounts."""

from django import forms
from django.utils.translation import gettext_lazy as _

from drystow.web.accounts.people import HELPER, LONGEST_NAME, OWNER, VIEWER

ROLE_WORDS = (
    (HELPER, _("Helper: works on batches, plans, readings, pantry and foods")),
    (VIEWER, _("Viewer: can look but not change anything")),
    (OWNER, _("Owner: everything, including settings, accounts and data")),
)
PLAIN = {"autocapitalize": "none", "autocorrect": "off", "spellcheck": "false"}


class SignInForm(forms.Form):
    """Name and password."""

    name = forms.CharField(
        label=_("Name"), max_length=LONGEST_NAME, widget=forms.TextInput(attrs=PLAIN | {"autocomplete": "username"})
    )
    password = forms.CharField(
        label=_("Password"),
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class PasswordForm(forms.Form):
    """The old password and the new one."""

    old = forms.CharField(
        label=_("Current password"),
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    password = forms.CharField(
        label=_("New password"),
        max_length=200,
        strip=False,
        help_text=_("At least 10 characters. A short sentence is easy to remember."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )


class AccountForm(forms.Form):
    """A new account."""

    name = forms.CharField(
        label=_("Name"), max_length=LONGEST_NAME, widget=forms.TextInput(attrs=PLAIN | {"autocomplete": "off"})
    )
    role = forms.ChoiceField(label=_("Role"), choices=ROLE_WORDS)
    password = forms.CharField(
        label=_("First password"),
        max_length=200,
        strip=False,
        help_text=_("At least 10 characters. Give it to the person, who can change it after signing in."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )


class RoleForm(forms.Form):
    """Another role for an account."""

    role = forms.ChoiceField(label=_("Role"), choices=ROLE_WORDS)
