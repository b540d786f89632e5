"""Settings of the test suite: the same product, faster hashing, triggers on request."""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

os.environ.setdefault("SALON_MODE", "local")
os.environ.setdefault("SECRET_KEY", "tests-only-not-a-secret-tests-only-not-a-secret-0123")

os.environ.setdefault("SIGNING_KEY", "dGVzdHMtb25seS1ub3QtYS1zZWNyZXQtMDEyMzQ1Njc=")

os.environ.setdefault("STORAGE_KEY", "dGVzdHMtb25seS1ub3QtYS1zZWNyZXQtMDEyMzQ1Njg=")

from salon.settings import *  # noqa: F403
from salon.settings import DATABASES, TASKS

IMMEDIATE = "django_tasks.backends.immediate.ImmediateBackend"

# Look for a static file where it is asked for: a list of all of them is made for each browser
# of a test, and takes longer than most pages.
WHITENOISE_AUTOREFRESH = True
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
APPEND_ONLY_TRIGGERS = False
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
# Done where it is queued; tests of the queue itself take the product's own backend.
TASKS = {**TASKS, "default": {**TASKS["default"], "BACKEND": IMMEDIATE}}
MEDIA_ROOT = Path(tempfile.mkdtemp(prefix="salon-tests-"))
ERASURE_LIST = str(MEDIA_ROOT / "erasures.jsonl")
atexit.register(shutil.rmtree, MEDIA_ROOT, ignore_errors=True)
if "DATABASE_URL" not in os.environ:
    DATABASES["default"]["NAME"] = ":memory:"
    DATABASES["default"]["OPTIONS"].pop("init_command")
