"""Accounts and their roles; each account is in one group named after its role."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from drystow.errors import InputError, nearest

OWNER, HELPER, VIEWER = "owner", "helper", "viewer"
ROLES = (OWNER, HELPER, VIEWER)
LONGEST_NAME = 80  # the history keeps that much


@dataclass(frozen=True)
class Person:
    """An account as it is listed.

    name: to sign in with
    role: owner, helper or viewer; empty when it has none and may do nothing
    last_sign_in: None when it never signed in
    """

    name: str
    role: str
    last_sign_in: datetime | None


def everyone() -> list[Person]:
    """Return all accounts by name."""
    users = get_user_model().objects.prefetch_related("groups").order_by("username")
    return [Person(user.get_username(), group_role(user), user.last_login) for user in users]


def role_of(user: Any) -> str:
    """Return the role of a signed-in user, empty for anybody else."""
    return group_role(user) if user.is_authenticated and user.is_active else ""


def has_owner() -> bool:
    """Return whether anybody may sign in as an owner."""
    return bool(_owners().exists())


def find(name: str) -> Any:
    """Return the account of a name, upper and lower case being the same, or None."""
    return get_user_model().objects.filter(username__iexact=name.strip()).first()


def add(name: str, role: str, password: str) -> Person:
    """Make an account and return it."""
    name = name.strip()
    user = get_user_model()(username=name)
    _check_name(user, name)
    _check_role(role)
    _check_password(password, user)
    user.set_password(password)
    with transaction.atomic():
        if find(name) is not None:
            raise InputError("name", _("there is already an account named '{name}'; choose another").format(name=name))
        user.save()
        user.groups.set([_group(role)])
    return Person(name, role, None)


def remove(name: str) -> None:
    """Delete an account; the history keeps its name. The last owner stays."""
    with transaction.atomic():
        user = _known(name)
        _keep_an_owner(user)
        user.delete()


def give_role(name: str, role: str) -> None:
    """Change the role of an account. The last owner stays owner."""
    _check_role(role)
    with transaction.atomic():
        user = _known(name)
        if role != OWNER:
            _keep_an_owner(user)
        user.groups.set([_group(role)])


def give_password(name: str, password: str) -> None:
    """Change the password of an account; whoever is signed in with it is signed out."""
    user = _known(name)
    _check_password(password, user)
    user.set_password(password)
    user.save(update_fields=["password"])


def group_role(user: Any) -> str:
    """Return the role of an account, empty when it has none."""
    names = {group.name for group in user.groups.all()}
    return next((role for role in ROLES if role in names), "")


def _owners() -> Any:
    return get_user_model().objects.filter(is_active=True, groups__name=OWNER)


def _group(role: str) -> Group:
    group, _made = Group.objects.get_or_create(name=role)
    return group


def _known(name: str) -> Any:
    user = find(name)
    if user is None:
        close = nearest(name, [person.name for person in everyone()])
        hint = (
            _("did you mean one of these: {names}?").format(names=", ".join(close))
            if close
            else _("there are no accounts yet")
        )
        raise InputError("name", _("there is no account named '{name}'; {hint}").format(name=name, hint=hint))
    return user


def _keep_an_owner(user: Any) -> None:
    if _owners().filter(pk=user.pk).exists() and _owners().count() == 1:
        raise InputError(
            "name", _("'{name}' is the only owner; make someone else an owner first").format(name=user.get_username())
        )


def _check_role(role: str) -> None:
    if role not in ROLES:
        raise InputError("role", _("'{role}' is not a role; choose owner, helper or viewer").format(role=role))


def _check_name(user: Any, name: str) -> None:
    if len(name) > LONGEST_NAME:
        raise InputError("name", _("a name can have at most {count} characters").format(count=LONGEST_NAME))
    try:
        user._meta.get_field("username").run_validators(name)
        if not name:
            raise ValidationError("")
    except ValidationError:
        raise InputError(
            "name",
            _("'{name}' can’t be a name; use letters, digits and . _ - + @ without spaces").format(name=name),
        ) from None


def _check_password(password: str, user: Any) -> None:
    try:
        validate_password(password, user)
    except ValidationError as problem:
        raise InputError("password", " ".join(problem.messages)) from None
