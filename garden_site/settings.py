"""Settings, all from the environment; every variable has a default that works on a bare machine.

README.md lists them. Embedded (the default): SQLite and no broker. Services: set
DATABASE_URL and BROKER_URL.
"""

from datetime import timedelta
from pathlib import Path
from urllib.parse import urlsplit

import environ
from csp.constants import NONCE, NONE, SELF

from garden_site.secret_key import kept_secret_key, push_key

BASE_DIR = Path(__file__).resolve().parent.parent
env = environ.FileAwareEnv()

DATA_DIR = Path(env.str("DATA_DIR", default=str(BASE_DIR / "var")))
DATA_DIR.mkdir(parents=True, exist_ok=True)

DEBUG = env.bool("DEBUG", default=False)
SITE_URL = env.str("SITE_URL", default="http://127.0.0.1:8000").rstrip("/")
_site = urlsplit(SITE_URL)
HTTPS = _site.scheme == "https"

if "SECRET_KEY" in env or "SECRET_KEY_FILE" in env:
    SECRET_KEY = env.str("SECRET_KEY")
else:
    SECRET_KEY = kept_secret_key(DATA_DIR)
SECRET_KEY_FALLBACKS = env.list("SECRET_KEY_FALLBACKS", default=[])
VAPID_PRIVATE_KEY = env.str("VAPID_PRIVATE_KEY", default="") or push_key(SECRET_KEY)
# Only a test's own push service lies in a private network.
PUSH_PRIVATE_ENDPOINTS = False

ALLOWED_HOSTS = env.list(
    "ALLOWED_HOSTS", default=sorted({_site.hostname or "", "localhost", "127.0.0.1", "[::1]"})
)
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[SITE_URL])

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "axes",
    "csp",
    "django_tables2",
    "lifecycle",
]

MIDDLEWARE = [
    "lifecycle.web.guards.BodyLimit",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "lifecycle.web.guards.NothingKept",
    "lifecycle.web.people.session.Presence",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    # The last one: its page of too many failures replaces whatever the view answered.
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "garden_site.urls"
WSGI_APPLICATION = "garden_site.wsgi.application"

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
                "csp.context_processors.nonce",
                "lifecycle.web.context.site_wide",
            ],
        },
    }
]

DATABASES = {"default": env.db("DATABASE_URL", default=f"sqlite:///{DATA_DIR / 'garden.sqlite3'}")}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # Without IMMEDIATE a read that turns into a write fails with "database is locked".
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "lifecycle.Person"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "lifecycle.web.people.sign_in_backend.PersonBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS: list[dict[str, object]] = [
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("email", "name")},
    },
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 8},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"

LANGUAGE_CODE = "en"
USE_I18N = True
USE_TZ = True
# Instants are UTC; a garden's dates are local dates in its site's own zone.
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATIC_ROOT = BASE_DIR / "staticfiles"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage",
    },
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 6000

EMAIL_CONFIG = env.email_url("EMAIL_URL", default="consolemail://")
vars().update(EMAIL_CONFIG)
DEFAULT_FROM_EMAIL = env.str("EMAIL_FROM", default=f"garden@{_site.hostname}")
EMAIL_TIMEOUT = 20

GRIDPOINT_URL = env.str("GRIDPOINT_URL", default="https://api.weather.gov").rstrip("/")
FORECAST_URL = env.str("FORECAST_URL", default="https://api.open-meteo.com").rstrip("/")
FORECAST_CONTACT = env.str("FORECAST_CONTACT", default=DEFAULT_FROM_EMAIL)
FORECAST_DROP = Path(env.str("FORECAST_DROP", default=str(DATA_DIR / "forecasts")))

# Eight failures of one address from one place lock that pair for a quarter of an hour, and
# nobody else; lifecycle/web/people/lock_out.py counts the failures of one place over all addresses.
# No log of who signed in is kept, and what was typed is not kept with a failure.
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_RESET_ON_SUCCESS = True
AXES_DISABLE_ACCESS_LOG = True
AXES_ENABLE_ACCESS_FAILURE_LOG = False
AXES_ENABLE_ADMIN = False
AXES_VERBOSE = False
AXES_USERNAME_FORM_FIELD = "username"
AXES_SENSITIVE_PARAMETERS = [
    *("username", "email", "ip_address", "next", "csrfmiddlewaretoken"),
    *("password", "old_password", "new_password"),
]
AXES_USERNAME_CALLABLE = "lifecycle.web.people.lock_out.username_of"
AXES_CLIENT_IP_CALLABLE = "lifecycle.web.people.asker.address_of"
AXES_LOCKOUT_CALLABLE = "lifecycle.web.people.lock_out.locked_out"

