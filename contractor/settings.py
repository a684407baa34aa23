"""One file, driven by the environment, loud where something is missing.

A real installation sets the variables itself; the demo keeps its own in .local/env, made by `manage.py up`.
"""

from pathlib import Path

import environ
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent
LOCAL_DIR = BASE_DIR / ".local"

env = environ.Env()
if (LOCAL_DIR / "env").exists():
    env.read_env(LOCAL_DIR / "env")

DEBUG = env.bool("DEBUG", default=False)
DEMO = env.bool("DEMO", default=False)  # serves static files straight from their folders
SECRET_KEY = env("SECRET_KEY", default="")
if len(SECRET_KEY) < 32:
    raise ImproperlyConfigured("Set SECRET_KEY to at least 32 random characters (see README, running for a firm).")
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])
SITE_URL = env("SITE_URL", default="http://localhost:8000").rstrip("/")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.forms",
    "axes",
    "csp",
    "django_htmx",
    "django_tasks",
    "django_tasks_db",
    "template_partials",
    "contractor.common",
    "contractor.accounts",
    "contractor.customers",
    "contractor.catalogue",
    "contractor.jobs",
    "contractor.site",
    "contractor.mail",
    "contractor.offcuts",
    "contractor.rooms",
    "contractor.quotes",
    "contractor.planning",
    "contractor.orders",
    "contractor.fitting",
    "contractor.weeks",
    "contractor.soundtests",
    "contractor.billing",
    "contractor.handover",
    "contractor.learning",
    "contractor.demo",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "contractor.common.refusing.refuse_nul",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "contractor.urls"
WSGI_APPLICATION = "contractor.wsgi.application"
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4000  # a tap test has a box for every 300 mm of a wall
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
            "builtins": ["contractor.common.templatetags.wording", "template_partials.templatetags.partials"],
        },
    }
]

DATABASES = {"default": env.db_url("DATABASE_URL", default=f"sqlite:///{LOCAL_DIR / 'quietwright.sqlite3'}")}
_db = DATABASES["default"]
if _db["ENGINE"].endswith("sqlite3"):
    # Writers take the lock at once and wait for it; DEFERRED would fail when a read turns into a write.
    _db["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=NORMAL;PRAGMA foreign_keys=ON;PRAGMA cache_size=-20000;",
    }
    _db["TEST"] = {"NAME": f"{_db['NAME']}.test"}  # a file: threads that share an in-memory one lock each other out
else:
    _db["CONN_MAX_AGE"] = 60
    _db["CONN_HEALTH_CHECKS"] = True

AUTH_USER_MODEL = "accounts.User"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
LOGIN_URL = "accounts:sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "accounts:sign-in"
AXES_FAILURE_LIMIT = 6
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "accounts/locked_out.html"
# Behind one reverse proxy the client's address is the last one the proxy added to X-Forwarded-For.
TRUSTED_PROXY = env.bool("TRUSTED_PROXY", default=False)
AXES_CLIENT_IP_CALLABLE = "contractor.common.addresses.client_address"

LANGUAGE_CODE = "en-gb"
TIME_ZONE = env("TIME_ZONE", default="Europe/London")
USE_I18N = False
USE_TZ = True

STATIC_URL = "/static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATIC_ROOT = env("STATIC_ROOT", default=str(BASE_DIR / "staticfiles"))
MEDIA_ROOT = env("MEDIA_ROOT", default=str(LOCAL_DIR / "media"))
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG or DEMO
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = WHITENOISE_AUTOREFRESH = DEBUG or DEMO

# Work outside the request: on threads of the app itself, or by `manage.py db_worker` from a queue in the database.
TASK_BACKENDS = {
    "in-process": "contractor.common.background.InProcessBackend",
    "database": "django_tasks_db.DatabaseBackend",
}
if env("TASKS", default="in-process") not in TASK_BACKENDS:
    raise ImproperlyConfigured(f"TASKS is one of: {', '.join(TASK_BACKENDS)}.")
TASKS = {"default": {"BACKEND": TASK_BACKENDS[env("TASKS", default="in-process")]}}

TAKEOFF_SECONDS = env.float("TAKEOFF_SECONDS", default=20)  # that the boards of a job are worked on in the background

EMAIL_TIMEOUT = 60  # seconds; the outbox takes a hand-over for dead after ten minutes
EMAIL_CONFIG = env.email_url("EMAIL_URL", default="consolemail://")
vars().update(EMAIL_CONFIG)
DEFAULT_FROM_EMAIL = env("DEFAULT_FROM_EMAIL", default="office@localhost")

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "media-src": [SELF, "blob:"],
        "worker-src": [SELF],
        "manifest-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
        "object-src": [NONE],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 30

if env.bool("HTTPS", default=False):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": env("LOG_LEVEL", default="WARNING")},
}
