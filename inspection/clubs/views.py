"""Pages of the club: signing in, the club's own page, its members and its log."""

from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.decorators import method_decorator
from django.views.decorators.http import require_safe

from inspection.clubs.access import club_page
from inspection.clubs.forms import SignInForm
from inspection.models import Club


@method_decorator(login_not_required, name="dispatch")
class SignIn(LoginView):
    """The way in; wrong passwords are counted and slowed down by django-axes."""

    template_name = "inspection/clubs/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(**kwargs)


@login_not_required
@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """To the only club; a list where there are several."""
    clubs = list(Club.objects.order_by("name"))
    if len(clubs) == 1:
        return redirect(reverse("club-detail", args=[clubs[0].slug]))
    return render(request, "inspection/clubs/home.html", {"clubs": clubs})


@club_page("club.view_private")
def club_detail(request: HttpRequest, club: Club) -> HttpResponse:
    """What the club has set, and the way to everything it keeps."""
    return render(request, "inspection/clubs/club_detail.html", {})
