"""All settings. They run with no environment at all; a wrong value is reported with its variable's name."""

import os
from pathlib import Path

from drystow.errors import InputError
from drystow.web.accounts.hosts import allowed_hosts
from drystow.web.folder import data_folder, database, secret_key

HERE = Path(__file__).parent


def _switch(variable: str) -> bool:
    written = os.environ.get(variable, "").strip().lower()
    if written not in ("", "0", "1", "no", "yes", "false", "true"):
        raise InputError(variable, f"'{written}' is neither yes nor no; write 1 or 0")
    return written in ("1", "yes", "true")


DATA_FOLDER = data_folder()
SECRET_KEY = secret_key(DATA_FOLDER)
DEMO = _switch("DRYSTOW_DEMO")
"""Show the load of Alder Lane Kitchen; `drystow serve --demo` turns it on."""

LAN = _switch("DRYSTOW_LAN")
"""Let other devices in, with accounts; `drystow serve --lan` turns it on."""
TLS = _switch("DRYSTOW_TLS")
"""A proxy on this computer speaks HTTPS for it."""

DEBUG = False
ALLOWED_HOSTS = allowed_hosts(LAN)
"""The names of this computer only. A page of another site that points its own name at this computer gets no answer."""

INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "drystow.web.kit",
    "drystow.web.site",
    "drystow.web.foods",
    "drystow.web.dryers",
    "drystow.web.readings",
    "drystow.web.batches",
    "drystow.web.pantry",
    "drystow.web.accounts",
    "drystow.web.packing",
    "drystow.web.costs",
    "drystow.web.plans",
    "drystow.web.season",
    "drystow.web.data",
    "drystow.web.demo",
    "drystow.web.once",
]
MIDDLEWARE = [
    "drystow.web.middleware.own_content_only",
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "django.middleware.common.CommonMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "drystow.web.kit.reader_middleware.kitchen_ways",
    "drystow.web.kit.reader_middleware.SayWhatIsWrong",
    "drystow.web.once.middleware.each_write_once",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "drystow.web.accounts.rights.rights_kept",
]
ROOT_URLCONF = "drystow.web.urls"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["drystow.web.once.templatetags.once"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "drystow.web.site.context.everywhere",
            ],
        },
    }
]
SILENCED_SYSTEM_CHECKS = ["templates.W003"]
"""Two libraries named `i18n`: ours stands in for Django's on purpose."""
STATIC_URL = "/static/"
WHITENOISE_ALLOW_ALL_ORIGINS = False
WHITENOISE_USE_FINDERS = True
"""Serve the files straight from the packages: no collecting step, no copy that can grow old."""

DATABASES = {"default": database(DATA_FOLDER, DEMO)}
SHARED = DATABASES["default"]["ENGINE"].endswith("postgresql")
"""Several processes may share the database."""
BACKGROUND = f"drystow.web.kit.{'postgres_queue.Tasks' if SHARED else 'background.Threads'}"
"""What stands behind the queue of background work."""
INSTALLED_APPS += ["procrastinate.contrib.django"] if SHARED else []
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
MEDIA_ROOT = DATA_FOLDER / "media"
DATA_UPLOAD_MAX_MEMORY_SIZE = 12_000_000
MESSAGE_STORAGE = "django.contrib.messages.storage.cookie.CookieStorage"
SESSION_ENGINE = f"django.contrib.sessions.backends.{'db' if LAN else 'signed_cookies'}"
"""With accounts, sessions stand in the database, so that signing out ends them everywhere."""
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = TLS
LOGIN_URL = "sign-in"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]
"""Each under its own name. A new one is a line here and a catalogue: docs/decisions/0005-catalogues.md."""
LOCALE_PATHS = [HERE / "locale"]
USE_TZ = True
TIME_ZONE = "UTC"  # of work outside a request, as of a kitchen that set none; a page takes that of the kitchen

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}, "nowhere": {"class": "logging.NullHandler"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "django": {"handlers": [], "level": "WARNING"},
        "django.request": {"level": "ERROR"},
        "django.security.DisallowedHost": {"handlers": ["nowhere"], "propagate": False},
    },
}
