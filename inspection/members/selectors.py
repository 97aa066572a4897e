"""Who knocks at the door."""

from django.conf import settings
from django.http import HttpRequest


def sender_address(request: HttpRequest) -> str:
    """Who sends this, for counting wrong passwords: the address that the outermost of our own proxies saw.

    Without proxies a header that claims an address is not believed.
    """
    hops = [hop.strip() for hop in request.headers.get("X-Forwarded-For", "").split(",") if hop.strip()]
    if settings.PROXIES and len(hops) >= settings.PROXIES:
        return hops[-settings.PROXIES]
    return request.META.get("REMOTE_ADDR", "")
