"""Pages of the club: signing in, the club's own page, its members and its log."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, PasswordChangeView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import NoReverseMatch, reverse, reverse_lazy
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from inspection.clubs import services
from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import Refused
from inspection.clubs.filters import LogFilter
from inspection.clubs.forms import ClubForm, MemberEditForm, MemberForm, NewPasswordForm, SignInForm
from inspection.clubs.selectors import log_of, member_users, members_of
from inspection.clubs.tables import LogTable
from inspection.models import Club, Membership, User


@method_decorator(login_not_required, name="dispatch")
class SignIn(LoginView):
    """The way in; wrong passwords are counted and slowed down by django-axes."""

    template_name = "inspection/clubs/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True


class NewPassword(PasswordChangeView):
    """Everybody's own password."""

    template_name = "inspection/clubs/password_form.html"
    form_class = NewPasswordForm
    success_url = reverse_lazy("home")

    def form_valid(self, form: NewPasswordForm) -> HttpResponse:
        messages.success(self.request, _("The new password holds from now on."))
        return super().form_valid(form)


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
        else:
            messages.success(request, _("Saved."))
            return redirect("club-detail", club=club.slug)
    status = 409 if form.is_bound else 200
    return render(request, "inspection/clubs/club_form.html", {"form": form}, status=status)


@club_page("club.manage")
def member_list(request: HttpRequest, club: Club) -> HttpResponse:
    """Who does what in the club."""
    return render(request, "inspection/clubs/member_list.html", {"members": members_of(club)})


@never_cache
@club_page("club.manage", methods=("GET", "POST"))
def member_add(request: HttpRequest, club: Club) -> HttpResponse:
    """Give a person a sign-in name and roles; a password made here is shown once and kept nowhere."""
    form = MemberForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            user, password = _add(form, club, request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            if password:
                return render(request, "inspection/clubs/password_shown.html", {"person": user, "password": password})
            messages.success(request, _("{name} is in.").format(name=user))
            return redirect("member-list", club=club.slug)
    return render(request, "inspection/clubs/member_form.html", {"form": form}, status=422 if form.is_bound else 200)


def _add(form: MemberForm, club: Club, by: User) -> tuple[User, str]:
    """The person, and the password to show, if one was made."""
    given = form.cleaned_data
    if given["how"] == form.KNOWN:
        return services.add_member(club=club, username=given["username"], roles=given["roles"], by=by), ""
    shown = services.one_time_password() if given["how"] == form.ONE_TIME else ""
    password = shown or given["password"]
    user = services.create_member(
        club=club, username=given["username"], name=given["name"], password=password, roles=given["roles"], by=by
    )
    return user, shown


@club_page("club.manage", methods=("GET", "POST"))
def member_edit(request: HttpRequest, club: Club, user_id: int) -> HttpResponse:
    """A member's name, roles and password."""
    person = get_object_or_404(member_users(club), pk=user_id)
    held = list(Membership.objects.filter(club=club, user=person).values_list("role", flat=True))
    form = MemberEditForm(request.POST or None, initial={"name": person.name, "roles": held})
    if request.method == "POST" and form.is_valid():
        try:
            services.change_member(club=club, user=person, **form.cleaned_data, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("Saved."))
            return redirect("member-list", club=club.slug)
    context = {"form": form, "person": person}
    return render(request, "inspection/clubs/member_edit.html", context, status=422 if form.is_bound else 200)


@club_page("club.manage", methods=("POST",))
def member_remove(request: HttpRequest, club: Club, user_id: int) -> HttpResponse:
    """Take a person out of the club."""
    person = get_object_or_404(member_users(club), pk=user_id)
    services.remove_member(club=club, user=person, by=request.user)
    messages.success(request, _("{name} is no longer in the club.").format(name=person))
    return redirect("home") if person == request.user else redirect("member-list", club=club.slug)


@never_cache
@club_page("club.manage", methods=("POST",))
def member_password(request: HttpRequest, club: Club, user_id: int) -> HttpResponse:
    """Give a person a new one-time password, shown once."""
    person = get_object_or_404(member_users(club), pk=user_id)
    password = services.reset_password(club=club, user=person, by=request.user)
    return render(request, "inspection/clubs/password_shown.html", {"person": person, "password": password})


@club_page("club.read_log")
def log_list(request: HttpRequest, club: Club) -> HttpResponse:
    """Who did what, when and why: newest first, fifty a page, or the whole as a file."""
    found = LogFilter(request.GET, queryset=log_of(club))
    table = LogTable(found.qs)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    exported = table_export(table, request, f"{club.slug} log")
    return exported or render(request, "inspection/clubs/log_list.html", {"table": table, "filter": found})
