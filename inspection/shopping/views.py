"""What you need for a class: on the page, on paper, and as a file."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.documents import rows_export
from inspection.models import Club
from inspection.shopping.documents import list_rows, print_list
from inspection.shopping.forms import ShoppingForm
from inspection.shopping.selectors import ShoppingList, shopping_list

READ = "club.view_private"


def _asked(request: HttpRequest, club: Club) -> tuple[ShoppingForm, ShoppingList | None]:
    form = ShoppingForm(request.GET if "racing_class" in request.GET else None, club=club)
    if not form.is_valid():
        return form, None
    given = form.cleaned_data
    return form, shopping_list(club, given["racing_class"], on=timezone.localdate(), sheet=given["sheet"])


@club_page(READ)
def shopping_page(request: HttpRequest, club: Club) -> HttpResponse:
    """Choose a class; then every place of a car with what may be used there."""
    form, shopping = _asked(request, club)
    if shopping is not None and "export" in request.GET:
        headers, rows = list_rows(shopping)
        name = _("what you need for {racing_class}").format(racing_class=shopping.racing_class)
        if response := rows_export(request, name, headers, rows):
            return response
    context = {"here": "bench", "form": form, "shopping": shopping}
    return render(request, "inspection/shopping/shopping_list.html", context, status=422 if form.errors else 200)


@club_page(READ)
def shopping_print(request: HttpRequest, club: Club) -> HttpResponse:
    """The same on paper; without a class, back to where one is chosen."""
    _form, shopping = _asked(request, club)
    page = reverse("shopping-list", args=[club.slug])
    if shopping is None:
        return redirect(page)
    return print_list(request, shopping, f"{page}?{request.GET.urlencode()}")
