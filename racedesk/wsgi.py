"""WSGI entry point, for hosted pages on several workers."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "racedesk.settings")
application = get_wsgi_application()
