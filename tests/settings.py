"""Settings of the tests: the site's own, cut off from the environment it is tested in.

TEST_DATABASE_URL runs them on that server instead of on a SQLite file.
"""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

for _name in (
    *("DATABASE_URL", "BROKER_URL", "SITE_URL", "ALLOWED_HOSTS", "CSRF_TRUSTED_ORIGINS", "DEBUG"),
    *("EMAIL_URL", "EMAIL_FROM", "BEHIND_PROXY", "SSL_REDIRECT", "HSTS_SECONDS", "TICK_SECONDS"),
    *("SECRET_KEY_FILE", "SECRET_KEY_FALLBACKS", "LOG_LEVEL", "READY_NEEDS_TICKS"),
    *("VAPID_PRIVATE_KEY", "VAPID_PRIVATE_KEY_FILE"),
    *("GRIDPOINT_URL", "FORECAST_URL", "FORECAST_CONTACT", "FORECAST_DROP"),
):
    os.environ.pop(_name, None)

# Test processes started by this one inherit the folder, and the first one clears it away.
if "GARDEN_TEST_DIR" not in os.environ:
    os.environ["GARDEN_TEST_DIR"] = tempfile.mkdtemp(prefix="garden-tests-")
    atexit.register(shutil.rmtree, os.environ["GARDEN_TEST_DIR"], ignore_errors=True)
_folder = Path(os.environ["GARDEN_TEST_DIR"])
os.environ["DATA_DIR"] = str(_folder)
os.environ["SECRET_KEY"] = "only-for-tests-" + "0123456789abcdef" * 4

from garden_site.settings import *  # noqa: E402, F403
from garden_site.settings import DATABASES, STORAGES, env  # noqa: E402

if os.environ.get("TEST_DATABASE_URL"):
    DATABASES["default"] = env.db("TEST_DATABASE_URL")
else:
    # A file, because an in-memory database cannot be shared by the threads of a test.
    DATABASES["default"]["TEST"] = {"NAME": str(_folder / "test.sqlite3")}
    DATABASES["default"]["OPTIONS"]["init_command"] = (
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
    )

STATIC_ROOT = _folder / "static"
STATIC_ROOT.mkdir(exist_ok=True)
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
