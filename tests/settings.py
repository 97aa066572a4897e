"""Settings of the test suite: the project's own, with a fast password hasher and plain static files."""

import os
import tempfile

os.environ.setdefault("RACEDESK_SECRET_KEY", "only-for-tests")
os.environ.setdefault("RACEDESK_DATA", tempfile.mkdtemp(prefix="racedesk-tests-"))

from racedesk.settings import *  # noqa: F403
from racedesk.settings import DATA_DIR, DATABASES, STORAGES

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = STORAGES | {"staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True
AXES_ENABLED = False
# Without the throttle, which its own test puts back: a test signs in more often than a person may.
AUTHENTICATION_BACKENDS = ["inspection.clubs.access.ClubBackend"]

# A file, not memory: a live server and the test read it from several threads at once.
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["TEST"] = {"NAME": DATA_DIR / "test.sqlite3"}
    DATABASES["default"]["OPTIONS"]["init_command"] = (
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF; PRAGMA foreign_keys=ON;"
    )
