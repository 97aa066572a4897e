"""Pages of signing in, and of who does what in the club."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, PasswordChangeView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse_lazy
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache

from inspection.clubs.access import club_page
from inspection.clubs.documents import rows_export
from inspection.clubs.errors import Refused
from inspection.clubs.selectors import member_users, members_of
from inspection.members import services
from inspection.members.forms import MemberEditForm, MemberForm, NewPasswordForm, SignInForm
from inspection.models import Club, Membership, User


@method_decorator(login_not_required, name="dispatch")
class SignIn(LoginView):
    """The way in; wrong passwords are counted and slowed down by django-axes."""

    template_name = "inspection/members/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True


class NewPassword(PasswordChangeView):
    """Everybody's own password."""

    template_name = "inspection/members/password_form.html"
    form_class = NewPasswordForm
    success_url = reverse_lazy("home")

    def form_valid(self, form: NewPasswordForm) -> HttpResponse:
        messages.success(self.request, _("The new password holds from now on."))
        return super().form_valid(form)


@club_page("club.manage")
def member_list(request: HttpRequest, club: Club) -> HttpResponse:
    """Who does what in the club."""
    members = members_of(club)
    rows = [[str(member.user), member.user.username, member.role_words] for member in members]
    exported = rows_export(request, _("members"), [_("Name"), _("Signs in as"), _("Roles")], rows)
    return exported or render(request, "inspection/members/member_list.html", {"members": members})


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
                return render(request, "inspection/members/password_shown.html", {"person": user, "password": password})
            messages.success(request, _("{name} is in.").format(name=user))
            return redirect("member-list", club=club.slug)
    return render(request, "inspection/members/member_form.html", {"form": form}, status=422 if form.is_bound else 200)


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
    return render(request, "inspection/members/member_edit.html", context, status=422 if form.is_bound else 200)


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
    return render(request, "inspection/members/password_shown.html", {"person": person, "password": password})
