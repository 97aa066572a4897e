"""Documents on paper.

WeasyPrint makes the PDF from the same template that a browser prints with `?as=page`. It may read our own static files
and `data:` addresses and nothing else, whatever the page names.
"""

import io
import logging
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles import finders
from django.core.exceptions import SuspiciousFileOperation
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.text import slugify

log = logging.getLogger(__name__)


class PrintUnavailableError(RuntimeError):
    """The PDF library, or a system part it stands on, is missing or broken; `why` says which."""

    def __init__(self, why: str) -> None:
        self.why = why
        super().__init__(why)


# What an address without a host is joined to. The name cannot exist (RFC 2606), and a scheme of our own would not do:
# addresses are joined to known schemes only, and the style sheets would be lost.
_OWN_BASE = "https://static.invalid/"


def _static_path(url: str) -> Path:
    """The file behind one of our own static addresses. Raises ValueError for anything else."""
    prefix = f"{_OWN_BASE}{settings.STATIC_URL.lstrip('/')}"
    if not url.startswith(prefix):
        raise ValueError(f"Paper may not read {url}")
    name = url[len(prefix) :].split("?", maxsplit=1)[0].split("#", maxsplit=1)[0]
    try:
        found = finders.find(name)
    except SuspiciousFileOperation as error:
        raise ValueError(f"Paper may not read {url}") from error
    if found:
        return Path(str(found))
    root = Path(settings.STATIC_ROOT).resolve()
    collected = (root / name).resolve()
    if collected.is_relative_to(root) and collected.is_file():
        return collected
    raise ValueError(f"No static file {name}")


@cache
def _unpacked(font: Path) -> bytes:
    """A packed font as WeasyPrint would unpack it anew for each document, a third of the time of a page."""
    from fontTools.ttLib import woff2  # noqa: PLC0415  heavy

    found = io.BytesIO()
    woff2.decompress(io.BytesIO(font.read_bytes()), found)
    return found.getvalue()


@cache
def _fetcher() -> Any:
    """WeasyPrint's fetcher, cut down to our static files and `data:`."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse  # noqa: PLC0415

    class StaticFetcher(URLFetcher):
        def fetch(self, url: str, headers: Any = None) -> Any:
            if url.startswith("data:"):
                return super().fetch(url, headers)
            path = _static_path(url)
            types = {".css": "text/css", ".svg": "image/svg+xml", ".woff2": "font/ttf", ".ttf": "font/ttf"}
            content_type = types.get(path.suffix, "application/octet-stream")
            content = _unpacked(path) if path.suffix == ".woff2" else path.read_bytes()
            return URLFetcherResponse(url, content, headers={"Content-Type": content_type})

    return StaticFetcher(allowed_protocols={"data"})


def pdf_bytes(html: str) -> bytes:
    """The PDF of a page from templates/print. Raises PrintUnavailableError, with what to do, when that is not to be."""
    try:
        from weasyprint import HTML  # noqa: PLC0415  heavy, and needs Pango from the system
    except (ImportError, OSError) as error:
        log.warning("PDFs are not available: %s", error)
        raise PrintUnavailableError("missing") from error
    try:
        return bytes(HTML(string=html, base_url=_OWN_BASE, url_fetcher=_fetcher()).write_pdf())
    except Exception as error:  # whatever breaks in a foreign library, the browser can still print
        log.exception("WeasyPrint failed")
        raise PrintUnavailableError("broken") from error


def page_address(request: HttpRequest, path: str = "") -> str:
    """The full address of a page for QR codes. On the laptop itself "localhost" would be no use to a phone."""
    address = getattr(settings, "LAN_ADDRESS", "")
    host = request.get_host().rsplit(":", 1)[0]
    if address and host in {"localhost", "127.0.0.1", "[::1]"}:
        return address.rstrip("/") + (path or request.path)
    return request.build_absolute_uri(path or request.path)


def paper(
    request: HttpRequest, template: str, context: dict[str, Any], *, file_name: str, size: str = ""
) -> HttpResponse:
    """A document of templates/print: the PDF, or with `?as=page` the same page for the browser to print.

    size: "A4", "Letter" or "A5"; the club's own paper when not given.
    When PDFs cannot be made the answer says what to install and offers the browser's print.
    """
    as_page = request.GET.get("as") == "page"
    filled = {
        "paper_size": size or request.club.paper,
        "printed_at": timezone.now(),
        "page_url": page_address(request),
        "as_page": as_page,
    }
    html = render_to_string(template, filled | context, request=request)
    if as_page:
        return HttpResponse(html)
    try:
        content = pdf_bytes(html)
    except PrintUnavailableError as error:
        query = request.GET.copy()
        query["as"] = "page"
        page = {"why": error.why, "page_link": f"{request.path}?{query.urlencode()}"}
        return render(request, "print/unavailable.html", page, status=503)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{slugify(file_name) or "paper"}.pdf"'
    return response
