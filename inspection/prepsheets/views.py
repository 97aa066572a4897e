"""Pages of prep sheets: the club's templates, and the work order of a bench sheet."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.benchsheets.selectors import sheets_of
from inspection.clubs.access import club_page
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.clubs.forms import let_save_over
from inspection.models import Club, PrepTemplate
from inspection.prepsheets import services
from inspection.prepsheets.documents import print_prep
from inspection.prepsheets.forms import PrepForms
from inspection.prepsheets.selectors import (
    PLACEHOLDERS,
    PrepSheet,
    prep_of,
    template_for,
    template_version,
    templates_of,
)

BENCH = "club.use_bench"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/prepsheets/{name}.html", {"here": "bench"} | context, status=status)


@club_page(BENCH)
def template_list(request: HttpRequest, club: Club) -> HttpResponse:
    """The club's own wordings, and the supplied one."""
    return _page(request, "template_list", {"templates": templates_of(club)})


def _form_page(request: HttpRequest, forms: PrepForms, template: PrepTemplate | None, status: int) -> HttpResponse:
    context = {"forms": forms, "template": template, "placeholders": PLACEHOLDERS.items()}
    return _page(request, "template_form", context, status)


@club_page(BENCH, methods=("GET", "POST"))
def template_create(request: HttpRequest, club: Club) -> HttpResponse:
    """A wording of the club's own, starting from the supplied one or from another template."""
    start = PrepTemplate.objects.of(club).filter(public_id=request.GET.get("from", "")[:20]).first()
    forms = PrepForms(club, None, request.POST or None, start=start)
    if forms.saves and forms.is_valid():
        try:
            template = services.create_template(club=club, content=forms.content, by=request.user)
        except Refused as refusal:
            forms.template.add_error(None, str(refusal))
            return _form_page(request, forms, None, 409)
        messages.success(request, _("{name} is saved.").format(name=template))
        return redirect("prep-template-list", club.slug)
    return _form_page(request, forms, None, 422 if forms.saves else 200)


@club_page(BENCH, methods=("GET", "POST"))
def template_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Change a wording: its steps, their order, for which class it is."""
    template = get_object_or_404(PrepTemplate.objects.of(club), public_id=public_id)
    forms = PrepForms(club, template, request.POST or None)
    if forms.saves and forms.is_valid():
        version = forms.template.cleaned_data["version"]
        try:
            services.change_template(template=template, content=forms.content, version=version, by=request.user)
        except Refused as refusal:
            forms.template.add_error(None, str(refusal))
            if isinstance(refusal, ChangedMeanwhile):
                let_save_over(forms.template, version=template_version(template))
            return _form_page(request, forms, template, 409)
        messages.success(request, _("{name} is saved.").format(name=forms.content.name))
        return redirect("prep-template-list", club.slug)
    return _form_page(request, forms, template, 422 if forms.saves else 200)


def _prep_asked(request: HttpRequest, club: Club, public_id: str) -> tuple[PrepSheet, list[PrepTemplate]]:
    """The work order by the template that the address names, else by the one for the class."""
    sheet = get_object_or_404(sheets_of(club), public_id=public_id)
    templates = list(templates_of(club))
    asked = request.GET.get("template")
    if asked is None:
        return prep_of(sheet, template_for(sheet, templates)), templates
    return prep_of(sheet, next((each for each in templates if each.public_id == asked), None)), templates


@club_page(BENCH)
def prep_sheet(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The work order on the screen, to tick with a clean finger."""
    prep, templates = _prep_asked(request, club, public_id)
    choice = [each for each in templates if each.is_active]
    context = {"prep": prep, "sheet": prep.sheet, "car": prep.sheet.car, "choice": choice}
    return _page(request, "prep_sheet", context)


@club_page(BENCH)
def prep_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The work order on paper."""
    return print_prep(request, _prep_asked(request, club, public_id)[0])
