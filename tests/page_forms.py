"""The forms of a page as a browser has them: what stands in them, and sending them with a few things changed."""

import html
import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urljoin

from django.http import HttpResponse
from django.test import Client

_NO_TEXT = {"hidden", "checkbox", "radio", "submit", "button", "file", "date", "time", "number", "password"}


@dataclass(slots=True)
class PageForm:
    """One form: where it goes, what stands in it by name, which fields take free text, what may be chosen."""

    address: str
    id: str = ""
    method: str = "get"
    values: dict[str, list[str]] = field(default_factory=dict)
    texts: list[str] = field(default_factory=list)
    choices: dict[str, list[tuple[str, str]]] = field(default_factory=dict)

    def choice(self, name: str, words: str) -> str:
        """The value of the choice whose words contain these."""
        return next(value for value, text in self.choices[name] if words in text)

    def send(self, client: Client, **changes: Any) -> HttpResponse:
        """Send what stands in the form, with these changes; names with a dash are written with two underscores.

        A value of None sends nothing under that name. The answer is what follows after redirects.
        """
        data: dict[str, Any] = dict(self.values)
        for name, value in changes.items():
            key = name.replace("__", "-")
            if value is None:
                data.pop(key, None)
            else:
                data[key] = value
        send = client.post if self.method == "post" else client.get
        return send(self.address, data, follow=True)


class _Reader(HTMLParser):
    """Reads the forms of a page, fields that name a form by its id included."""

    def __init__(self, address: str) -> None:
        super().__init__()
        self.address = address
        self.forms: list[PageForm] = []
        self._loose: list[tuple[str, str, dict[str, str]]] = []
        self._open: PageForm | None = None
        self._select: tuple[str, str, list[str]] | None = None
        self._option: str | None = None
        self._area: str | None = None
        self._label_of = ""
        self._words: dict[str, str] = {}
        self._radios: list[tuple[PageForm, str, str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            address = urljoin(self.address, told.get("action", "")) if told.get("action") else self.address
            self._open = PageForm(address, told.get("id", ""), told.get("method", "get").lower())
            self.forms.append(self._open)
        elif tag == "label":
            self._label_of = told.get("for", "")
        elif form := self._form_of(told):
            self._field(form, tag, told)
        elif tag == "option" and self._select:
            self._option = told.get("value", "")
            if "selected" in told:
                self._select[2].append(self._option)

    def _form_of(self, told: dict[str, str]) -> PageForm | None:
        if "name" not in told or "disabled" in told:
            return None
        if "form" in told:
            return next((form for form in self.forms if form.id == told["form"]), None)
        return self._open

    def _field(self, form: PageForm, tag: str, told: dict[str, str]) -> None:
        name, kind = told["name"], told.get("type", "text")
        if tag == "select":
            self._select = (name, "", [])
            form.choices.setdefault(name, [])
            self._selected_in = form
        elif tag == "textarea":
            form.texts.append(name)
            form.values[name] = [""]
            self._area = name
            self._area_in = form
        elif tag == "input" and kind in {"checkbox", "radio"}:
            self._radios.append((form, name, told.get("value", "on"), told.get("id", "")))
            if "checked" in told:
                form.values.setdefault(name, []).append(told.get("value", "on"))
        elif tag == "input" and kind != "file":
            form.values.setdefault(name, []).append(told.get("value", ""))
            if kind not in _NO_TEXT:
                form.texts.append(name)

    def handle_data(self, data: str) -> None:
        if self._area:
            self._area_in.values[self._area] = [self._area_in.values[self._area][0] + data]
        if self._select and self._option is not None:
            self._selected_in.choices[self._select[0]].append((self._option, data.strip()))
            self._option = None
        if self._label_of and data.strip():
            self._words[self._label_of] = (self._words.get(self._label_of, "") + " " + data.strip()).strip()

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._open = None
        elif tag == "label":
            self._label_of = ""
        elif tag == "textarea" and self._area:
            text = self._area_in.values[self._area][0]
            self._area_in.values[self._area] = [text.removeprefix("\n")]
            self._area = None
        elif tag == "select" and self._select:
            name, _, chosen = self._select
            first = [value for value, _ in self._selected_in.choices[name][:1]]
            self._selected_in.values[name] = chosen or first
            self._select = None

    def finish(self) -> list[PageForm]:
        for form, name, value, known_as in self._radios:
            form.choices.setdefault(name, []).append((value, self._words.get(known_as, "")))
        return self.forms


def forms_on(response: HttpResponse) -> list[PageForm]:
    """Every form of the page that this answer is."""
    reader = _Reader(response.request["PATH_INFO"] + ("?" + q if (q := response.request.get("QUERY_STRING")) else ""))
    reader.feed(response.content.decode())
    return reader.finish()


def form_on(response: HttpResponse, known_as: str) -> PageForm:
    """The one form whose id is this, or whose address holds it."""
    found = [form for form in forms_on(response) if form.id == known_as]
    found = found or [form for form in forms_on(response) if form.method == "post" and known_as in form.address]
    assert found, f"no form {known_as}: {[(form.id, form.address) for form in forms_on(response)]}"
    return found[0]


def words(response):
    """A page as its words, one blank between them."""
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode())))
