"""A refusal that no view answered becomes a plain page: what cannot be done, and the way back.

So does what only another person's work at the same moment can cause: nothing of this request was saved, and sending
it again is right. It stands in the server's log all the same.
"""

import logging

from django.db import IntegrityError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import translation
from django.utils.deprecation import MiddlewareMixin
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from inspection.clubs.errors import Refused

log = logging.getLogger(__name__)


class RefusalMiddleware(MiddlewareMixin):
    """Answers 409 with the refusal's sentence and nothing else, 503 for a busy database; other errors stay errors."""

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if not isinstance(exception, Refused | IntegrityError | OperationalError):
            return None
        club = getattr(request, "club", None)
        with translation.override(club.language if club else None):
            context = {"refusal": _sentence(exception), "back": _page_before(request)}
            return render(request, "409.html", context, status=503 if isinstance(exception, OperationalError) else 409)


def _sentence(exception: Exception) -> str:
    if isinstance(exception, Refused):
        return str(exception)
    log.error("Not saved", exc_info=exception)
    if isinstance(exception, OperationalError):
        return _("The database is busy and nothing of this was saved. Wait a moment, go back and send it again.")
    return _("Somebody saved the same thing at this moment, and nothing of yours was saved. Go back and look first.")


def _page_before(request: HttpRequest) -> str:
    """The page that sent this one, if it is ours and another; else none."""
    before = request.headers.get("Referer", "")
    is_ours = url_has_allowed_host_and_scheme(before, {request.get_host()}, require_https=request.is_secure())
    is_other = not (request.method == "GET" and before == request.build_absolute_uri())
    return before if before and is_ours and is_other else ""
