"""Settings, read from the environment; the defaults are safe for production.

`SALON_MODE=local` (what `make demo` and `make test` set) allows plain HTTP on this
machine, a generated secret key and an embedded SQLite database.
"""

from pathlib import Path

import environ
from django.conf import global_settings
from django.core.exceptions import ImproperlyConfigured
from django.utils.translation import gettext_lazy as _

from salon import database_setting, mail_setting, media_setting
from salon.content_policy import DIRECTIVES

BASE_DIR = Path(__file__).resolve().parent.parent

env = environ.Env()
VAR_DIR = Path(env("VAR_DIR", default="") or BASE_DIR / "var")
MODE = env("SALON_MODE", default="production")
LOCAL = MODE == "local"

DEBUG = env.bool("DEBUG", default=False)
SECRET_KEY = env("SECRET_KEY", default="")
if not SECRET_KEY:
    if not LOCAL:
        raise ImproperlyConfigured("Set SECRET_KEY (50 random characters or more).")
    from salon.local_secret import read_or_make

    SECRET_KEY = read_or_make(VAR_DIR / "secret-key")
SECRET_KEY_FALLBACKS = env.list("SECRET_KEY_FALLBACKS", default=[])
# Under the chain of sign-offs; see salon.signing_keys.
SIGNING_KEY = env("SIGNING_KEY", default="")
SIGNING_KEY_FILE = env("SIGNING_KEY_FILE", default=str(VAR_DIR / "signing-key") * LOCAL)
FORMER_SIGNING_KEYS = env.list("FORMER_SIGNING_KEYS", default=[])
# For what is in storage; see salon.storage_key.
STORAGE_KEY = env("STORAGE_KEY", default="")
STORAGE_KEY_FILE = env("STORAGE_KEY_FILE", default=str(VAR_DIR / "storage-key") * LOCAL)
FORMER_STORAGE_KEYS = env.list("FORMER_STORAGE_KEYS", default=[])
KEYS_LAST_DAYS = env.int("KEYS_LAST_DAYS", default=365)
# Kept elsewhere: the newest sign-off (anchors.py), whose data were erased (erasure_list.py).
ANCHOR_DIR = env("ANCHOR_DIR", default="")
TIMESTAMP_URL = env("TIMESTAMP_URL", default="")
TIMESTAMP_CERTIFICATES = env("TIMESTAMP_CERTIFICATES", default="")
_OUTSIDE = Path(ANCHOR_DIR) if ANCHOR_DIR else VAR_DIR
ERASURE_LIST = env("ERASURE_LIST", default="") or str(_OUTSIDE / "erasures.jsonl")
ALLOWED_HOSTS = env.list(
    "ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "[::1]"] if LOCAL else []
)
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])
# What links in mails begin with; a mail has no request to take it from.
_HOST = next((h for h in ALLOWED_HOSTS if not h.startswith(("*", "."))), "localhost")
SITE_URL = env("SITE_URL", default="") or (
    "http://localhost:8000" if LOCAL else f"https://{_HOST}"
)

INSTALLED_APPS = [
    "salon",
    "formulas",
    "clients",
    "consult",
    "axes",
    "csp",
    "django_htmx",
    "django_tasks",
    "django_tasks_db",
    "phonenumber_field",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.forms",
]

MIDDLEWARE = [
    "salon.health.HealthMiddleware",
    "salon.outages.OutageMiddleware",
    "clients.sealed.keys.KeysAtHandMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.gzip.GZipMiddleware",  # safe against BREACH: decisions/0067
    "salon.middleware.ScriptedFormMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    # Before the check of the token, which reads the whole body to find it.
    "salon.body_limit.BodyLimitMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "salon.middleware.SignInMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "salon.middleware.SalonMiddleware",
    "salon.replica.reading.WrittenMiddleware",
    "salon.release.ReleaseMiddleware",
    "salon.middleware.OwnPageMiddleware",
    "salon.tablet.middleware.SittingMiddleware",
    "salon.accounts.OwedMiddleware",
    "consult.screens.client_view.ClientViewMiddleware",
    "consult.screens.record_access.RecordAccessMiddleware",
    "consult.screens.first_steps_lead.FirstStepsMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "salon.urls"
WSGI_APPLICATION = "salon.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

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
                "salon.context.navigation",
                "salon.context.sitting",
                "salon.context.release_in_use",
                "salon.context.age_of_figures",
            ],
        },
    }
]
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

