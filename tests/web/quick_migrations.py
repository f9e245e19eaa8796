"""Migrating many databases in one test run: what the models look like before and after each step is worked out once.

Working out and rendering these states is most of what migrating takes; what is done to a database is done to each anew.
"""

from functools import cache
from typing import Any

from django.db import connections
from django.db.migrations import Migration
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState

Keys = frozenset[tuple[str, str]]
Step = tuple[Operation, ProjectState, ProjectState]
_KEPT: dict[Keys, ProjectState] = {}
"""The state after these migrations, whatever their order was."""
_STEPS: dict[tuple[Keys, tuple[str, str]], list[Step]] = {}


class Executor(MigrationExecutor):
    """Migrates forwards as Django's does."""

    def _create_project_state(self, with_applied_migrations: bool = False) -> ProjectState:
        state: ProjectState = super()._create_project_state(with_applied_migrations)
        return _kept(frozenset(self.loader.applied_migrations) if with_applied_migrations else frozenset(), state)

    def apply_migration(self, state: Any, migration: Migration, fake: bool = False, fake_initial: bool = False) -> Any:
        """Do each step with the states before and after it, note the migration, and return the state after it."""
        assert migration.atomic
        assert not fake
        assert not fake_initial
        after = _kept(state.keys | {(migration.app_label, migration.name)}, None)
        key = (state.keys, (migration.app_label, migration.name))
        fresh = key not in _STEPS
        if fresh:
            _STEPS[key] = _steps(state, migration)
        steps = _STEPS[key]
        with self.connection.schema_editor(atomic=True) as editor:
            for operation, before, behind in steps:
                operation.database_forwards(migration.app_label, editor, before, behind)
                before.is_delayed = False  # what had to be rendered for it is rendered
        self.record_migration(migration)
        end = steps[-1][2] if steps else state
        return after or _kept(state.keys | {key[1]}, end.clone())


def _kept(keys: Keys, state: ProjectState | None) -> Any:
    """Return the state that is kept for these migrations, else keep this one."""
    if keys not in _KEPT and state is not None:
        state.keys = keys  # type: ignore[attr-defined]
        _KEPT[keys] = state
    return _KEPT.get(keys)


def _steps(state: ProjectState, migration: Migration) -> list[Step]:
    steps = []
    for operation in migration.operations:
        before, state = state, state.clone()
        operation.state_forwards(migration.app_label, state)
        steps.append((operation, before, state))
    return steps


def migrated(alias: str, *targets: tuple[str, str]) -> Any:
    """Migrate a database to some migrations and what they need, to the latest without any; return the models then."""
    executor = Executor(connections[alias])
    latest = (end for end in executor.loader.graph.leaf_nodes() if end[0] != "procrastinate")  # tables of the queue
    ends = targets or tuple(latest)
    executor.migrate(list(ends))
    return _models(ends)


@cache
def _models(targets: tuple[tuple[str, str], ...]) -> Any:
    return MigrationExecutor(connections["default"]).loader.project_state(list(targets)).apps
