"""ASGI entry point: pages and live push alike."""

import os

from django.core.asgi import get_asgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "racedesk.settings")
application = get_asgi_application()
