"""Pages of the club: signing in, the club's own page, its members and its log."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from inspection.clubs import services
from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.clubs.filters import LogFilter
from inspection.clubs.forms import ClubForm, let_save_over
from inspection.clubs.selectors import log_of, members_of
from inspection.clubs.tables import LogTable
from inspection.models import Club


@login_not_required
@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """To the only club; a list where there are several; to the first page of all where there is none."""
    clubs = list(Club.objects.order_by("name"))
    if not clubs:
        return redirect("first-run")
    if len(clubs) == 1:
        return redirect(_front_of(clubs[0]))
    return render(request, "inspection/clubs/home.html", {"clubs": [(club, _front_of(club)) for club in clubs]})


def _front_of(club: Club) -> str:
    """The club's public page; its own page where the inspection side runs alone."""
    try:
        return reverse("club-home", args=[club.slug])
    except NoReverseMatch:
        return reverse("club-detail", args=[club.slug])


@club_page("club.view_private")
def club_detail(request: HttpRequest, club: Club) -> HttpResponse:
    """What the club has set, who is in it, and the way to everything it keeps."""
    return render(request, "inspection/clubs/club_detail.html", {"members": members_of(club)})


@club_page("club.manage", methods=("GET", "POST"))
def club_edit(request: HttpRequest, club: Club) -> HttpResponse:
    """Change what the club has set."""
    form = ClubForm.of(club, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            services.change_club(club=club, content=form.content, version=form.cleaned_data["version"], by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            if isinstance(refusal, ChangedMeanwhile):
                let_save_over(form, version=services.club_version(club))
        else:
            messages.success(request, _("Saved."))
            return redirect("club-detail", club=club.slug)
    status = 409 if form.is_bound else 200
    return render(request, "inspection/clubs/club_form.html", {"form": form}, status=status)


@club_page("club.read_log")
def log_list(request: HttpRequest, club: Club) -> HttpResponse:
    """Who did what, when and why: newest first, fifty a page, or the whole as a file."""
    found = LogFilter(request.GET, queryset=log_of(club))
    table = LogTable(found.qs)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    exported = table_export(table, request, f"{club.slug} log")
    return exported or render(request, "inspection/clubs/log_list.html", {"table": table, "filter": found})
