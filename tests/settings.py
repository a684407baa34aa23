"""The project's own settings with what tests need: a key, fast hashing, plain static files, mail kept in memory,
tasks run at once."""

import os
import tempfile

os.environ.setdefault("SECRET_KEY", "only-for-tests-" + "x" * 40)
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # the browser driver runs an event loop beside the ORM

from contractor.settings import *  # noqa: F403

DEBUG = False
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
MEDIA_ROOT = tempfile.mkdtemp(prefix="quietwright-tests-")
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
TASKS = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}
TAKEOFF_SECONDS = 0.3
WHITENOISE_USE_FINDERS = WHITENOISE_AUTOREFRESH = True
