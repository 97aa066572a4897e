"""A refusal that no view answered becomes a plain page: what cannot be done, and the way back."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import translation
from django.utils.deprecation import MiddlewareMixin
from django.utils.http import url_has_allowed_host_and_scheme

from inspection.clubs.errors import Refused


class RefusalMiddleware(MiddlewareMixin):
    """Answers 409 with the refusal's sentence and nothing else; every other error stays an error."""

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if not isinstance(exception, Refused):
            return None
        club = getattr(request, "club", None)
        with translation.override(club.language if club else None):
            context = {"refusal": str(exception), "back": _page_before(request)}
            return render(request, "409.html", context, status=409)


def _page_before(request: HttpRequest) -> str:
    """The page that sent this one, if it is ours and another; else none."""
    before = request.headers.get("Referer", "")
    is_ours = url_has_allowed_host_and_scheme(before, {request.get_host()}, require_https=request.is_secure())
    is_other = not (request.method == "GET" and before == request.build_absolute_uri())
    return before if before and is_ours and is_other else ""
