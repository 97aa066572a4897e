"""A step of a migration that makes the tables of many models at once."""

from collections.abc import Sequence
from typing import Any

from django.db.migrations.operations import CreateModel
from django.db.migrations.operations.base import Operation, OperationCategory
from django.db.migrations.state import ProjectState


class CreateTogether(Operation):
    """New tables for several models, in this order.

    One by one, every model that is connected with a new one is put together anew for it, and all are connected by
    their club: that took nine tenths of the time of a first start. Here they are put together once.
    """

    category = OperationCategory.ADDITION

    def __init__(self, models: Sequence[CreateModel]) -> None:
        self.models = models

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        """Add the models to the state, which puts all of them together when it is next asked for them."""
        state.__dict__.pop("apps", None)
        for each in self.models:
            each.state_forwards(app_label, state)

    def database_forwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        """Make the tables."""
        for each in self.models:
            each.database_forwards(app_label, schema_editor, from_state, to_state)

    def database_backwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        """Drop the tables, the last one first."""
        for each in reversed(self.models):
            each.database_backwards(app_label, schema_editor, from_state, to_state)

    def describe(self) -> str:
        """As the migration is listed."""
        return f"Create {', '.join(each.name for each in self.models)}"