DATABASES = {
    "default": database_setting.prepared(
        env.db_url("DATABASE_URL", default=f"sqlite:///{VAR_DIR / 'salon.sqlite3'}")
    )
}
# A copy that PostgreSQL keeps up to date, for pages that look back: salon.replica.
REPLICA_MOST_MINUTES = env.int("REPLICA_MOST_MINUTES", default=5)
if env("DATABASE_REPLICA_URL", default=""):
    DATABASES["replica"] = database_setting.replica(
        env.db_url("DATABASE_REPLICA_URL"), of=DATABASES["default"]
    )
    DATABASE_ROUTERS = ["salon.replica.router.ReplicaRouter"]

AUTH_USER_MODEL = "salon.Staff"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "salon.second_factor.backend.CodeBackend",
    "salon.passkeys.backend.PasskeyBackend",
    "django.contrib.auth.backends.ModelBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    # After NIST SP 800-63B-4; see salon.passwords.
    {"NAME": "salon.passwords.LongEnough"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "salon.passwords.NoPattern"},
    {"NAME": "salon.passwords.NoNames"},
]
PASSWORD_RESET_TIMEOUT = 60 * 60
LOGIN_URL, LOGIN_REDIRECT_URL = "salon:sign_in", "salon:home"

# One salon has one address: throttle by user and address together.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 6
AXES_COOLOFF_TIME = 0.25  # hours
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_CALLABLE = "salon.views.locked_out"
AXES_VERBOSE = False
AXES_USERNAME_CALLABLE = "salon.known_browser.counted_name"
# What is typed on the way of a wrong try is not kept beside it.
AXES_SENSITIVE_PARAMETERS = ["current", "new_password1", "new_password2", "pin", "again"]
AXES_SENSITIVE_PARAMETERS += ["code", "colleague_pin", "passkey"]
AXES_CLIENT_IP_CALLABLE = "salon.addresses.client_address"
PROXY_COUNT = env.int("PROXY_COUNT", default=0)

# Whether the address has a certificate of the proxy's own authority: salon.home_screen.trust.
OWN_AUTHORITY = env.bool("OWN_AUTHORITY", default=False)

# By which an enrolled tablet is known; see salon.tablet.
DEVICE_COOKIE_NAME = "salon-device"
KNOWN_BROWSER_COOKIE_NAME = "salon-known"
SESSION_ENGINE = "salon.models.staff_session"
SESSION_COOKIE_AGE = 12 * 60 * 60
SESSION_COOKIE_SECURE = not LOCAL
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_EXPIRE_AT_BROWSER_CLOSE = True
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "salon.views.csrf_failure"
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2000
if not LOCAL:
    SESSION_COOKIE_NAME = "__Host-salon-session"
    DEVICE_COOKIE_NAME = "__Host-salon-device"
    KNOWN_BROWSER_COOKIE_NAME = "__Host-salon-known"
    CSRF_COOKIE_NAME = "__Host-salon-csrf"
    CSRF_COOKIE_SECURE = True
    SECURE_SSL_REDIRECT = env.bool("SECURE_SSL_REDIRECT", default=True)
    # How a device comes to trust the address is read before it does.
    SECURE_REDIRECT_EXEMPT = [r"^trust/$", r"^static/"]
    SECURE_HSTS_SECONDS = env.int("SECURE_HSTS_SECONDS", default=31_536_000)
    # Both speak for every name below this one, so the owner of the domain decides.
    SECURE_HSTS_INCLUDE_SUBDOMAINS = env.bool("SECURE_HSTS_INCLUDE_SUBDOMAINS", default=False)
    SECURE_HSTS_PRELOAD = env.bool("SECURE_HSTS_PRELOAD", default=False)
    SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
    if env.bool("BEHIND_TLS_PROXY", default=True):
        SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

