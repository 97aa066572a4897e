"""Who, what car, which track, which rules: tech inspection and the bench, usable without any race."""

from django.apps import AppConfig


class InspectionConfig(AppConfig):
    name = "inspection"
    label = "inspection"
    verbose_name = "Tech inspection"
