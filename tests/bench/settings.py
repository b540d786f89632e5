"""The product's settings with Django's admin beside it, as a yardstick over the same rows."""

from salon.settings import *  # noqa: F403
from salon.settings import INSTALLED_APPS, TEMPLATES

INSTALLED_APPS = [*INSTALLED_APPS, "django.contrib.admin"]
ROOT_URLCONF = "tests.bench.urls"
# As the live server has it: templates are read once.
TEMPLATES[0].setdefault("OPTIONS", {})
LOGGING = {"version": 1, "root": {"level": "ERROR"}}
SECURE_SSL_REDIRECT = False
ALLOWED_HOSTS = ["testserver"]
