"""Pages of parts: the register, one part with its stock, and its form with the sizes as they are understood."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.clubs.access import club_page
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.clubs.forms import let_save_over
from inspection.models import Club, Part
from inspection.parts import services
from inspection.parts.errors import PartCodeTaken
from inspection.parts.filters import IN_USE, PartFilter
from inspection.parts.forms import PartForm, StockForm
from inspection.parts.selectors import part_version, parts_of, size_lines
from inspection.parts.tables import PartTable

BENCH, READ = "club.use_bench", "club.view_private"
MOST_MOVES = 30


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/parts/{name}.html", {"here": "bench"} | context, status=status)


def part_or_404(club: Club, public_id: str) -> Part:
    """A part of the club with its owner and classes."""
    return get_object_or_404(parts_of(club).select_related("club", "owner"), public_id=public_id)


@club_page(READ)
def part_list(request: HttpRequest, club: Club) -> HttpResponse:
    """The register: in use, unless asked otherwise."""
    narrowed = PartFilter(request.GET, queryset=parts_of(club), club=club)
    table = PartTable(narrowed.qs, club=club, shows_use=narrowed.form["use"].value() != IN_USE)
    RequestConfig(request, paginate={"per_page": 100}).configure(table)
    asked = any(request.GET.get(name) for name in ("q", "kind", "owner", "stock", "use"))
    return _page(request, "part_list", {"table": table, "filter": narrowed, "is_narrowed": asked})


@club_page(BENCH, methods=("GET", "POST"))
def part_create(request: HttpRequest, club: Club) -> HttpResponse:
    """A new part, of the kind that the address names or the same as another. Sent by "show" it saves nothing."""
    given = request.GET.get("from", "")[:20]
    like = parts_of(club).filter(public_id=given).first() if given else None
    form = PartForm(request.POST or None, club=club, kind=request.GET.get("kind", ""), like=like)
    context = {"form": form, "like": like}
    if request.method == "POST" and "look" not in request.POST and form.is_valid():
        stock = form.cleaned_data["stock"] or 0
        try:
            part = services.create_part(
                club=club, kind=form.kind_code, content=form.content, stock=stock, by=request.user
            )
        except Refused as refusal:
            return _page(request, "part_form", _told(form, refusal, context), status=409)
        messages.success(request, _("{part} is entered.").format(part=part))
        return redirect("part-detail", club.slug, part.public_id)
    return _page(request, "part_form", context, status=_status(request, form))


@club_page(BENCH, methods=("GET", "POST"))
def part_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Change what is known of a part; who saves second is told."""
    part = part_or_404(club, public_id)
    form = PartForm(request.POST or None, club=club, part=part)
    context = {"form": form, "part": part}
    if request.method == "POST" and "look" not in request.POST and form.is_valid():
        version = form.cleaned_data["version"]
        try:
            services.change_part(part=part, content=form.content, version=version, by=request.user)
        except Refused as refusal:
            if isinstance(refusal, ChangedMeanwhile):
                let_save_over(form, version=part_version(part))
            return _page(request, "part_form", _told(form, refusal, context), status=409)
        messages.success(request, _("{part} is saved.").format(part=form.cleaned_data["name"]))
        return redirect("part-detail", club.slug, public_id)
    return _page(request, "part_form", context, status=_status(request, form))


def _told(form: PartForm, refusal: Refused, context: dict[str, Any]) -> dict[str, Any]:
    form.add_error("code" if isinstance(refusal, PartCodeTaken) else None, str(refusal))
    return context


def _status(request: HttpRequest, form: PartForm) -> int:
    return 422 if form.is_bound and "look" not in request.POST else 200


@club_page(BENCH, methods=("POST",))
def part_echo(request: HttpRequest, club: Club) -> HttpResponse:
    """The fields of the kind that was chosen, or the sizes as they are understood; saves nothing."""
    form = PartForm(request.POST, club=club)
    return _page(request, "_sizes" if request.headers.get("HX-Target") == "sizes" else "_understood", {"form": form})


@club_page(READ)
def part_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A part, what it measures, and how its stock has moved."""
    return _detail(request, club, part_or_404(club, public_id), StockForm())


@club_page(BENCH, methods=("POST",))
def part_stock(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What became of the stock; refused with words when so many are not there."""
    part = part_or_404(club, public_id)
    form = StockForm(request.POST)
    if not form.is_valid():
        return _detail(request, club, part, form, status=422)
    what, quantity, reason = (form.cleaned_data[name] for name in ("what", "quantity", "reason"))
    try:
        if what == StockForm.COUNT:
            moved = services.count_stock(part=part, counted=quantity, reason=reason, by=request.user)
        else:
            move = services.use_stock if what == StockForm.USE else services.add_stock
            moved = move(part=part, quantity=quantity, reason=reason, by=request.user)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return _detail(request, club, part, form, status=409)
    messages.success(request, _("{part}: {stock} in stock.").format(part=moved, stock=moved.stock))
    return redirect("part-detail", club.slug, public_id)


def _detail(request: HttpRequest, club: Club, part: Part, form: StockForm, status: int = 200) -> HttpResponse:
    context = {
        "part": part,
        "lines": size_lines(part.kind, part.sizes, decimal_mark=club.decimal_mark),
        "moves": part.moves.select_related("by")[:MOST_MOVES],
        "form": form,
    }
    return _page(request, "part_detail", context, status)
