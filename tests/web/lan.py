"""The page as other devices in the house get it: accounts demanded, quick password hashing."""

from django.test import Client, override_settings

PASSWORD = "wet leaves on the lawn"
LAN = override_settings(
    LAN=True,
    SESSION_ENGINE="django.contrib.sessions.backends.db",
    ALLOWED_HOSTS=["kitchen", "192.168.1.20"],
    PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
)


def device(address: str = "192.168.1.31", *, strict: bool = False) -> Client:
    """Return a device in the house that is not signed in."""
    return Client(SERVER_NAME="kitchen", REMOTE_ADDR=address, enforce_csrf_checks=strict)


def sign_in(client: Client, name: str, password: str = PASSWORD, **more: str):  # type: ignore[no-untyped-def]
    """Return the answer to signing in."""
    return client.post("/sign-in/", {"name": name, "password": password, **more})