# A session lasts 12 hours from signing in, so that a shared computer is signed out by the next
# day; on "this is my phone or computer" it lasts 90 days from the last day it was used
# (lifecycle/web/people/session.py). Whoever ticks the box has set the limit aside, as WCAG 2.2.1
# asks.
SESSION_COOKIE_AGE = int(timedelta(hours=12).total_seconds())
SESSION_COOKIE_SECURE = HTTPS
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SECURE = HTTPS
CSRF_COOKIE_HTTPONLY = True
SECURE_SSL_REDIRECT = HTTPS and env.bool("SSL_REDIRECT", default=True)
# Health checks come from inside, by plain HTTP.
SECURE_REDIRECT_EXEMPT = [r"^healthz$", r"^readyz$"]
SECURE_HSTS_SECONDS = env.int("HSTS_SECONDS", default=31536000 if HTTPS else 0)
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# Set, exactly one proxy of one's own stands in front: it says by which scheme it was asked, and
# adds the address that asked it as the last entry of X-Forwarded-For. Earlier entries are
# whatever the asker wrote, and are never read. Unset, both headers are ignored. With two proxies
# in a row the second must replace the header by what the first one found.
BEHIND_PROXY = env.bool("BEHIND_PROXY", default=False)
if BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "style-src": [SELF, NONCE],
        "script-src": [SELF],
        "worker-src": [SELF],
        "manifest-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}

DJANGO_TABLES2_TEMPLATE = "lifecycle/table.html"

BROKER_URL = env.str("BROKER_URL", default="")
CELERY_BROKER_URL = BROKER_URL or "memory://localhost"
CELERY_TASK_ALWAYS_EAGER = not BROKER_URL
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TIMEZONE = "UTC"
CELERY_ENABLE_UTC = True
CELERY_TASK_SOFT_TIME_LIMIT = 240
CELERY_TASK_TIME_LIMIT = 300
CELERY_TASK_PUBLISH_RETRY = False
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_MAX_TASKS_PER_CHILD = 500
CELERY_WORKER_ETA_TASK_LIMIT = 10
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_WORKER_SOFT_SHUTDOWN_TIMEOUT = 30
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
if BROKER_URL:
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        # A message that a killed worker had in hand comes back after this, at the next sweep;
        # longer than any job, so that none comes back while it runs.
        "visibility_timeout": 360,
        "unacked_restore_interval": 10,
        "unacked_restore_throttle": 1,
        "socket_timeout": 10,
        "socket_connect_timeout": 5,
        "socket_keepalive": True,
        "health_check_interval": 25,
        "global_keyprefix": "garden:",
    }
CELERY_BEAT_SCHEDULE_FILENAME = str(DATA_DIR / "beat-schedule")
TICK_SECONDS = env.int("TICK_SECONDS", default=60)
# Whether a site whose ticks have never run is not ready. Late ones always count.
READY_NEEDS_TICKS = env.bool("READY_NEEDS_TICKS", default=bool(BROKER_URL))
# Ticks that pile up while workers are down are worthless: each expires with its interval.
CELERY_BEAT_SCHEDULE = {
    name: {
        "task": f"lifecycle.jobs.{name}",
        "schedule": timedelta(seconds=seconds),
        "options": {"expires": seconds},
    }
    for name, seconds in (
        ("forecast_tick", 5 * TICK_SECONDS),
        ("frost_tick", TICK_SECONDS),
        ("plan_tick", 5 * TICK_SECONDS),
        ("remind_tick", 5 * TICK_SECONDS),
        ("dispatch_tick", TICK_SECONDS),
    )
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "filters": {"secrets": {"()": "garden_site.secret_addresses.SecretsLeftOut"}},
    "handlers": {
        "stderr": {
            "class": "logging.StreamHandler",
            "formatter": "plain",
            "filters": ["secrets"],
        }
    },
    "root": {"handlers": ["stderr"], "level": env.str("LOG_LEVEL", default="INFO")},
    "loggers": {
        # It would write down addresses, some of which are secrets.
        "httpx": {"level": "WARNING"},
        # It would write a line or two for everybody who signs in or out.
        "axes": {"level": "WARNING"},
    },
}
