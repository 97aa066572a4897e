"""The first page of an installation, there only while no club is."""

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from inspection.clubs.errors import Refused
from inspection.founding import services
from inspection.founding.forms import FoundingForm
from inspection.models import Club


@never_cache
@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
def first_run(request: HttpRequest) -> HttpResponse:
    """Found the first club; who does so is its owner and race director and signed in at once."""
    if Club.objects.exists():
        raise Http404
    form = FoundingForm(request.POST or None, initial={"code": request.GET.get("code", "")})
    if request.method == "POST" and form.is_valid():
        try:
            director = services.found_club(**form.parts)
        except Refused as refusal:
            form.add_error("code" if refusal.code == "wrong_first_run_code" else None, str(refusal))
        else:
            login(request, director, backend="inspection.clubs.access.ClubBackend")
            messages.success(
                request, _("The club stands. Its track, gauges and characteristics are here; look them over.")
            )
            return redirect("home")
    return render(request, "inspection/founding/first_run.html", {"form": form}, status=422 if form.is_bound else 200)
