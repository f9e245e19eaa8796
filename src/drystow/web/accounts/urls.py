"""Addresses of the accounts."""

from django.urls import path

from drystow.web.accounts.views import (
    add_account,
    change_account,
    change_password,
    remove_account,
    show_accounts,
    sign_in,
    sign_out,
)

urlpatterns = [
    path("sign-in/", sign_in, name="sign-in"),
    path("sign-out/", sign_out, name="sign-out"),
    path("password/", change_password, name="password"),
    path("accounts/", show_accounts, name="accounts"),
    path("accounts/add/", add_account, name="account-add"),
    path("accounts/<int:pk>/role/", change_account, name="account-role"),
    path("accounts/<int:pk>/remove/", remove_account, name="account-remove"),
]
