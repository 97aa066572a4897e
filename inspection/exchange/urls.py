"""Addresses of rule sheets that come in as files. They stand before those of the sheets: "import" is no sheet's id."""

from django.urls import path

from inspection.exchange import views

urlpatterns = [
    path("schemas/rule-sheet.json", views.rule_sheet_schema, name="rule-sheet-schema"),
    path("<slug:club>/rule-sheets/import/", views.rulesheet_import, name="rulesheet-import"),
]