CONTENT_SECURITY_POLICY = {"DIRECTIVES": DIRECTIVES}

LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", _("English")), ("de", _("German"))]
LANGUAGE_COOKIE_AGE = 365 * 24 * 60 * 60
LOCALE_PATHS = [BASE_DIR / "salon" / "locale"]
TIME_ZONE = "UTC"
USE_TZ = True
FORMAT_MODULE_PATH = ["salon.formats"]
PHONENUMBER_DEFAULT_REGION = env("PHONE_REGION", default="GB")
PHONENUMBER_DB_FORMAT = "E164"

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATICFILES_FINDERS = [*global_settings.STATICFILES_FINDERS, "salon.bundles.BundleFinder"]
STATIC_ROOT = VAR_DIR / "static"
_PLAIN = "django.contrib.staticfiles.storage.StaticFilesStorage"
_HASHED = "whitenoise.storage.CompressedManifestStaticFilesStorage"
STORAGES = {
    "default": media_setting.backend(env("MEDIA_STORAGE", default="")),
    "staticfiles": {"BACKEND": _PLAIN if LOCAL else _HASHED},
}
WHITENOISE_USE_FINDERS = LOCAL
STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # WhiteNoise warns where it is missing
# Photos: never under a served address; a view gives them to those who may see them.
MEDIA_ROOT = env("MEDIA_ROOT", default=str(VAR_DIR / "media"))
FILE_UPLOAD_PERMISSIONS = 0o600

# Nothing stands in for a mail server in production: a mail that cannot leave must fail.
_MAIL = env.email_url("EMAIL_URL") if env("EMAIL_URL", default="") else {}
EMAIL_BACKEND = (
    env("EMAIL_BACKEND", default="")
    or mail_setting.backend(_MAIL.get("EMAIL_BACKEND"))
    or ("django.core.mail.backends.console.EmailBackend" if LOCAL else "salon.mail.NoServer")
)
EMAIL_HOST = _MAIL.get("EMAIL_HOST") or "localhost"
EMAIL_PORT = _MAIL.get("EMAIL_PORT") or 0  # the protocol's own
EMAIL_HOST_USER = _MAIL.get("EMAIL_HOST_USER") or ""
EMAIL_HOST_PASSWORD = _MAIL.get("EMAIL_HOST_PASSWORD") or ""
EMAIL_USE_TLS = _MAIL.get("EMAIL_USE_TLS", False)
EMAIL_USE_SSL = _MAIL.get("EMAIL_USE_SSL", False)
EMAIL_FILE_PATH = _MAIL.get("EMAIL_FILE_PATH") or None
EMAIL_TIMEOUT = 10  # seconds
DEFAULT_FROM_EMAIL = env("DEFAULT_FROM_EMAIL", default="") or f"salon@{_HOST}"
SERVER_EMAIL = DEFAULT_FROM_EMAIL

# Work outside of requests: salon.work, done by `manage.py worker`. The lanes: salon.work.lanes.
TASKS = {
    "default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default", "long"]}
}
# A backup each night into this folder; none where it is empty.
BACKUP_DIR = env("BACKUP_DIR", default="")
BACKUP_KEEP_DAYS = env.int("BACKUP_KEEP_DAYS", default=14)

# Off only in the test settings: the live server's flush deletes rows between tests.
APPEND_ONLY_TRIGGERS = True

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {
            "()": "salon.failures.LineFormatter",
            "format": "{asctime} {levelname} {name} {message}",
            "style": "{",
        }
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env("LOG_LEVEL", default="WARNING")},
}
