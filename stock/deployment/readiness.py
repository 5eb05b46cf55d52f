"""Whether the kitchen can be served to others: settings, database, files."""

from collections.abc import Iterator

from django.conf import settings
from django.contrib.staticfiles import finders
from django.core.checks import WARNING, run_checks
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils.translation import gettext as _

A_STATIC_FILE = "stock/site.css"


def faults() -> list[str]:
    """Return what stands in the way, a sentence each; nothing where all is well."""
    return [*_settings_faults(), *_database_faults(), *_file_faults()]


def _settings_faults() -> Iterator[str]:
    if not settings.IS_PUBLIC:
        yield _(
            "Nobody else may reach this kitchen yet: set ALLOWED_HOSTS to its "
            "name and SECRET_KEY to a long random text. `deploy_files` writes both."
        )
        return
    for found in run_checks(include_deployment_checks=True):
        if found.level >= WARNING and not found.is_silenced():
            yield f"{found.id}: {found.msg}"


def _database_faults() -> Iterator[str]:
    try:
        connection.ensure_connection()
        executor = MigrationExecutor(connection)
        pending = executor.migration_plan(executor.loader.graph.leaf_nodes())
    except DatabaseError as error:
        said = " ".join(str(error).split())
        yield _("The database does not answer ({said}). Check DATABASE_URL.").format(
            said=said
        )
        return
    if pending:
        yield _(
            "The database is not up to date. Make a backup if it holds a kitchen, "
            "then run: python manage.py migrate"
        )


def _file_faults() -> Iterator[str]:
    if finders.find(A_STATIC_FILE) is None:
        yield _("{a_static_file} is missing: install the program anew.").format(
            a_static_file=A_STATIC_FILE
        )
